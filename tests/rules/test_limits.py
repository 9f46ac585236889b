"""Which limit applies: stamp, then signed override, then sheet; each says whence."""

from decimal import Decimal

import pytest

from barrelfit.rules.engine.limits import (
    bore_limit,
    clearance_limit,
    form_limit,
    original_size,
    skirt_limit,
)
from barrelfit.rules.engine.parts import EngineSet, Marks, Override, Part
from barrelfit.rules.judge import judge_pair, judge_part
from barrelfit.rules.manner import told, told_all
from tests.rules.set_bench import bench_sheet, evidence

SHEET = bench_sheet()
GOOD = ("good",)


def engine(*overrides, variant="early", group="II", oversize_nm=0):
    return EngineSet("job", variant, group, oversize_nm, overrides=overrides)


def piston(**marks):
    return Part("P1", "piston", looked=GOOD, marks=Marks(**marks))


def override(quantity, value_nm, part="", who="R. Lead"):
    return Override(quantity, value_nm, who, "maker's bulletin", part)


def test_the_sheet_speaks_when_nobody_else_does():
    limit = skirt_limit(SHEET, engine(), piston())
    assert (limit.lower_nm, limit.upper_nm) == (84_850_000, 84_970_000)
    assert told(limit.lower_from).startswith(
        "sheet test-two rev 1, variant early, group II (84.960 mm)"
    )


def test_an_override_comes_before_the_sheet_and_names_who_signed():
    limit = skirt_limit(SHEET, engine(override("skirt.size", 84_955_000)), piston())
    assert limit.lower_nm == 84_845_000
    assert "override by R. Lead: maker's bulletin" in told(limit.lower_from)


def test_a_stamp_comes_before_an_override_which_is_told():
    said = (override("skirt.size", 84_955_000),)
    limit = skirt_limit(SHEET, engine(*said), piston(size_nm=84_950_000))
    assert limit.lower_nm == 84_840_000
    assert told(limit.lower_from).startswith("stamp on P1")
    seen = evidence((piston(size_nm=84_950_000),), {"P1/skirt": "84.94"}, overrides=said)
    assert "K106" in {f.code for f in judge_part(seen, "P1").findings}


def test_a_stamp_says_nothing_of_wear_so_an_override_of_wear_holds():
    said = engine(override("skirt.wear_max", 50_000))
    assert skirt_limit(SHEET, said, piston(size_nm=84_950_000)).lower_nm == 84_900_000


def test_an_override_for_one_part_comes_before_one_for_all_and_the_last_counts():
    said = engine(
        override("clearance.max", 150_000, "P1"),
        override("clearance.max", 180_000),
        override("clearance.max", 160_000, "P1", "S. Lead"),
    )
    limit = clearance_limit(SHEET, said, piston())
    assert limit.upper_nm == 160_000
    assert "S. Lead" in told(limit.upper_from)
    other = Part("P2", "piston", looked=GOOD)
    assert clearance_limit(SHEET, said, other).upper_nm == 180_000


def test_the_smallest_clearance_by_stamp_override_variant_sheet():
    variants = [
        {"id": "early", "clearance_min": Decimal("0.06"), "group": [
            {"id": "II", "piston": Decimal("84.96"), "bore": Decimal("85.01")}]},
    ]  # fmt: skip
    own = bench_sheet(variant=variants)
    assert clearance_limit(SHEET, engine(), piston()).lower_nm == 40_000
    assert clearance_limit(own, engine(), piston()).lower_nm == 60_000
    said = engine(override("clearance.min", 70_000))
    assert clearance_limit(own, said, piston()).lower_nm == 70_000
    assert clearance_limit(own, said, piston(clearance_min_nm=50_000)).lower_nm == 50_000


@pytest.mark.parametrize(
    ("quantity", "usual_nm"), [("taper.max", 40_000), ("out_of_round.max", 30_000)]
)
def test_form_by_override_or_sheet(quantity, usual_nm):
    barrel = Part("B1", "barrel", looked=GOOD, barrel_kind="iron-liner")
    assert form_limit(SHEET, engine(), barrel, quantity).upper_nm == usual_nm
    said = engine(override(quantity, 20_000, "B1"))
    assert form_limit(SHEET, said, barrel, quantity).upper_nm == 20_000


def test_an_oversize_moves_the_group_sizes_and_is_named():
    said = engine(oversize_nm=250_000)
    identity = original_size(SHEET, said, piston())
    assert identity.size.nm == 85_210_000
    assert "oversize 0.250 mm" in told(identity.size.origin)
    stamped = original_size(SHEET, said, piston(size_nm=85_200_000))
    assert told_all(stamped.fits) == ("variant late, group II, oversize 0.250 mm",)


def test_a_size_nobody_knows_has_no_limit_and_is_undecided():
    assert skirt_limit(SHEET, engine(group=""), piston()) is None
    barrel = Part("B1", "barrel", looked=GOOD, barrel_kind="iron-liner")
    assert bore_limit(SHEET, engine(group=""), barrel) is None
    seen = evidence((piston(),), {"P1/skirt": "84.94"}, group="")
    judged = judge_part(seen, "P1")
    assert judged.verdict == "undecided"
    assert "K105" in {f.code for f in judged.findings}


def test_an_unreadable_stamp_falls_to_the_next_source_and_is_told():
    part = piston(unreadable=("size",))
    judged = judge_part(evidence((part,), {"P1/skirt": "84.94"}), "P1")
    assert judged.verdict == "serviceable"
    assert "K103" in {f.code for f in judged.findings}


def test_marks_that_contradict_each_other_are_undecided():
    """Group II is 84.96 or 84.95 in the two variants; the size stamp says neither."""
    part = piston(size_nm=85_200_000, group="II")
    assert "K104" not in {
        f.code for f in judge_part(evidence((part,), {"P1/skirt": "85.19"}), "P1").findings
    }  # 85.20 is variant late, group II, with 0.25 oversize
    part = piston(size_nm=84_970_000, group="II")
    codes = {f.code for f in judge_part(evidence((part,), {"P1/skirt": "84.96"}), "P1").findings}
    assert {"K102", "K104"} <= codes


def test_a_stamped_clearance_above_the_largest_allowed_is_a_contradiction_not_a_crash():
    part = piston(clearance_min_nm=300_000)
    barrel = Part("B1", "barrel", looked=GOOD, barrel_kind="iron-liner")
    values = {f"B1/bore/{d}/{x}": "85.02" for d in ("top", "bottom") for x in ("thrust", "pin")}
    judged = judge_pair(evidence((part, barrel), values | {"P1/skirt": "84.94"}), "P1", "B1")
    assert "C103" in {f.code for f in judged.findings}
