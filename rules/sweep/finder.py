"""Finds passes in a stream of readings: each reading once, in bounded memory.

A pass is a hill: the reading climbs to the crest, stays, and falls away again (screw and bore
gauges are turned upside down first, so that theirs are hills too). Whether a hill really reached
the crest is not decided here; `rules.sweep.crest`, `held` and `rock` look at the readings kept.

Single-sample bounces cannot start or end a hill: turns are sought in the median of three
neighbouring readings, which is why everything here is known one reading late.
"""

from collections import deque
from dataclasses import dataclass
from enum import Enum
from typing import Literal

Sample = tuple[int, int]  # time in ns, length in nm

LEVEL_BAND_NM = 60_000  # tilt lifts readings of the crest by tens of µm, hardly ever more
AWAY_NS = 2_500_000_000  # off the crest for so long: the part left the gauge
KEPT_MAX = 2_048  # readings kept of one pass; the oldest go first


@dataclass(frozen=True, slots=True)
class HillShape:
    """How far a reading must fall and climb to end a hill and to begin the next (nm).

    `fall_nm` counts from the hill's level when `from_level`, else from its highest reading;
    `lead` is how many readings are kept before and after the hill.
    """

    fall_nm: int
    climb_nm: int
    from_level: bool
    lead: int


class Phase(Enum):
    """Where the stream is: no hill yet, on a hill, just over it."""

    LOW = "low"
    HILL = "hill"
    OVER = "over"


class PassFinder:
    """Collects hills; `push` returns the readings of a hill that has just been completed."""

    def __init__(self, shape: HillShape, crest_sign: Literal[1, -1]) -> None:
        self._shape = shape
        self._sign = crest_sign
        self._last: tuple[int, int] | None = None  # heights of the two readings before
        self._previous: Sample | None = None
        self.phase = Phase.LOW
        self._restart([])

    def _restart(self, lead: list[Sample]) -> None:
        self._kept: deque[Sample] = deque(lead, maxlen=KEPT_MAX)
        self._top: int | None = None
        self._floor: int | None = None
        self._since_floor: deque[Sample] = deque(maxlen=self._shape.lead)
        self._after = 0
        self._level = 0
        self._level_of = 0

    def interrupt(self) -> list[Sample] | None:
        """The stream was silent or the part left: whatever hill was under way is over."""
        kept = self.open_hill()
        self.phase = Phase.LOW
        self._last = self._previous = None
        self._restart([])
        return kept

    def open_hill(self) -> list[Sample] | None:
        """The readings of a hill that was left but is not yet followed to its foot."""
        return list(self._kept) if self.phase is Phase.OVER else None

    def push(self, t_ns: int, length_nm: int) -> list[Sample] | None:
        """Take one reading; the readings of a hill when one is complete."""
        height = self._sign * length_nm
        sample, self._previous = self._previous, (t_ns, length_nm)
        if self._last is None:
            self._last = (height, height)
        before, now = self._last
        self._last = (now, height)
        if sample is None:
            return None
        if before > now:
            before, now = now, before
        middle = before if height < before else min(now, height)
        if self.phase is Phase.HILL:
            self._on_hill(sample, middle)
            return None
        if self.phase is Phase.LOW:
            self._low(sample, middle)
            return None
        return self._over(sample, middle)

    def _low(self, sample: Sample, middle: int) -> None:
        if self._floor is None or middle <= self._floor:
            self._floor = middle
            self._since_floor.clear()
        self._since_floor.append(sample)
        if middle >= self._floor + self._shape.climb_nm:
            self._restart(list(self._since_floor))
            self._top = middle
            self.phase = Phase.HILL

    def _on_hill(self, sample: Sample, middle: int) -> None:
        self._kept.append(sample)
        top = self._top
        if top is None or middle > top:
            self._top = middle
            return
        if middle < top - self._shape.fall_nm and middle < self._end_height(top):
            self.phase = Phase.OVER
            self._floor = middle
            self._since_floor.clear()
            self._since_floor.append(sample)
            self._after = 0

    def _end_height(self, top: int) -> int:
        """The height under which the hill is over (nm, upside down where the gauge is)."""
        if not self._shape.from_level:
            return top - self._shape.fall_nm
        if len(self._kept) * 4 > self._level_of * 5:  # worked out anew as the hill grows
            near = sorted(
                height
                for height in (self._sign * length for _, length in self._kept)
                if height > top - LEVEL_BAND_NM
            )
            self._level = near[len(near) // 4] if near else top
            self._level_of = len(self._kept)
        return self._level - self._shape.fall_nm

    def _over(self, sample: Sample, middle: int) -> list[Sample] | None:
        self._kept.append(sample)
        self._after += 1
        floor = self._floor
        if floor is None or middle <= floor:
            self._floor = floor = middle
            self._since_floor.clear()
        self._since_floor.append(sample)
        climbs = middle >= floor + self._shape.climb_nm
        if not climbs and self._after < self._shape.lead:
            return None
        hill = list(self._kept)
        lead = list(self._since_floor)
        if climbs:
            del hill[len(hill) - len(lead) + 1 :]
            self._restart(lead)
            self._top = middle
            self.phase = Phase.HILL
        else:
            self._restart([])
            self._floor = floor
            self._since_floor.extend(lead)
            self.phase = Phase.LOW
        return hill
