"""Damage in the stream of samples itself: gaps, repeats, times that go back, a frozen display."""

import math
import random
from collections.abc import Sequence

from barrelfit.simulators.player import Shown

# A sample as it is sent: time in ns, reading in nm.
Sample = tuple[int, int]

_UPRIGHT_RAD = math.radians(3.0)
_SLIPPING_MM_S = 0.5  # slower than this the thimble only slips
_TWICE_SHARE = 0.3


def spoil(
    trouble: str, shown: Sequence[Shown], movement: str, face_mm: float, chance: random.Random
) -> list[Sample]:
    """Samples of a trace, damaged where the trouble lies in the stream."""
    if trouble == "gaps":
        shown = _without_crests(shown, movement, face_mm)
    samples = [(round(s.t_s * 1e9), s.reading_nm) for s in shown if s.reading_nm is not None]
    if trouble == "duplicates":
        return [s for sample in samples for s in [sample] * (1 + (chance.random() < _TWICE_SHARE))]
    if trouble == "backwards":
        return _set_back(samples, chance)
    if trouble == "frozen":
        first = next((i for i, s in enumerate(shown) if in_crest(s, movement, face_mm)), 0)
        stop_ns = round(shown[first].t_s * 1e9)
        held = next((nm for t, nm in samples if t >= stop_ns), 0)
        return [(t, held if t >= stop_ns else nm) for t, nm in samples]
    return samples


def in_crest(shown: Shown, movement: str, face_mm: float) -> bool:
    """Whether the gauge stood where the size is: on the crest, held closed, near the upright."""
    pose = shown.pose
    if pose.part is None:
        return False
    if movement == "bore":
        return abs(pose.tilt_rad) < _UPRIGHT_RAD
    if movement == "screw":
        return -_SLIPPING_MM_S < pose.winding_mm_s <= 0.0
    return abs(pose.offset_mm) <= face_mm


def _without_crests(shown: Sequence[Shown], movement: str, face_mm: float) -> list[Shown]:
    """Leave only the first fifth of every crest."""
    kept: list[Shown] = []
    run: list[Shown] = []
    for sample in shown:
        if in_crest(sample, movement, face_mm):
            run.append(sample)
            continue
        kept += run[: len(run) // 5]
        run = []
        kept.append(sample)
    return kept + run[: len(run) // 5]


def _set_back(samples: list[Sample], chance: random.Random) -> list[Sample]:
    """Set the clock back by a few samples at two to five places."""
    spoiled = list(samples)
    for index in chance.sample(range(8, len(samples)), chance.randint(2, 5)):
        back = samples[index - chance.randint(2, 6)][0] - 1
        spoiled[index] = (back, samples[index][1])
    return spoiled
