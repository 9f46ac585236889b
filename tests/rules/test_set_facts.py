"""Facts of the trade as check values, each marked: common practice, no source."""

from decimal import Decimal

import pytest

from barrelfit.rules.engine.limits import Limit
from barrelfit.rules.engine.parts import Feeler, Marks, Part
from barrelfit.rules.judge import judge_pair, judge_part
from barrelfit.rules.judge.rework import ReworkPlan, WornBore, remedy
from barrelfit.rules.length import to_nm
from barrelfit.rules.manner import told
from barrelfit.rules.model import Verdict
from tests.rules import set_bench
from tests.rules.set_bench import bench_sheet

GOOD = ("good",)
D = Decimal
GAP = {"gap_min": D("0.3"), "gap_max": D("0.9")}
FACTS = bench_sheet(
    variant=[
        {"id": "A", "group": [{"id": "0", "piston": D("83.96"), "bore": D("84.01")}]},
        {"id": "B", "group": [{"id": "0", "piston": D("83.95"), "bore": D("84.00")}]},
    ],
    piston={
        "material": "light-alloy",
        "skirt_height": D("2.5"),
        "wear_max": D("0.1"),
        "over_max": D("0.01"),
        "mass_spread_max_g": 5,
    },
    ring=[
        {"id": "top", "side_clearance_max": D("0.11"), **GAP},
        {"id": "second", "side_clearance_max": D("0.05"), **GAP},
        {"id": "oil", "side_clearance_min": D("0.02"), "side_clearance_max": D("0.06"), **GAP},
    ],
    pin={"classes": ["-1", "0", "+1"]},
)


def evidence(parts, values, **said):
    """Evidence of an engine said to be variant A, group 0."""
    return set_bench.evidence(parts, values, FACTS, variant="A", group="0", **said)


def test_a_stamp_beats_the_group_the_engine_is_said_to_have():
    """Common practice, no source: A group 0 is 83.96, B group 0 is 83.95; stamped 83.95."""
    piston = Part("P1", "piston", looked=GOOD, marks=Marks(size_nm=83_950_000))
    judged = judge_part(evidence((piston,), {"P1/skirt": "83.937"}), "P1")
    named = next(f for f in judged.findings if f.code == "K101")
    assert "the stamp fits variant B, group 0" in told(named.sentence)
    wear = next(f for f in judged.findings if f.code == "V100")
    assert wear.limit_nm == 83_850_000  # 83.95 less 0.1, not 83.96 less 0.1
    assert "0.013 mm below its original 83.950 mm" in told(wear.sentence)
    assert judged.verdict is Verdict.SERVICEABLE


def test_the_measuring_height_is_the_same_for_both_variants():
    """Common practice, no source: 2.5 mm above the skirt's lower edge for both."""
    piston = Part("P1", "piston", looked=GOOD)
    judged = judge_part(evidence((piston,), {}), "P1")
    assert "2.500 mm above the skirt's lower edge" in told(judged.todo)


@pytest.mark.parametrize(
    ("ring", "largest_mm", "places"),
    [("oil", "0.06", 4), ("second", "0.05", 3), ("top", "0.11", 4)],
)
def test_a_feeler_of_the_maximum_that_goes_in_anywhere_means_discard(ring, largest_mm, places):
    """Common practice, no source: oil 0.020-0.060, second at most 0.05, top at most 0.11 mm."""
    leaf_nm = to_nm(Decimal(largest_mm), "mm")
    for place in range(places):
        went_in = tuple(n == place for n in range(places))
        piston = Part("P1", "piston", looked=GOOD, feelers=(Feeler(ring, leaf_nm, went_in),))
        left_out = ("pins", "mass", "height-groups", "head-seal")
        judged = judge_part(evidence((piston,), {"P1/skirt": "83.95"}, left_out=left_out), "P1")
        assert judged.verdict is Verdict.DISCARD
        assert "R101" in {f.code for f in judged.findings}


def _ring_codes(feelers: tuple[Feeler, ...]) -> set[str]:
    piston = Part("P1", "piston", looked=GOOD, feelers=feelers)
    left_out = ("pins", "mass", "height-groups", "head-seal")
    judged = judge_part(evidence((piston,), {"P1/skirt": "83.95"}, left_out=left_out), "P1")
    return {f"{f.code} {told(f.sentence).split()[0]}" for f in judged.findings if f.code[0] == "R"}


