"""Bores: largest and smallest size, taper and out-of-round, each with where it was seen.

Taper is the shop's: the largest difference of two diameters along the bore in one direction (the
local taper of ISO 12180 is half of it). Out-of-round is diametral: the largest difference of two
diameters at one depth (roundness of ISO 12181 is a radius). A two-point gauge can't see a shape
of three lobes, whose diameters are all equal.
"""

from dataclasses import replace
from typing import Final

from barrelfit.rules.compare import Found, Value, over, under
from barrelfit.rules.engine.limits import Limit
from barrelfit.rules.model import Severity
from barrelfit.rules.said import said


def bore_worn(largest: Value, where: str, limit: Limit) -> Found | None:
    """B101: the bore is worn beyond its limit at its largest place.

    Okay: largest 85.060±0.001 where top/thrust limit ..85.100
    Found rework: largest 85.110±0.001 where top/thrust limit ..85.100
    Found undecided: largest 85.101±0.001 where top/thrust limit ..85.100
    """
    return over("B101", Severity.REWORK, said("largest_bore", where=where), largest, limit)


def bore_under_size(smallest: Value, where: str, limit: Limit) -> Found | None:
    """B102: the bore is smaller than a new one: stamp, gauge or warmth is in doubt.

    Okay: smallest 85.000±0.001 where bottom/pin limit 84.988..
    Found undecided: smallest 84.970±0.001 where bottom/pin limit 84.988..
    """
    found = under("B102", Severity.UNDECIDED, said("smallest_bore", where=where), smallest, limit)
    if found is None:
        return None
    sentence = said("bore_under_size", found=found.sentence)
    return replace(found, sentence=sentence, advice=said("do_check_stamp_and_setting"))


def bore_tapered(taper: Value, where: str, limit: Limit) -> Found | None:
    """B103: the taper is above its limit.

    Okay: taper 0.030±0.001 where thrust limit ..0.040
    Found rework: taper 0.055±0.001 where thrust limit ..0.040
    Found undecided: taper 0.040±0.001 where thrust limit ..0.040
    """
    return over("B103", Severity.REWORK, said("taper", where=where), taper, limit)


def bore_out_of_round(out_of_round: Value, where: str, limit: Limit) -> Found | None:
    """B104: the out-of-round is above its limit.

    Okay: out_of_round 0.020±0.001 where top limit ..0.030
    Found rework: out_of_round 0.045±0.001 where top limit ..0.030
    Found undecided: out_of_round 0.031±0.001 where top limit ..0.030
    """
    return over("B104", Severity.REWORK, said("out_of_round", where=where), out_of_round, limit)


def bore_unmeasured(missing: tuple[str, ...]) -> Found | None:
    """B105: some places of the bore have no size yet.

    Okay: missing -
    Found undecided: missing top/thrust,top/pin
    """
    if not missing:
        return None
    sentence = said("bore_unmeasured", missing=missing)
    return Found("B105", Severity.UNDECIDED, sentence, said("do_measure_bore_there"))


def wall_thin(wall: Value, limit: Limit) -> Found | None:
    """B106: the wall is thinner than may be left, whatever the bore.

    Okay: wall 4.100±0.005 limit 4.000..
    Found discard: wall 3.900±0.005 limit 4.000..
    Found undecided: wall 4.000±0.005 limit 4.000..
    """
    return under("B106", Severity.DISCARD, said("thinnest_wall"), wall, limit)


RULES = (bore_worn, bore_under_size, bore_tapered, bore_out_of_round, bore_unmeasured, wall_thin)

WORDS: Final[dict[str, str]] = {
    "largest_bore": "largest bore ({where})",
    "smallest_bore": "smallest bore ({where})",
    "taper": "taper ({where})",
    "out_of_round": "out-of-round ({where})",
    "bore_under_size": "{found}; a used bore is not smaller than new",
    "do_check_stamp_and_setting": "check the stamp and the gauge's setting, and measure again at"
    " 20 °C",
    "bore_unmeasured": "the bore has no size yet at {missing}",
    "do_measure_bore_there": "measure the bore there",
    "thinnest_wall": "thinnest wall",
}
