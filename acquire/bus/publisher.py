"""Sends the journal on to a bus: in order, only what is on disk, again when it may be lost.

It begins at the journal's present end: what stands there already its readers have from snapshot and
journal, and new readings never wait behind it. After the bus was away it goes on from what the
broker has confirmed, or from the end where that is far; readers see the gap by the numbers. Readers
drop repeats by (session, seq).
"""

import asyncio
from collections.abc import Callable
from typing import Final

from barrelfit.acquire.bus.mqtt_bus import Bus, BusDownError
from barrelfit.acquire.journal.lines import bus_copy
from barrelfit.acquire.journal.recorder import Recorder
from barrelfit.acquire.topics import JOURNAL, topic

BATCH_RECORDS: Final = 20
BATCH_BYTES: Final = 12_000
IN_FLIGHT_MAX: Final = 8
FAILED_S: Final = 0.1
BEHIND_RECORDS: Final = 5_000
"""More than this is not sent after an outage: the newest would come seconds late."""

Sealed = Callable[[str, bytes], bytes]
"""Gives what is to be published on a topic: the message with its proof."""


class Publisher:
    """One session's journal on its way to a bus.

    Args:
        recorder: the session's.
        bus: where to.
        bench: the bench's name.
        session: the session's id.
        sealed: adds the proof of where a message comes from.
    """

    def __init__(
        self, recorder: Recorder, bus: Bus, bench: str, session: str, sealed: Sealed
    ) -> None:
        self._recorder = recorder
        self._bus = bus
        self._topic = topic(bench, JOURNAL)
        self._head = b'{"session":"' + session.encode() + b'","events":['
        self._sealed = sealed
        began = recorder.journal.durable_seq
        self._sent = began  # handed to the bus
        self._told = began  # confirmed by the broker, without a gap
        self._up = False
        self._work = recorder.news()

    @property
    def taken_seq(self) -> int:
        """The record up to which the bus has taken what it was to be told."""
        return self._told

    def connected(self, up: bool) -> None:  # noqa: FBT001  the bus link's callback
        """Hear that the bus came or went; after a return sending goes on from its last word."""
        self._up = up
        if up:
            far = self._recorder.journal.durable_seq - BEHIND_RECORDS
            self._told = self._sent = max(self._told, far)
            self._work.set()

    async def run(self) -> None:
        """Send until cancelled."""
        window = asyncio.Semaphore(IN_FLIGHT_MAX)
        async with asyncio.TaskGroup() as group:
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
        payload = self._head + b",".join(copies) + b"]}"
        return self._sealed(self._topic, payload), self._sent + len(copies)

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
