"""A second physical model of a sweep, written apart from the first, to try estimators honestly.

What it does otherwise than `simulators.trace`:

- the faces are true discs: whichever point of face or rim touches first holds the gauge
  (`disc_width_mm`), so the tilt's excess fades towards the edge of the crest;
- the hand moves in minimum-jerk strokes (position 10s³ - 15s⁴ + 6s⁵ of the way), with dwells of
  log-normal length, and trembles with a spectrum of many waves falling with frequency;
- the display averages over a part of the time between two samples, its noise has a slow part, and
  bounces are exponentially distributed;
- a screw approaches the part slower and slower, as a careful hand does.

Lengths in mm, angles in radians, times in seconds.
"""

import math
import random
from bisect import bisect_right
from collections.abc import Callable
from dataclasses import dataclass

from barrelfit.simulators.part import to_nm

Path = Callable[[float], float]
Touch = Callable[[float], float | None]

WAVES = 14
RIM_STEPS = 22
GOLDEN = (math.sqrt(5.0) - 1.0) / 2.0


def disc_width_mm(
    size_mm: float, profile_mm: float, offset_mm: float, tilt_rad: float, face_mm: float
) -> float:
    """Distance between two round faces closed onto a barrelled skirt, both tilted and off centre.

    On one side, a face's point (u sideways, v along the skirt, u² + v² ≤ a²) is held at
    `(sqrt(R(z)² - (x + u)²) + v·sin t)/cos t`; the largest over the face counts. For a given u the
    best v is known in closed form; over u the function has one maximum, found by golden section.
    """
    sine, cosine = math.sin(abs(tilt_rad)), math.cos(tilt_rad)
    radius = size_mm / 2.0

    def held(side_mm: float) -> float:
        chord2 = radius * radius - (offset_mm + side_mm) ** 2
        if chord2 <= 0.0:
            return 0.0
        reach = math.sqrt(max(face_mm * face_mm - side_mm * side_mm, 0.0))
        height = radius * sine  # the face's middle stands above the measuring plane
        if math.isinf(profile_mm):
            up, fall = reach, 0.0
        else:
            best = profile_mm * sine / cosine - height
            up = min(max(best, -reach), reach)
            fall = (height + up) ** 2 / (2.0 * profile_mm)
        half = math.sqrt(chord2)
        return (half - fall * radius / half + up * sine) / cosine

    return 2.0 * _largest(held, -face_mm, face_mm)


def _largest(hill: Callable[[float], float], low: float, high: float) -> float:
    """Largest value of a function with one maximum between two ends (golden section)."""
    left, right = high - GOLDEN * (high - low), low + GOLDEN * (high - low)
    at_left, at_right = hill(left), hill(right)
    for _ in range(RIM_STEPS):
        if at_left < at_right:
            low, left, at_left = left, right, at_right
            right = low + GOLDEN * (high - low)
            at_right = hill(right)
        else:
            high, right, at_right = right, left, at_left
            left = high - GOLDEN * (high - low)
            at_left = hill(left)
    return max(at_left, at_right)


def trembling(rms: float, chance: random.Random) -> Path:
    """A sum of many waves, 0.25 to 7 per second, the faster the weaker."""
    rates = [0.25 * 28.0 ** ((i + chance.random()) / WAVES) for i in range(WAVES)]
    weights = [rate**-0.6 for rate in rates]
    scale = rms / math.sqrt(sum(w * w for w in weights) / 2.0)
    phases = [chance.uniform(0.0, 2.0 * math.pi) for _ in rates]
    turns = [2.0 * math.pi * rate for rate in rates]
    waves = list(zip((w * scale for w in weights), turns, phases, strict=True))
    return lambda t: sum(a * math.sin(w * t + p) for a, w, p in waves)


class Strokes:
    """A path through waypoints by minimum-jerk strokes, with dwells where a point is repeated."""

    def __init__(self, start: float, begin_s: float = 0.0) -> None:
        self._starts, self._ends, self._values = [begin_s], [begin_s], [(start, start)]
        self.end_s = begin_s

    def to(self, value: float, seconds: float) -> None:
        """Go on to a value within a time."""
        self._starts.append(self.end_s)
        self._values.append((self._values[-1][1], value))
        self.end_s += seconds
        self._ends.append(self.end_s)

    def __call__(self, t_s: float) -> float:
        """Where the path is at a time; at rest before it begins and after it ends."""
        index = max(bisect_right(self._starts, t_s) - 1, 0)
        begin, end = self._starts[index], self._ends[index]
        first, last = self._values[index]
        s = min(max((t_s - begin) / (end - begin), 0.0), 1.0) if end > begin else 1.0
        return first + (last - first) * s**3 * (10.0 - 15.0 * s + 6.0 * s * s)


@dataclass(frozen=True, slots=True)
class SecondDisplay:
    """What the second model's display is like; shares per sample, noise in µm."""

    rate_hz: float
    digit_nm: int
    noise_um: float
    slow_share: float  # of the noise's variance that lasts over several samples
    window: float  # share of the time between samples over which a reading is averaged
    jitter: float
    bounce_share: float
    missed_share: float


def displayed(
    opening: Callable[[float], float], end_s: float, display: SecondDisplay, chance: random.Random
) -> list[tuple[int, int]]:
    """Samples (ns, nm) of what stands between the contacts until `end_s`."""
    samples: list[tuple[int, int]] = []
    step_s = 1.0 / display.rate_hz
    t_s = chance.uniform(0.0, step_s)
    slow = chance.gauss(0.0, 1.0)
    keep = math.exp(-step_s / 0.4)
    while t_s < end_s:
        parts = [opening(t_s - display.window * step_s * share) for share in (1.0, 0.67, 0.33, 0.0)]
        slow = keep * slow + math.sqrt(1.0 - keep * keep) * chance.gauss(0.0, 1.0)
        share = display.slow_share
        noise = math.sqrt(share) * slow + math.sqrt(1.0 - share) * chance.gauss(0.0, 1.0)
        value_mm = sum(parts) / len(parts) + display.noise_um * noise / 1e3
        if chance.random() < display.bounce_share:
            value_mm += chance.choice((-1.0, 1.0)) * (2.0 + chance.expovariate(1 / 25.0)) / 1e3
        if chance.random() >= display.missed_share:
            nm = round(to_nm(value_mm) / display.digit_nm) * display.digit_nm
            samples.append((round(t_s * 1e9), nm))
        t_s += step_s * math.exp(chance.gauss(0.0, display.jitter))
    return samples


def settled(touch: Touch, winding: Path, start_mm: float, end_s: float) -> Path:
    """A screw's opening over time: `winding` is the thimble's speed in mm/s, negative closes.

    The opening is worked out once, in steps of 5 ms, and read from the table afterwards.
    """
    step_s = 0.005
    opening, table = start_mm, [start_mm]
    for index in range(1, round(end_s / step_s) + 2):
        t_s = index * step_s
        goal = opening + winding(t_s) * step_s
        width = touch(t_s) if winding(t_s) < 0.0 else None
        if width is None:
            opening = goal
        elif width < opening:
            opening = max(goal, width)
        table.append(opening)
    return lambda t: table[min(max(round(t / step_s), 0), len(table) - 1)]
