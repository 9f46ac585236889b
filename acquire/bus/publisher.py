"""Sends the journal on to a bus: in order, only what is on disk, again when it may be lost.

It begins at the journal's present end: what stands there already its readers have from snapshot and
journal, and new readings never wait behind it. After the bus was away it goes on from what the
broker has confirmed, or from the end where that is far; readers see the gap by the numbers. Readers
drop repeats by (session, seq).
"""

import asyncio
from collections.abc import Callable
from functools import partial
from typing import Final

from barrelfit.acquire.bus.mqtt_bus import Bus, BusDownError
from barrelfit.acquire.journal.events import ReadingTaken, kind_of
from barrelfit.acquire.journal.lines import bus_copy
from barrelfit.acquire.journal.recorder import Recorder
from barrelfit.acquire.topics import JOURNAL, topic

BATCH_RECORDS: Final = 20
BATCH_BYTES: Final = 12_000
IN_FLIGHT_MAX: Final = 16
ALONG_MAX: Final = 7
"""So many batches in a row need no word of their own from the broker; the next one's is theirs."""
FAILED_S: Final = 0.1
BEHIND_RECORDS: Final = 5_000
"""More than this is not sent after an outage: the newest would come seconds late."""

_READING: Final = f',"kind":"{kind_of(ReadingTaken)}",'.encode()

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
        keeps_order: whether the bus's broker is known to pass on all messages in their order, at
            whichever quality of service; MQTT promises it for those of one quality (section 4.6).
    """

    def __init__(
        self,
        recorder: Recorder,
        bus: Bus,
        bench: str,
        session: str,
        sealed: Sealed,
        *,
        keeps_order: bool,
    ) -> None:
        self._recorder = recorder
        self._bus = bus
        self._topic = topic(bench, JOURNAL)
        self._head = b'{"session":"' + session.encode() + b'","events":['
        self._sealed = sealed
        began = recorder.journal.durable_seq
        self._sent = began  # handed to the bus
        self._told = began  # confirmed by the broker, without a gap
        self._ahead: list[tuple[int, int]] = []  # confirmed behind a gap: from behind, up to
        self._up = False
        self._along_max = ALONG_MAX if keeps_order else 0
        self._along = 0  # sent since the last one whose confirmation was asked for
        self._in_flight = 0
        self._rests = False  # for a moment: the bus has just refused
        recorder.on_more(self._send)

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
            self._ahead = []
            self._rests = False
            self._send()

    def _send(self) -> None:
        """Send what is on disk and was not sent yet, as far as the bus may have it at once."""
        journal = self._recorder.journal
        while (
            self._up
            and not self._rests
            and self._in_flight < IN_FLIGHT_MAX
            and journal.durable_seq > self._sent
        ):
            payload, last, are_readings = self._batch()
            if last == self._sent:
                return  # its lines can't be read now; after the next go it is tried again
            first, self._sent = self._sent, last
            told = partial(self._answered, first, last)
            try:
                if are_readings and self._along < self._along_max:
                    self._bus.send_along(self._topic, payload, told)
                    self._along += 1
                else:
                    self._bus.send(self._topic, payload, told)
                    self._along = 0
            except BusDownError:
                self._refused()
            else:
                self._in_flight += 1

    def _batch(self) -> tuple[bytes, int, bool]:
        """The next records as one payload, the seq of the last, and whether all are readings."""
        copies: list[bytes] = []
        are_readings = True
        size = 0
        for line in self._recorder.journal.lines_since(self._sent, BATCH_RECORDS):
            copy = bus_copy(line)
            if copies and size + len(copy) > BATCH_BYTES:
                break
            copies.append(copy)
            size += len(copy) + 1
            are_readings = are_readings and _READING in copy
        payload = self._head + b",".join(copies) + b"]}"
        return self._sealed(self._topic, payload), self._sent + len(copies), are_readings

    def _answered(self, first: int, last: int, why_not: str) -> None:
        """The broker has a batch, or says why not: then it is sent again, in its place."""
        self._in_flight -= 1
        if why_not:
            self._refused()
            return
        spans, self._ahead = sorted([*self._ahead, (first, last)]), []
        for start, end in spans:
            if start <= self._told:
                self._told = max(self._told, end)
            else:
                self._ahead.append((start, end))
        self._send()

    def _refused(self) -> None:
        """Go back to what is confirmed without a gap, after a moment."""
        self._sent, self._ahead = self._told, []
        if not self._rests:
            self._rests = True
            asyncio.get_running_loop().call_later(FAILED_S, self._rested)

    def _rested(self) -> None:
        self._rests = False
        self._send()
