"""Limits met to the tenth of a micrometre, one guard band on either side; worked by hand first.

Skirts are good to 0.8 µm, bores to 1 µm, gaps to 2 µm; the guard band is 1.65 of that. A clearance
has hypot(0.8, 1) = 1.281 µm, a band of 2.113; a gap in another bore hypot(2, pi x 1.414) = 4.87,
a band of 8.03. Allowed: skirt 84.860 to 84.950, bore to 85.100, clearance 0.045 to 0.180, top gap
0.300 to 0.900, oil gap 0.250 to 1.000.
"""

from decimal import Decimal

import pytest

from barrelfit.rules.judge import Outcome
from barrelfit.rules.model import Verdict
from tests.rules.whole_set import Whole

D = Decimal
WITH_RINGS = ["pins", "mass", "height-groups", "head-seal"]
GOOD, ASK, WORK, OUT = Verdict.SERVICEABLE, Verdict.UNDECIDED, Verdict.REWORK, Verdict.DISCARD


def verdict(whole: Whole, part: str) -> Verdict:
    return next(j.verdict for j in whole.judge().parts if j.about == part)


@pytest.mark.parametrize(
    ("skirt", "expected"),
    [
        ("84.8586", OUT),
        ("84.8587", ASK),
        ("84.8613", ASK),
        ("84.8614", GOOD),
        ("84.9486", GOOD),
        ("84.9487", ASK),
    ],
)
def test_a_skirt_at_its_limits(skirt, expected):
    assert verdict(Whole().piston("P1", skirt), "P1") is expected


@pytest.mark.parametrize(
    ("bore", "expected"),
    [("85.0983", GOOD), ("85.0984", ASK), ("85.1016", ASK), ("85.1017", WORK)],
)
def test_a_bore_at_its_limit(bore, expected):
    bores = {"all": "85.080", "top/thrust": bore, "top/pin": "85.090"}
    assert verdict(Whole().barrel("B1", bores), "B1") is expected


@pytest.mark.parametrize(
    ("bore", "expected"),
    [
        ("85.0022", Outcome.MATCHED),  # 0.0472
        ("85.0021", Outcome.PROVISIONAL),
        ("84.9979", Outcome.PROVISIONAL),
        ("84.9978", Outcome.IMPOSSIBLE),  # 0.0428
    ],
)
def test_a_smallest_clearance_at_its_limit(bore, expected):
    """P1 is 84.955 of group III; every barrel is as tight."""
    whole = Whole().piston("P1", "84.955", size_stamp=D("84.950"))
    for number in range(1, 5):
        whole.barrel(f"B{number}", bore)
    assert whole.judge().pairing.outcome is expected


@pytest.mark.parametrize(
    ("bore", "expected"),
    [
        ("85.0428", Outcome.MATCHED),  # 0.1778
        ("85.0430", Outcome.PROVISIONAL),
        ("85.0471", Outcome.PROVISIONAL),
        ("85.0472", Outcome.IMPOSSIBLE),  # 0.1822
    ],
)
def test_a_largest_clearance_at_its_limit(bore, expected):
    whole = Whole().barrel("B1", bore)
    for number in range(1, 5):
        whole.piston(f"P{number}", "84.865")
    assert whole.judge().pairing.outcome is expected


@pytest.mark.parametrize(
    ("gap", "measured_in", "expected"),
    [
        ("0.410", "85.040", Outcome.MATCHED),  # 0.410 - pi x 0.030 = 0.3158
        ("0.400", "85.040", Outcome.PROVISIONAL),  # 0.3058
        ("0.390", "85.040", Outcome.PROVISIONAL),  # 0.2958
        ("0.385", "85.040", Outcome.AFTER_REWORK),  # 0.2908
        ("0.860", "85.000", Outcome.MATCHED),  # 0.860 + pi x 0.010 = 0.8914
        ("0.866", "85.000", Outcome.PROVISIONAL),  # 0.8974
        ("0.880", "85.000", Outcome.AFTER_REWORK),  # 0.9114
    ],
)
def test_a_gap_at_its_limits_in_another_bore(gap, measured_in, expected):
    whole = Whole(WITH_RINGS)
    for number in range(1, 5):
        whole.rings(f"P{number}", "85.010")
    top = whole.table["piston"][0]["ring"][0]
    top["gap"], top["gap_bore"] = D(gap), D(measured_in)
    assert whole.judge().pairing.outcome is expected


@pytest.mark.parametrize(
    ("gap", "expected"),
    [("0.240", WORK), ("0.255", GOOD), ("0.253", ASK), ("0.995", GOOD), ("1.004", WORK)],
)
def test_an_oil_rings_gap_where_it_was_measured(gap, expected):
    whole = Whole(WITH_RINGS)
    for number in range(1, 5):
        whole.rings(f"P{number}", "85.010", **({"oil": gap} if number == 1 else {}))
    assert verdict(whole, "P1") is expected
