"""Stand-ins for what the daemon's parts meet outside: a clock, a disk in memory, a bus."""

import asyncio
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

from barrelfit.acquire.bus.mqtt_bus import BusDownError, Told
from barrelfit.acquire.journal.lines import Stamp
from barrelfit.acquire.journal.recorder import Recorder, stamp_of
from barrelfit.acquire.journal.writer import JournalFile
from tests.acquire.fake_disk import FakeDisk

if TYPE_CHECKING:
    from collections.abc import Callable

START = datetime(2026, 11, 25, 1, 2, 3, tzinfo=UTC)
JOURNAL = Path("/s/stand-20261125T010203Z.jsonl")


class Ticks:
    """A clock that says what it is told."""

    def __init__(self) -> None:
        self.now_ns = 1_000_000_000

    def monotonic_ns(self) -> int:
        return self.now_ns

    def utc(self) -> datetime:
        return START + timedelta(microseconds=self.now_ns // 1000)


class Heard:
    """A recorder that only keeps what it is told."""

    def __init__(self) -> None:
        self.events: list = []
        self.times: list[int | None] = []

    def record(self, event, *, because=None, t_ns=None) -> int:
        self.events.append(event)
        self.times.append(t_ns)
        return len(self.events)

    def of(self, kind: type) -> list:
        return [event for event in self.events if isinstance(event, kind)]


def recorder(disk: FakeDisk | None = None, clock: Ticks | None = None) -> Recorder:
    clock = clock or Ticks()

    def stamp() -> Stamp:
        return stamp_of(clock)

    return Recorder(JournalFile.create(JOURNAL, disk or FakeDisk(), stamp), clock)


class FakeBus:
    """A bus that keeps, delays or refuses what is published, as the test says."""

    def __init__(self) -> None:
        self.taken: list[bytes] = []
        self.down = False
        self.fails: Callable[[bytes], bool] = lambda _: False
        self.confirms = True
        self.unconfirmed: list[Told] = []
        self.along: list[Told] = []
        self.sent_along: list[bytes] = []

    def send(self, topic: str, payload: bytes, told: Told, *, retain: bool = False) -> None:
        assert topic
        assert not retain
        if self.down:
            message = "down"
            raise BusDownError(message)
        fails = self.fails(payload)
        if not fails:
            self.taken.append(payload)
        word, along = "nobody confirmed it" if fails else "", self.along
        self.along = []
        for hears in (*along, told):
            if self.confirms:
                asyncio.get_running_loop().call_soon(hears, word)
            else:
                self.unconfirmed.append(hears)

    def send_along(self, topic: str, payload: bytes, told: Told) -> None:
        assert topic
        if self.down:
            message = "down"
            raise BusDownError(message)
        self.taken.append(payload)
        self.sent_along.append(payload)
        self.along.append(told)


async def turns(number: int = 50) -> None:
    """Let other tasks run."""
    for _ in range(number):
        await asyncio.sleep(0)
