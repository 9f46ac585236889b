"""Finds out what an unknown gauge sends: listens at one rate after another, never speaks unbidden.

Only the rate must be tried. Heard with eight bits and no parity, seven-bit gauges show their
parity bit, and `drivers.recognise` sees it. Where two whole frames fit a profile, it is found.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from itertools import cycle
from typing import Final, Protocol

from barrelfit.acquire.clock import Clock
from barrelfit.drivers.profile import Profile
from barrelfit.drivers.recognise import Chunk, ProfileFit, recognise

RATES: Final = (9600, 4800, 2400, 19_200, 1200, 38_400, 115_200, 57_600)
NEEDED: Final = 2
QUIET_S: Final = 0.3
STREAM_NS: Final = 2_000_000_000
BYTES_MAX: Final = 512
SHOWN_BYTES: Final = 48


class Ear(Protocol):
    """A port that can be listened to at any rate, eight bits, no parity."""

    def set_rate(self, baud: int) -> None:
        """Listen at this rate from now on; what was waiting is thrown away."""
        ...

    def listen(self, timeout_s: float) -> bytes:
        """What arrives next; empty when nothing does in time. Raises OSError when it is gone."""
        ...

    def say(self, data: bytes) -> None:
        """Send a request."""
        ...


@dataclass(slots=True)
class Heard:
    """What was heard at one rate; `count` bytes, of which the first are kept as `start`."""

    baud: int
    count: int = 0
    start: bytes = b""


@dataclass(slots=True)
class Identified:
    """What came of it: the fits at `baud`, best first, and what was heard at every rate."""

    baud: int = 0
    fits: list[ProfileFit] = field(default_factory=list)
    heard: dict[int, Heard] = field(default_factory=dict)

    @property
    def anything(self) -> bool:
        """Whether a single byte arrived."""
        return any(heard.count for heard in self.heard.values())


class Identifier:
    """Listens to one port until a profile fits or the time is over.

    Args:
        ear: the port.
        profiles: those to try.
        clock: for the limits.
        told: hears a line whenever something happens.
    """

    def __init__(
        self, ear: Ear, profiles: Sequence[Profile], clock: Clock, told: Callable[[str], None]
    ) -> None:
        self._ear = ear
        self._profiles = profiles
        self._clock = clock
        self._told = told
        self._result = Identified()

    def listen(self, seconds: float) -> Identified:
        """Listen only; the rate is changed when bytes came that fit nothing."""
        end_ns = self._clock.monotonic_ns() + int(seconds * 1e9)
        for baud in _rates(self._profiles):
            if self._clock.monotonic_ns() >= end_ns or self._result.fits:
                break
            self._at_rate(baud, end_ns)
        return self._result

    def ask(self, seconds: float) -> Identified:
        """Send the requests of the profiles that are asked, at every rate, and listen."""
        end_ns = self._clock.monotonic_ns() + int(seconds * 1e9)
        asked = [p for p in self._profiles if p.ask]
        for baud in _rates(asked):
            for profile in asked:
                if self._clock.monotonic_ns() >= end_ns or self._result.fits:
                    return self._result
                self._ask_at(baud, profile)
        return self._result

    def _ask_at(self, baud: int, profile: Profile) -> None:
        if profile.ask is None:
            return
        self._ear.set_rate(baud)
        chunks: list[Chunk] = []
        for _ in range(NEEDED):
            self._ear.say(profile.ask.request)
            last_ns = self._clock.monotonic_ns() + profile.ask.slowest_ms * 1_000_000
            while (now_ns := self._clock.monotonic_ns()) < last_ns:
                chunks += self._hear(baud, min(QUIET_S, (last_ns - now_ns) / 1e9))
                if _ended(chunks):
                    break
            if not chunks:
                return
        self._judge(baud, chunks, (profile,))

    def _at_rate(self, baud: int, end_ns: int) -> None:
        """Stay at a rate while nothing arrives, or while what arrives looks promising."""
        self._ear.set_rate(baud)
        chunks: list[Chunk] = []
        while self._clock.monotonic_ns() < end_ns:
            heard = self._hear(baud, QUIET_S)
            chunks += heard
            if not chunks:
                continue
            streams = chunks[-1][0] - chunks[0][0] >= STREAM_NS
            size = sum(len(data) for _, data in chunks)
            if heard and not streams and size < BYTES_MAX:
                continue
            if self._judge(baud, chunks, self._profiles):
                return
            promising = recognise(chunks, self._profiles, 1)
            if not promising or size >= BYTES_MAX or streams:
                self._told(f"{baud} baud: {size} bytes that fit no profile twice")
                return

    def _hear(self, baud: int, timeout_s: float) -> list[Chunk]:
        data = self._ear.listen(timeout_s)
        if not data:
            return []
        heard = self._result.heard.setdefault(baud, Heard(baud))
        heard.count += len(data)
        heard.start = (heard.start + data)[:SHOWN_BYTES]
        return [(self._clock.monotonic_ns(), data)]

    def _judge(self, baud: int, chunks: list[Chunk], profiles: Sequence[Profile]) -> bool:
        fits = recognise(chunks, profiles, NEEDED)
        if fits:
            self._result.baud, self._result.fits = baud, fits
        return bool(fits)


def _ended(chunks: list[Chunk]) -> bool:
    """Whether the last byte heard ends a line, parity bit or not."""
    return bool(chunks) and chunks[-1][1][-1] & 0x7F in b"\r\n"


def _rates(profiles: Sequence[Profile]) -> Iterator[int]:
    """Rates to try, round and round: the usual ones, then any other that a profile names."""
    others = sorted({p.port.baud for p in profiles} - set(RATES))
    return cycle((*RATES, *others))
