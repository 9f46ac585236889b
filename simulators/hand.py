"""The machinist's hand: where the part is between the contacts, from moment to moment.

A hand's work is a list of motions: eased strokes of sideways offset and of tilt, with the
thimble wound meanwhile. On top of it comes what no hand can hold still: a wandering tilt, a
slight turn and, while the part is held, a wandering offset.

Angles in radians, offsets in mm, times in seconds from the start of the work.
"""

import math
import random
from dataclasses import dataclass
from typing import Protocol

_SQUEEZED_FROM, _SQUEEZED_TO = 0.25, 0.75  # share of a motion in which it is squeezed


@dataclass(frozen=True, slots=True)
class Pose:
    """Where the part is now. `part` counts the parts taken in turn; None is the empty air."""

    part: int | None
    offset_mm: float = 0.0
    tilt_rad: float = 0.0
    turn_rad: float = 0.0
    squeeze_um: float = 0.0
    winding_mm_s: float = 0.0


@dataclass(frozen=True, slots=True)
class Motion:
    """One eased movement of `seconds`: offset and tilt go from one value to another.

    `part` None is the empty air. `squeeze_um` is pressed on in the motion's middle half.
    """

    seconds: float
    part: int | None = 0
    offset_mm: tuple[float, float] = (0.0, 0.0)
    tilt_rad: tuple[float, float] = (0.0, 0.0)
    winding_mm_s: float = 0.0
    squeeze_um: float = 0.0


class Wander(Protocol):
    """A tilt that wanders by itself; asked for times that never go back."""

    def at(self, t_s: float) -> float:
        """Wander in radians at `t_s`."""
        ...


class WaveWander:
    """Two slow waves of unlike period: root mean square `rms_rad`."""

    def __init__(self, rms_rad: float, chance: random.Random) -> None:
        self._waves = [
            (rms_rad * weight * math.sqrt(2.0), chance.uniform(low, high), chance.uniform(0, 6.3))
            for weight, low, high in ((0.85, 0.8, 1.6), (0.53, 1.9, 3.1))
        ]

    def at(self, t_s: float) -> float:
        """Wander in radians at `t_s`."""
        return sum(a * math.sin(2.0 * math.pi * f * t_s + p) for a, f, p in self._waves)


class PullWander:
    """Pushed at random and pulled back to zero (Ornstein-Uhlenbeck), stepped exactly in time."""

    def __init__(self, rms_rad: float, chance: random.Random, relax_s: float = 0.18) -> None:
        self._rms, self._chance, self._relax_s = rms_rad, chance, relax_s
        self._value = chance.gauss(0.0, rms_rad)
        self._t_s = 0.0

    def at(self, t_s: float) -> float:
        """Wander in radians at `t_s`."""
        if t_s > self._t_s:
            keep = math.exp(-(t_s - self._t_s) / self._relax_s)
            push = self._rms * math.sqrt(1.0 - keep * keep)
            self._value = self._value * keep + self._chance.gauss(0.0, push)
            self._t_s = t_s
        return self._value


class WalkWander:
    """A random walk between two walls at ±√3·rms (so that its root mean square is `rms_rad`)."""

    def __init__(self, rms_rad: float, chance: random.Random, cross_s: float = 0.5) -> None:
        self._wall, self._chance = rms_rad * math.sqrt(3.0), chance
        self._speed = 2.0 * self._wall / math.sqrt(cross_s)
        self._value = chance.uniform(-self._wall, self._wall)
        self._t_s = 0.0

    def at(self, t_s: float) -> float:
        """Wander in radians at `t_s`."""
        if t_s > self._t_s and self._wall > 0.0:
            push = self._chance.gauss(0.0, self._speed * math.sqrt(t_s - self._t_s))
            # unfolded, two walls are a saw of period 4 walls: fold it back into the room
            saw = (self._value + push + self._wall) % (4.0 * self._wall)
            self._value = self._wall - abs(saw - 2.0 * self._wall)
            self._t_s = t_s
        return self._value


WANDERS = {"waves": WaveWander, "pull": PullWander, "walk": WalkWander}


class Hand:
    """A hand that carries out motions one after another; more may be added while it works."""

    def __init__(self, wander: Wander, turn: Wander, lean_rad: float = 0.0) -> None:
        self._wander, self._turn = wander, turn
        self._lean_rad = lean_rad
        self._motions: list[Motion] = []
        self._starts: list[float] = []
        self._at = 0
        self.busy_until_s = 0.0

    def add(self, motions: list[Motion], not_before_s: float = 0.0) -> None:
        """Queue motions after those under way, but not before a time."""
        begin = max(self.busy_until_s, not_before_s)
        for motion in motions:
            self._motions.append(motion)
            self._starts.append(begin)
            begin += motion.seconds
        self.busy_until_s = begin

    def drop_rest(self, now_s: float) -> None:
        """Forget the motions that have not begun yet (the hand saw that it may stop)."""
        keep = sum(1 for start in self._starts if start <= now_s)
        del self._motions[keep:]
        del self._starts[keep:]
        last = self._starts[-1] + self._motions[-1].seconds if self._motions else now_s
        self.busy_until_s = last

    def standing(self, now_s: float) -> Pose:
        """Where the last motion queued will leave the part; the empty air when nothing is."""
        if not self._motions or self.busy_until_s < now_s:
            return Pose(None)
        last = self._motions[-1]
        return Pose(last.part, last.offset_mm[1], last.tilt_rad[1])

    def pose(self, t_s: float) -> Pose:
        """Where the part is at `t_s`; times must not go back."""
        while self._at < len(self._motions) and t_s >= self._end(self._at):
            self._at += 1
        if self._at >= len(self._motions) or t_s < self._starts[self._at]:
            return Pose(None)
        motion = self._motions[self._at]
        share = (t_s - self._starts[self._at]) / motion.seconds
        ease = (1.0 - math.cos(math.pi * share)) / 2.0
        return Pose(
            part=motion.part,
            offset_mm=_between(motion.offset_mm, ease),
            tilt_rad=_between(motion.tilt_rad, ease) + self._lean_rad + self._wander.at(t_s),
            turn_rad=self._turn.at(t_s),
            squeeze_um=motion.squeeze_um if _SQUEEZED_FROM <= share <= _SQUEEZED_TO else 0.0,
            winding_mm_s=motion.winding_mm_s,
        )

    def _end(self, index: int) -> float:
        return self._starts[index] + self._motions[index].seconds


def _between(ends: tuple[float, float], share: float) -> float:
    return ends[0] + (ends[1] - ends[0]) * share
