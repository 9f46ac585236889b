"""Sends the journal on to the bus: in order, only what is on disk, again when it may be lost.

The broker's word (PUBACK) does not say that anyone has read a message. The rules service says
how far it has read (`cursor`); when that stands still, or after the bus was away, sending starts
again from there. Readers drop repeats by (session, seq).
"""

import asyncio
from typing import Final

from barrelfit.acquire.bus.mqtt_bus import Bus, BusDownError
from barrelfit.acquire.journal.lines import bus_copy
from barrelfit.acquire.journal.recorder import Recorder
from barrelfit.acquire.topics import JOURNAL, topic

BATCH_RECORDS: Final = 20
BATCH_BYTES: Final = 12_000
IN_FLIGHT_MAX: Final = 8
STILL_S: Final = 3.0
FAILED_S: Final = 0.1


class Publisher:
    """One session's journal on its way to the bus."""

    def __init__(self, recorder: Recorder, bus: Bus, bench: str, session: str) -> None:
        self._recorder = recorder
        self._bus = bus
        self._topic = topic(bench, JOURNAL)
        self._head = b'{"session":"' + session.encode() + b'","events":['
        self._sent = 0  # handed to the bus
        self._told = 0  # confirmed by the broker, without a gap
        self._read = 0  # confirmed by the rules service
        self._read_at = 0.0
        self._up = False
        self._work = recorder.news()

    def connected(self, up: bool) -> None:  # noqa: FBT001  the bus link's callback
        """Hear that the bus came or went; after a return sending goes on from the reader's word."""
        self._up = up
        if up:
            self._send_again_from(min(self._told, self._read))

    def heard_cursor(self, seq: int) -> None:
        """Hear how far the rules service has read; a claim to what is not on disk is none."""
        if self._read < seq <= self._recorder.journal.durable_seq:
            self._read = seq
            self._read_at = asyncio.get_running_loop().time()

    async def run(self) -> None:
        """Send until cancelled."""
        window = asyncio.Semaphore(IN_FLIGHT_MAX)
        async with asyncio.TaskGroup() as group:
            group.create_task(self._watch_reader())
            while True:
                await window.acquire()
                while not self._up or self._recorder.journal.durable_seq <= self._sent:
                    self._work.clear()
                    await self._work.wait()
                payload, last = self._batch()
                first, self._sent = self._sent, last
                # A task begins in the order of its making, so batches reach the bus in order.
                group.create_task(self._send(payload, first, last, window))

    def _batch(self) -> tuple[bytes, int]:
        """The next records as one payload, and the seq of the last of them."""
        copies: list[bytes] = []
        size = 0
        for line in self._recorder.journal.lines_since(self._sent, BATCH_RECORDS):
            copy = bus_copy(line)
            if copies and size + len(copy) > BATCH_BYTES:
                break
            copies.append(copy)
            size += len(copy) + 1
        return self._head + b",".join(copies) + b"]}", self._sent + len(copies)

    async def _send(self, payload: bytes, first: int, last: int, window: asyncio.Semaphore) -> None:
        try:
            await self._bus.publish(self._topic, payload)
        except BusDownError:
            self._send_again_from(min(self._told, first))
            await asyncio.sleep(FAILED_S)
        else:
            self._told = max(self._told, last)
        finally:
            window.release()

    def _send_again_from(self, seq: int) -> None:
        self._sent = min(self._sent, seq)
        self._told = min(self._told, seq)
        self._work.set()

    async def _watch_reader(self) -> None:
        """Send again what the rules service has not taken for too long."""
        loop = asyncio.get_running_loop()
        while True:
            await asyncio.sleep(STILL_S / 3)
            behind = self._up and self._read < self._told
            if behind and loop.time() - self._read_at > STILL_S:
                self._read_at = loop.time()
                self._send_again_from(self._read)
