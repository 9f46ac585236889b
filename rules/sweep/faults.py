"""Faults that show in the readings themselves: gaps, and displays that stand still or lag."""

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
LAG_READINGS = 4  # of fewer the first is the lowest too often
LAG_CHANCE = 0.1  # of n readings on a good crest the first is the lowest in 1/n more than this
LAG_UNLIKELY = 5e-3


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


def lags(crests: Sequence[Sequence[Sample]]) -> bool:
    """Whether the first reading of so many crests is their lowest that it can't be chance.

    A display that is damped for long shows the way in while the part stands right already: then a
    part reads too small. Tilt puts the lowest reading anywhere on a crest; so it is a binomial test
    of how often it came first.
    """
    asked = [[length for _, length in crest] for crest in crests if len(crest) >= LAG_READINGS]
    if not asked:
        return False
    first = sum(lengths[0] < min(lengths[1:]) for lengths in asked)
    chance = LAG_CHANCE + sum(1.0 / len(lengths) for lengths in asked) / len(asked)
    return _so_often(first, len(asked), chance) < LAG_UNLIKELY


def _so_often(times: int, of: int, chance: float) -> float:
    """How likely it is that something of this chance happens so many times or more."""
    return sum(
        math.comb(of, k) * chance**k * (1.0 - chance) ** (of - k) for k in range(times, of + 1)
    )
