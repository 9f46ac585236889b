"""Clearance of a piston in a barrel: bore less skirt, both at 20 °C.

The smallest clearance is taken at the smallest place of the bore (there it seizes), the largest at
the largest place (there it knocks).
"""

from typing import Final

from barrelfit.rules.compare import Found, Value, advised, over, under
from barrelfit.rules.engine.limits import Limit
from barrelfit.rules.model import Severity
from barrelfit.rules.said import length, said


def clearance_small(clearance: Value, limit: Limit) -> Found | None:
    """C101: the clearance is below the smallest allowed: the engine can seize.

    Okay: clearance 0.070±0.001 limit 0.050..
    Okay: clearance 0.050±0 limit 0.050..
    Found rework: clearance 0.040±0.001 limit 0.050..
    Found undecided: clearance 0.051±0.001 limit 0.050..
    """
    found = under("C101", Severity.REWORK, said("smallest_clearance"), clearance, limit)
    return advised(found, said("do_not_pair_seizes"))


def clearance_large(clearance: Value, limit: Limit) -> Found | None:
    """C102: the clearance is above the largest allowed.

    Okay: clearance 0.150±0.001 limit ..0.180
    Found rework: clearance 0.200±0.001 limit ..0.180
    Found undecided: clearance 0.179±0.001 limit ..0.180
    """
    found = over("C102", Severity.REWORK, said("largest_clearance"), clearance, limit)
    return advised(found, said("do_not_pair_loose"))


def limits_contradict(limit: Limit) -> Found | None:
    """C103: the smallest clearance that applies is above the largest.

    Okay: limit 0.050..0.180
    Found undecided: limit 0.200..0.180
    """
    low_nm, high_nm = limit.lower_nm, limit.upper_nm
    if low_nm is None or high_nm is None or low_nm <= high_nm:
        return None
    sentence = said(
        "limits_contradict",
        least=length(low_nm),
        least_from=limit.lower_from,
        most=length(high_nm),
        most_from=limit.upper_from,
    )
    return Found("C103", Severity.UNDECIDED, sentence, said("do_read_stamp_or_decide"))


def sizes_missing(missing: tuple[str, ...]) -> Found | None:
    """C104: skirt or bore has no size yet.

    Okay: missing -
    Found undecided: missing P1/skirt
    """
    if not missing:
        return None
    sentence = said("no_clearance_yet", missing=missing)
    return Found("C104", Severity.UNDECIDED, sentence, said("do_measure_first"))


def gap_in_bore_large(ring: str, gap: Value, limit: Limit) -> Found | None:
    """C105: in this barrel the ring's closed gap would be above its limit.

    Okay: ring top gap 0.50±0.01 limit ..0.90
    Found rework: ring top gap 0.95±0.01 limit ..0.90
    """
    found = over("C105", Severity.REWORK, said("gap_in_bore", ring=ring), gap, limit)
    return advised(found, said("do_renew_ring"))


def gap_in_bore_small(ring: str, gap: Value, limit: Limit) -> Found | None:
    """C106: in this barrel the ring's closed gap would be below its limit.

    Okay: ring top gap 0.50±0.01 limit 0.30..
    Found rework: ring top gap 0.20±0.01 limit 0.30..
    """
    found = under("C106", Severity.REWORK, said("gap_in_bore", ring=ring), gap, limit)
    return advised(found, said("do_file_ends"))


def gap_bore_unknown(ring: str, *, known: bool) -> Found | None:
    """C108: the ring's closed gap was measured in a bore that nobody gave.

    Okay: ring top known yes
    Found undecided: ring top known no
    """
    if known:
        return None
    sentence = said("gap_without_bore", ring=ring)
    advice = said("do_measure_gap_bore", bore=length(10_000), gap=length(30_000))
    return Found("C108", Severity.UNDECIDED, sentence, advice)


def part_out(out: tuple[str, ...]) -> Found | None:
    """C107: a part of the pair failed by eye.

    Okay: out -
    Found discard: out P1
    """
    if not out:
        return None
    return Found("C107", Severity.DISCARD, said("pair_failed_by_eye", out=out))


RULES = (
    clearance_small,
    clearance_large,
    limits_contradict,
    sizes_missing,
    gap_in_bore_large,
    gap_in_bore_small,
    gap_bore_unknown,
    part_out,
)

WORDS: Final[dict[str, str]] = {
    "smallest_clearance": "smallest clearance",
    "largest_clearance": "largest clearance",
    "do_not_pair_seizes": "not this pair: it can seize; take another barrel, or hone an iron one",
    "do_not_pair_loose": "not this pair: take another barrel, or a larger piston",
    "limits_contradict": "the smallest clearance {least} ({least_from}) is above the largest"
    " {most} ({most_from})",
    "do_read_stamp_or_decide": "read the stamp again, or have it decided",
    "no_clearance_yet": "no clearance yet: {missing} has no size",
    "do_measure_first": "measure it first",
    "gap_in_bore": "{ring} ring: closed gap in this bore",
    "do_file_ends": "file the ends square, or take another ring",
    "gap_without_bore": "{ring} ring: the closed gap is given without the bore it was measured in",
    "do_measure_gap_bore": "measure the bore where the ring was; {bore} of bore is {gap} of gap",
    "pair_failed_by_eye": "no pair: {out:and} failed by eye",
}