def test_three_or_four_places_are_enough_two_are_not():
    """Common practice, no source: each ring is tried in three or four places."""
    out3, out2 = (False,) * 3, (False,) * 2
    assert "R103 top" not in _ring_codes((Feeler("top", 110_000, out3),))
    assert "R103 top" in _ring_codes((Feeler("top", 110_000, out2),))


def test_the_oil_ring_has_a_smallest_side_clearance_too():
    """Common practice, no source: oil ring 0.020-0.060 mm."""
    out4, in4, mixed = (False,) * 4, (True,) * 4, (True, True, False, True)
    largest = Feeler("oil", 60_000, out4)
    assert "R109 oil" in _ring_codes((largest,))
    assert not {"R109 oil", "R102 oil"} & _ring_codes((largest, Feeler("oil", 20_000, in4)))
    assert "R102 oil" in _ring_codes((largest, Feeler("oil", 20_000, mixed)))


def _pinned(pin: Part, **piston: object) -> tuple[Verdict, Verdict]:
    parts = (Part("P1", "piston", looked=GOOD, **piston), pin)  # type: ignore[arg-type]
    left_out = ("rings", "mass", "height-groups", "head-seal")
    seen = evidence(parts, {"P1/skirt": "83.95"}, left_out=left_out)
    return judge_part(seen, "P1").verdict, judge_part(seen, "W1").verdict


def test_pin_classes_are_the_makers_marks():
    """Common practice, no source: classes -1, 0, +1, marked by the maker."""
    for mark in ("-1", "0", "+1"):
        pin = Part("W1", "pin", looked=GOOD, mate="P1", marks=Marks(pin_class=mark), play="none")
        assert _pinned(pin) == (Verdict.SERVICEABLE, Verdict.SERVICEABLE)
    pin = Part("W1", "pin", looked=GOOD, mate="P1", marks=Marks(pin_class="+2"), play="none")
    assert _pinned(pin)[1] is Verdict.UNDECIDED


def test_perceptible_play_means_pin_or_piston_is_worn():
    """Common practice, no source: which of the two is worn is not known until the pin is sized."""
    pin = Part("W1", "pin", looked=GOOD, mate="P1", marks=Marks(pin_class="0"), play="perceptible")
    assert _pinned(pin) == (Verdict.UNDECIDED, Verdict.UNDECIDED)


def test_an_iron_liner_within_limits_is_honed_a_plated_bore_never():
    """Common practice, no source."""
    sheet = FACTS
    iron, plated = sheet.barrel.kinds
    limit = Limit(upper_nm=84_110_000)
    for largest_nm in (84_020_000, 84_060_000, 84_090_000):
        about = ("B1", 84_010_000, 84_010_000, largest_nm, limit, 4_500_000)
        name, *rest = about
        assert remedy(WornBore(name, iron, *rest), sheet.rework).work is ReworkPlan.HONE
        assert remedy(WornBore(name, plated, *rest), sheet.rework).work is ReworkPlan.REPLATE
    for largest_nm in range(84_000_000, 84_800_000, 10_000):
        about = ("B1", 84_010_000, 84_010_000, largest_nm, limit, 4_500_000)
        name, *rest = about
        chosen = remedy(WornBore(name, plated, *rest), sheet.rework)
        assert chosen.work in {ReworkPlan.REPLATE, ReworkPlan.REPLACE}
        assert chosen.to_nm is None


def test_a_stamped_smallest_clearance_is_a_lower_limit_on_bore_less_skirt():
    """Common practice, no source: stamped 0.05 mm."""
    piston = Part("P1", "piston", looked=GOOD, marks=Marks(clearance_min_nm=50_000))
    barrel = Part("B1", "barrel", looked=GOOD, barrel_kind="iron-liner")
    places = [f"B1/bore/{d}/{x}" for d in ("top", "bottom") for x in ("thrust", "pin")]
    for bore, verdict in (("84.000", "serviceable"), ("83.980", "rework"), ("83.987", "undecided")):
        values = {"P1/skirt": "83.937", **dict.fromkeys(places, bore)}
        judged = judge_pair(evidence((piston, barrel), values), "P1", "B1")
        assert judged.verdict == verdict
