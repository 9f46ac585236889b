"""The rules service: a process of its own that listens to the bus and says what it finds.

It starts from the session's journal, then lives on the bus's copy of it; what the bus lost or has
not brought yet it reads from the journal. It ends when its parent does (its standard input closes).

Started by the daemon as `python -m barrelfit.acquire.bench.rules_service`, with one JSON line on
standard input: the broker's address and login, the bench, the session's journal.
"""

import asyncio
import contextlib
import json
import logging
import os
import sys
from pathlib import Path
from typing import Final

import msgspec

from barrelfit.acquire.bench.findings_queue import FindingsQueue, GapError
from barrelfit.acquire.bench.parent import until_parent_ends
from barrelfit.acquire.bus.broker import BrokerAddress
from barrelfit.acquire.bus.mqtt_bus import BusDownError, BusLink, BusMessage
from barrelfit.acquire.bus.payloads import (
    BATCHES,
    ENCODE,
    HEARTBEATS,
    BusEvent,
    Cursor,
    Door,
    Refusal,
)
from barrelfit.acquire.inputs.setup import setup_of
from barrelfit.acquire.journal.codec import CodecError
from barrelfit.acquire.journal.disk import RealDisk
from barrelfit.acquire.journal.events import SessionOpened
from barrelfit.acquire.journal.parts import JournalReader
from barrelfit.acquire.topics import CURSOR, HEARTBEAT, JOURNAL, RESULTS, topic
from barrelfit.rules.judge import assigning
from barrelfit.rules.sweep import prepare

CURSOR_S: Final = 0.2
RESEND_S: Final = 1.0
BEHIND_S: Final = 0.5
END_S: Final = 2.0

log = logging.getLogger("barrelfit.rules")


class Order(msgspec.Struct):
    """What the daemon tells the service at its start."""

    host: str
    port: int
    user: str
    password: str
    bench: str
    journal: str


class RulesService:
    """One session's rules, between the bus and the pure step."""

    def __init__(self, order: Order) -> None:
        self._order = order
        self._path = Path(order.journal)
        self._queue, self._session = self._from_journal()
        self._sent = 0
        self._door = Door(_tell_refused)
        self._work = asyncio.Event()
        self._durable = self._queue.seq
        address = BrokerAddress(order.host, order.port, order.user, order.password)
        wanted = tuple(topic(order.bench, leaf) for leaf in (JOURNAL, HEARTBEAT))
        self._link = BusLink(address, "rules", wanted, self._receive, self._changed)

    async def run(self) -> None:
        """Serve until cancelled."""
        async with asyncio.TaskGroup() as group:
            group.create_task(self._link.run())
            group.create_task(self._send())
            group.create_task(self._resend())
            group.create_task(self._tell_cursor())
            group.create_task(self._catch_up())

    def _from_journal(self) -> tuple[FindingsQueue, str]:
        """Fold what the journal holds."""
        queue: FindingsQueue | None = None
        session = ""
        for records in JournalReader(self._path, RealDisk()).blocks():
            for record in records:
                if isinstance(record.event, SessionOpened):
                    session = record.event.session
                    setup = setup_of(record.event)
                    queue = FindingsQueue(session, setup)
                    for traits in {gauge.traits for gauge in setup.gauges.values()}:
                        prepare(traits)
                    assigning.prepare()
                if queue is not None:
                    queue.take(record.seq, record.event, record.t_ns, record.because)
        if queue is None:
            msg = f"{self._path}: no session was opened in it"
            raise RuntimeError(msg)
        return queue, session

    def _changed(self, up: bool) -> None:  # noqa: FBT001  the bus link's callback
        if up:
            self._sent = 0
            self._work.set()

    def _receive(self, message: BusMessage) -> None:
        if message.topic.endswith(HEARTBEAT):
            beat = self._door.take(message.topic, message.payload, HEARTBEATS)
            if beat is not None and beat.session == self._session:
                self._durable = max(self._durable, beat.seq)
        elif not message.retained:
            batch = self._door.take(message.topic, message.payload, BATCHES)
            if batch is not None and batch.session == self._session:
                try:
                    self._take(batch.events)
                except CodecError as error:
                    self._door.refuse(message.topic, message.payload, str(error))

    def _take(self, events: list[BusEvent]) -> None:
        for event in events:
            if event.seq <= self._queue.seq:
                continue
            try:
                self._queue.take(event.seq, event.event(), event.t_ns, event.because)
            except GapError:
                self._durable = max(self._durable, events[-1].seq)
                self._read_on(self._durable)
        self._durable = max(self._durable, self._queue.seq)
        if self._queue.waiting:
            self._work.set()

    def _read_on(self, last: int) -> None:
        """Take from the journal what the bus did not bring, up to record `last`."""
        for records in JournalReader(self._path, RealDisk()).blocks():
            for record in records:
                if record.seq <= last:
                    self._queue.take(record.seq, record.event, record.t_ns, record.because)
        # Whoever claimed more than the journal holds was not the daemon.
        self._durable = min(self._durable, self._queue.seq)

    async def _send(self) -> None:
        wanted = topic(self._order.bench, RESULTS)
        while True:
            await self._work.wait()
            self._work.clear()
            while (message := self._queue.unsent(self._sent)) is not None:
                payload, self._sent = message
                try:
                    await self._link.publish(wanted, payload)
                except BusDownError:
                    await asyncio.sleep(BEHIND_S)
                    self._sent = 0

    async def _resend(self) -> None:
        """Send again what has not come back in the journal."""
        while True:
            before = self._queue.first
            await asyncio.sleep(RESEND_S)
            if self._queue.waiting and self._queue.first == before:
                self._sent = 0
                self._work.set()

    async def _catch_up(self) -> None:
        """Read the journal when the daemon has recorded more than the bus has brought."""
        while True:
            before = self._queue.seq
            await asyncio.sleep(BEHIND_S)
            if self._queue.seq == before < self._durable:
                self._read_on(self._durable)
                self._work.set()

    async def _tell_cursor(self) -> None:
        wanted = topic(self._order.bench, CURSOR)
        told = -1
        while True:
            await asyncio.sleep(CURSOR_S)
            if self._queue.seq != told and self._link.connected:
                seq = self._queue.seq
                with contextlib.suppress(BusDownError):
                    await self._link.publish(
                        wanted, ENCODE(Cursor(self._session, seq)), retain=True
                    )
                    told = seq


def _tell_refused(refusal: Refusal) -> None:
    if refusal.worth_telling:
        log.warning("%s: refused (%d): %s", refusal.place, refusal.count, refusal.problem)


async def _serve(order: Order) -> None:
    """Serve until the parent ends."""
    service = asyncio.create_task(RulesService(order).run())
    parent = asyncio.create_task(until_parent_ends())
    await asyncio.wait({service, parent}, return_when=asyncio.FIRST_COMPLETED)
    if service.done():
        service.result()
    service.cancel()
    await asyncio.wait({service}, timeout=END_S)
    if not service.done():
        os._exit(0)  # nothing here needs saving, and a child must never outlive its parent


def main() -> None:
    """Read the order from standard input and serve it."""
    logging.basicConfig(level=logging.WARNING, format="barrelfit rules: %(message)s")
    logging.getLogger("barrelfit.acquire.bus.mqtt_bus").setLevel(
        logging.ERROR
    )  # the daemon tells of the bus
    order = msgspec.convert(json.loads(sys.stdin.buffer.readline()), Order)
    with contextlib.suppress(KeyboardInterrupt):
        asyncio.run(_serve(order))


if __name__ == "__main__":
    main()
