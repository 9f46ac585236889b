"""Which readings of a screw gauge's closing were held, and whether its reading rode on the tilt.

How the held readings become a size stands in `rules.sweep.stairs`.
"""

from collections.abc import Sequence

from barrelfit.rules.sweep.finder import Sample

HELD_BAND_NM = 40_000  # readings this far above the level are still on their way
HELD_MIN = 3  # readings near the level that make a closing
HELD_NEAR_NM = 5_000  # and a digit
HELD_MIN_NS = 150_000_000
RIDING_NM = 4_000
RIDING_SHARE = 0.25


def held_readings(closing: Sequence[Sample], digit_nm: int) -> list[Sample]:
    """The readings of a closing from its coming to rest to its opening; empty if not held."""
    if len(closing) < HELD_MIN:
        return []
    low = rest_nm(closing)
    near = [i for i, (_, length) in enumerate(closing) if length <= low + HELD_NEAR_NM + digit_nm]
    first, last = near[0], near[-1]
    if len(near) < HELD_MIN or closing[last][0] - closing[first][0] < HELD_MIN_NS:
        return []
    return [s for s in closing[first : last + 1] if s[1] <= low + HELD_BAND_NM]


def rest_nm(closing: Sequence[Sample]) -> int:
    """The lowest level that three neighbouring readings agree on: two bounces in a row happen."""
    return lowest_agreed_nm([length for _, length in closing])


def lowest_agreed_nm(lengths: Sequence[int]) -> int:
    """The same of lengths alone."""
    windows = range(max(len(lengths) - HELD_MIN + 1, 1))
    return min(max(lengths[i : i + HELD_MIN]) for i in windows)


def rides(closings: Sequence[Sequence[int]], digit_nm: int) -> bool:
    """Whether the reading rode up and down with the part's tilt instead of being held.

    A held reading scatters by noise and digit about one level; a riding one stands above its own
    low for a good part of the time.
    """
    above = total = 0
    for closing in closings:
        ordered = sorted(closing)
        low = ordered[len(ordered) // 10]
        above += sum(length > low + RIDING_NM + digit_nm for length in ordered)
        total += len(ordered)
    return above > RIDING_SHARE * total
