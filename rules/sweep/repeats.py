"""Displays that send what they converted more than once: one conversion is one reading.

Where a gauge sends oftener than it converts, each value comes several times in a row, the last time
long after the part has moved on: readings of a flank stand on the crest, and a value that was read
once weighs as if it had been read often. While a reading runs up or down, two conversions are
hardly ever alike: there it shows for how long a value stands.
"""

from collections.abc import Sequence
from itertools import pairwise
from statistics import median

from barrelfit.rules.sweep.finder import Sample

MOVES_NM, MOVES_DIGITS = 8_000, 5  # from one value to the next: the reading runs up or down
RUNS_MIN = 6
REPEATED_SHARE = 0.5  # of the values while it runs; a hand that halts on a flank repeats a few


def conversions(hills: Sequence[Sequence[Sample]], digit_nm: int) -> list[Sequence[Sample]]:
    """The hills with one reading for each conversion, where the readings show that they repeat.

    Args:
        hills: readings of each hill (ns, nm).
        digit_nm: the display's last digit.
    """
    stands_ns = _stands_ns(hills, digit_nm)
    return list(hills) if stands_ns is None else [_thinned(hill, stands_ns) for hill in hills]


def _stands_ns(hills: Sequence[Sequence[Sample]], digit_nm: int) -> float | None:
    """For how long a value stands before the next conversion; None where none is repeated."""
    least_nm = max(MOVES_NM, MOVES_DIGITS * digit_nm)
    spans: list[int] = []
    repeated = 0
    for hill in hills:
        firsts = _first_of_each(hill)
        for before, at, after in zip(firsts, firsts[1:], firsts[2:], strict=False):
            steps = hill[at][1] - hill[before][1], hill[after][1] - hill[at][1]
            if min(steps) >= least_nm or max(steps) <= -least_nm:
                spans.append(hill[after][0] - hill[at][0])
                repeated += after - at > 1
    if len(spans) < RUNS_MIN or repeated < REPEATED_SHARE * len(spans):
        return None
    return median(spans)


def _first_of_each(hill: Sequence[Sample]) -> list[int]:
    """Where each value begins that is another than the one before."""
    changes = (k for k, (a, b) in enumerate(pairwise(hill), start=1) if a[1] != b[1])
    return [0, *changes] if hill else []


def _thinned(hill: Sequence[Sample], stands_ns: float) -> list[Sample]:
    """A hill's first reading of each conversion; one that reads as before comes in its turn."""
    half_step_ns = median([b[0] - a[0] for a, b in pairwise(hill)]) / 2 if len(hill) > 1 else 0.0
    kept: list[Sample] = []
    shown_nm: int | None = None
    for t_ns, length_nm in hill:
        if length_nm != shown_nm or t_ns - kept[-1][0] >= stands_ns - half_step_ns:
            kept.append((t_ns, length_nm))
        shown_nm = length_nm
    return kept
