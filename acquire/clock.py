"""The only place that reads a clock: monotonic nanoseconds for order, UTC for the record.

A simulated bench may run faster than life: `RunningClock(speed=20)` makes twenty seconds of
session time of one second, so that everything downstream (gaps, silences, journal) is as in life.
"""

import time
from datetime import UTC, datetime, timedelta
from typing import Final, Protocol

_WITH_SLEEP: Final[int | None] = getattr(time, "CLOCK_BOOTTIME", None)  # Linux only


class Clock(Protocol):
    """Time as the daemon takes it."""

    def monotonic_ns(self) -> int:
        """Nanoseconds that never jump; only differences mean anything."""
        ...

    def utc(self) -> datetime:
        """Wall time, aware, UTC."""
        ...


class RunningClock:
    """The machine's clocks, `speed` times as fast as life (1 for a real bench)."""

    def __init__(self, speed: float = 1.0) -> None:
        self._speed = speed
        self._start_ns = time.monotonic_ns()
        self._start_utc = datetime.fromtimestamp(time.time_ns() / 1e9, tz=UTC)

    def monotonic_ns(self) -> int:
        """Session nanoseconds."""
        now_ns = time.monotonic_ns()
        if self._speed == 1.0:
            return now_ns
        return self._start_ns + int((now_ns - self._start_ns) * self._speed)

    def utc(self) -> datetime:
        """Session wall time: the machine's own at speed 1, stretched from the start otherwise."""
        if self._speed == 1.0:
            return datetime.fromtimestamp(time.time_ns() / 1e9, tz=UTC)
        return self._start_utc + timedelta(
            microseconds=(self.monotonic_ns() - self._start_ns) // 1000
        )


def life_ns() -> int:
    """Time as it passes here, in ns: however fast a simulated session runs, and while asleep."""
    if _WITH_SLEEP is None:
        return time.monotonic_ns()
    return time.clock_gettime_ns(_WITH_SLEEP)


def utc_text(moment: datetime) -> str:
    """RFC 3339 text of an aware UTC time, always six decimals and `Z`."""
    in_utc = moment if moment.tzinfo is UTC else moment.astimezone(UTC)
    return in_utc.isoformat(timespec="microseconds").removesuffix("+00:00") + "Z"
