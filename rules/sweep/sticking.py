"""A part that sticks: its tilt stays where it is until the hand has gone further, and then follows.

It passes the upright seldom and rests off it, so the lowest readings are fewer than they look, and
the size comes out too large. Off the upright a tilt that moves changes the reading all the time; so
it is asked how many readings there are still the same a moment later.
"""

from collections.abc import Sequence
from statistics import median

from barrelfit.rules.sweep.finder import Sample

MOMENT_NS = 95_000_000
SAME_SHARE, ROOM_NM = 0.25, 500  # of the way from the least readings to the middle one
# A hand that hardly rocks, or a coarse digit, shows readings that are the same anyway.
TILT_LEAST_NM, TILT_DIGITS = 3_000, 3
PAIRS_MIN = 5
FREE_SHARE = 0.33  # of moving parts' readings so many are the same as a rule
DOUBT_NM = 5_000.0  # for all of them


def stuck_nm(passes: Sequence[Sequence[Sample]], digit_nm: int) -> float:
    """What a size is less sure of because the part sticks (nm, a standard uncertainty).

    Args:
        passes: each pass's readings at the size.
        digit_nm: the gauge's last digit.
    """
    lengths = sorted(length for used in passes for _, length in used)
    up = int(median(lengths))
    tilt_nm = up - lengths[len(lengths) // 20]
    same = SAME_SHARE * (tilt_nm + ROOM_NM)
    changes = [change for used in passes for change in _changes(used, up)]
    if len(changes) < PAIRS_MIN or tilt_nm < max(TILT_LEAST_NM, TILT_DIGITS * digit_nm):
        return 0.0
    share = sum(change < same for change in changes) / len(changes)
    return DOUBT_NM * max(share - FREE_SHARE, 0.0)


def _changes(used: Sequence[Sample], up_nm: int) -> list[int]:
    """By how much the readings above `up_nm` differ a moment later."""
    found, later = [], 0
    for t_ns, length in used:
        while later < len(used) and used[later][0] - t_ns < MOMENT_NS:
            later += 1
        if later < len(used) and min(length, used[later][1]) >= up_nm:
            found.append(abs(used[later][1] - length))
    return found
