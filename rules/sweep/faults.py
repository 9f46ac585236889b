"""Faults that show in the readings themselves: gaps where the size is read, a frozen display."""

import math
from collections.abc import Sequence
from itertools import pairwise
from statistics import median

from barrelfit.rules.sweep.finder import Sample
from barrelfit.rules.sweep.held import HELD_NEAR_NM, rest_nm
from barrelfit.rules.sweep.movements import entry_of
from barrelfit.rules.sweep.nouns import GaugeTraits

GAP_STEPS = 4.6  # sampling steps: three readings lost in a row may be chance
GAP_MIN_NS = 220_000_000
NEAR_TOP_NM = 150_000  # this near to the top a hill may hide its crest in a gap
FROZEN_NS = 800_000_000
FROZEN_READINGS = 10
FROZEN_JUMP_NM = 100_000


def has_gap(hill: Sequence[Sample], traits: GaugeTraits) -> bool:
    """Whether readings are missing near the top of a hill (screw and bore: near its bottom).

    A held screw keeps its gap: what it reads before it and after it is what it read meanwhile.
    """
    steps = [b[0] - a[0] for a, b in pairwise(hill)]
    if not steps:
        return False
    limit_ns = max(GAP_STEPS * median(steps), GAP_MIN_NS)
    movement = entry_of(traits.movement)
    sign = movement.crest_sign
    heights = [sign * length for _, length in hill]
    edge = max(min(a, b) for a, b in pairwise(heights)) - NEAR_TOP_NM
    held = math.inf
    if movement.hills is not None and movement.hills.rests_at_size:
        held = -rest_nm(hill) - HELD_NEAR_NM - traits.digit_nm
    return any(
        step > limit_ns and max(before, after) > edge and min(before, after) < held
        for step, (before, after) in zip(steps, pairwise(heights), strict=True)
    )


def is_frozen(hills: Sequence[Sequence[Sample]], above_nm: int) -> bool:
    """Whether a reading above `above_nm` stood still for long and then jumped far.

    A part that leaves the crest takes the reading down by steps; a display that stood still while
    the part moved takes it down at once.
    """
    for hill in hills:
        first = 0
        for k, (t_ns, length) in enumerate(hill):
            held = hill[first][1]
            if length == held:
                continue
            long = k - first >= FROZEN_READINGS and t_ns - hill[first][0] >= FROZEN_NS
            if long and held > above_nm and abs(length - held) > FROZEN_JUMP_NM:
                return True
            first = k
    return False
