"""Clearance of a piston in a barrel: bore less skirt, both at 20 °C.

The smallest clearance is taken at the smallest place of the bore (there it seizes), the largest at
the largest place (there it knocks).
"""

from barrelfit.rules.compare import Found, Value, advised, over, under
from barrelfit.rules.engine.limits import Limit
from barrelfit.rules.length import shown
from barrelfit.rules.model import Severity


def clearance_small(clearance: Value, limit: Limit) -> Found | None:
    """C101: the clearance is below the smallest allowed: the engine can seize.

    Okay: clearance 0.070±0.001 limit 0.050..
    Okay: clearance 0.050±0 limit 0.050..
    Found rework: clearance 0.040±0.001 limit 0.050..
    Found undecided: clearance 0.051±0.001 limit 0.050..
    """
    found = under("C101", Severity.REWORK, "smallest clearance", clearance, limit)
    advice = "not this pair: it can seize; take another barrel, or hone an iron one"
    return advised(found, advice)


def clearance_large(clearance: Value, limit: Limit) -> Found | None:
    """C102: the clearance is above the largest allowed.

    Okay: clearance 0.150±0.001 limit ..0.180
    Found rework: clearance 0.200±0.001 limit ..0.180
    Found undecided: clearance 0.179±0.001 limit ..0.180
    """
    found = over("C102", Severity.REWORK, "largest clearance", clearance, limit)
    return advised(found, "not this pair: take another barrel, or a larger piston")


def limits_contradict(limit: Limit) -> Found | None:
    """C103: the smallest clearance that applies is above the largest.

    Okay: limit 0.050..0.180
    Found undecided: limit 0.200..0.180
    """
    low_nm, high_nm = limit.lower_nm, limit.upper_nm
    if low_nm is None or high_nm is None or low_nm <= high_nm:
        return None
    sentence = (
        f"the smallest clearance {shown(low_nm)} ({limit.lower_from}) is above "
        f"the largest {shown(high_nm)} ({limit.upper_from})"
    )
    return Found("C103", Severity.UNDECIDED, sentence, "read the stamp again, or have it decided")


def sizes_missing(missing: tuple[str, ...]) -> Found | None:
    """C104: skirt or bore has no size yet.

    Okay: missing -
    Found undecided: missing P1/skirt
    """
    if not missing:
        return None
    sentence = f"no clearance yet: {', '.join(missing)} has no size"
    return Found("C104", Severity.UNDECIDED, sentence, "measure it first")


def gap_in_bore_large(ring: str, gap: Value, limit: Limit) -> Found | None:
    """C105: in this barrel the ring's closed gap would be above its limit.

    Okay: ring top gap 0.50±0.01 limit ..0.90
    Found rework: ring top gap 0.95±0.01 limit ..0.90
    """
    found = over("C105", Severity.REWORK, f"{ring} ring: closed gap in this bore", gap, limit)
    return advised(found, "renew the ring")


def gap_in_bore_small(ring: str, gap: Value, limit: Limit) -> Found | None:
    """C106: in this barrel the ring's closed gap would be below its limit.

    Okay: ring top gap 0.50±0.01 limit 0.30..
    Found rework: ring top gap 0.20±0.01 limit 0.30..
    """
    found = under("C106", Severity.REWORK, f"{ring} ring: closed gap in this bore", gap, limit)
    return advised(found, "file the ends square, or take another ring")


def gap_bore_unknown(ring: str, *, known: bool) -> Found | None:
    """C108: the ring's closed gap was measured in a bore that nobody gave.

    Okay: ring top known yes
    Found undecided: ring top known no
    """
    if known:
        return None
    sentence = f"{ring} ring: the closed gap is given without the bore it was measured in"
    advice = "measure the bore where the ring was; 0.01 mm of bore is 0.03 mm of gap"
    return Found("C108", Severity.UNDECIDED, sentence, advice)


def part_out(out: tuple[str, ...]) -> Found | None:
    """C107: a part of the pair failed by eye.

    Okay: out -
    Found discard: out P1
    """
    if not out:
        return None
    return Found("C107", Severity.DISCARD, f"no pair: {' and '.join(out)} failed by eye")


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
