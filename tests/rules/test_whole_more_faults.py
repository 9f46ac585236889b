"""Faults that come together, or where the set's other parts lie: each answer worked by hand first.

The sets are those of `tests.rules.whole_set`: skirts 84.915, bores 85.010, clearance 0.095.
"""

from decimal import Decimal

import pytest

from barrelfit.rules.engine.set_doubts import set_doubts
from barrelfit.rules.judge import Outcome
from barrelfit.rules.judge.rework import ReworkPlan
from barrelfit.rules.manner import told_all
from barrelfit.rules.model import Verdict
from tests.rules.whole_set import FOUR, Whole
from tests.spoken import text_of

D = Decimal
CRACKED = {"looked": ["cracked"]}
WITH_PINS = ["rings", "mass", "height-groups", "head-seal"]
WITH_RINGS = ["pins", "mass", "height-groups", "head-seal"]
WEIGHED = ["rings", "pins", "height-groups", "head-seal"]
WITH_HEIGHTS = ["rings", "pins", "mass", "head-seal"]


def said(judged) -> str:
    return "\n".join(told_all(judged.pairing.sentences))


def verdict(judged, part: str) -> Verdict:
    return next(j.verdict for j in judged.parts if j.about == part)


# ---------------------------------------------------------------- lost parts


def test_every_barrel_lost_is_bought_for_each_piston_though_the_banks_have_heights():
    whole = Whole(WITH_HEIGHTS)
    for number in range(1, 5):
        whole.barrel(f"B{number}", **CRACKED)
    judged = whole.judge()
    assert judged.pairing.outcome is Outcome.PROVISIONAL
    assert [s.piston for s in judged.pairing.seats] == ["P1", "P2", "P3", "P4"]
    assert "cylinder 4: a barrel for P4" in said(judged)


def test_every_part_lost_is_all_to_buy():
    whole = Whole(WITH_HEIGHTS)
    for number in range(1, 5):
        whole.barrel(f"B{number}", **CRACKED).piston(f"P{number}", **CRACKED)
    judged = whole.judge()
    assert judged.pairing.outcome is Outcome.PROVISIONAL
    assert said(judged).count("a piston and a barrel") == 4


def test_a_new_pair_is_of_the_oversize_of_the_others():
    whole = Whole(oversize=D("0.25"))
    for number in range(1, 5):
        whole.piston(f"P{number}", "85.165").barrel(f"B{number}", "85.260")
    judged = whole.piston("P1", **CRACKED).barrel("B1", **CRACKED).judge()
    assert "of variant early; of oversize 0.250 mm" in said(judged)
    assert "oversize" not in said(Whole().piston("P1", **CRACKED).barrel("B1", **CRACKED).judge())


# ---------------------------------------------------------------- pins go with their pistons


def pinned(**changed: object) -> Whole:
    whole = Whole(WITH_PINS)
    pins = []
    for number in range(1, 5):
        whole.piston(f"P{number}", pin_class="white")
        pin = {"id": f"W{number}", "piston": f"P{number}", "looked": ["good"], "class": "white"}
        pins.append({**pin, "play": "none", "diameter": D("22.997")})
    pins[0].update(changed)
    whole.table["pin"] = pins
    return whole


@pytest.mark.parametrize("lost", [{"looked": ["pitted"]}, {"diameter": D("22.985")}])
def test_no_set_is_matched_while_a_pin_is_to_be_bought(lost):
    assert pinned().judge().pairing.outcome is Outcome.MATCHED
    judged = pinned(**lost).judge()
    assert judged.pairing.outcome is Outcome.PROVISIONAL
    assert said(judged) == "cylinder 1: a pin of class white for P1"


def test_no_set_is_matched_while_nobody_knows_about_a_pin():
    """22.9925 is 0.5 µm above its limit 22.992, with u of 0.8 µm."""
    judged = pinned(diameter=D("22.9925")).judge()
    assert judged.pairing.outcome is Outcome.PROVISIONAL
    assert said(judged) == "undecided: W1"


def test_the_pin_of_a_piston_that_does_not_run_changes_nothing():
    whole = pinned()
    whole.piston("P5", pin_class="white")
    spare = {**whole.table["pin"][0], "id": "W5", "piston": "P5", "looked": ["pitted"]}
    whole.table["pin"].append(spare)
    assert whole.judge().pairing.outcome is Outcome.MATCHED


# ---------------------------------------------------------------- leaves and widths


def feelers(*tried: tuple[str, list[bool]], widths: bool = False) -> Whole:
    whole = Whole(WITH_RINGS)
    for number in range(1, 5):
        whole.rings(f"P{number}", "85.010")
    top = whole.table["piston"][0]["ring"][0]
    top["feeler"] = [{"leaf": D(leaf), "went_in": went_in} for leaf, went_in in tried]
    if not widths:
        del top["groove_width"], top["ring_width"]
    return whole


def test_one_leaf_that_stays_out_and_goes_in_is_a_question():
    least = ("0.04", [True] * 4)
    whole = feelers(("0.12", [False] * 4), ("0.12", [True] * 4), least)
    assert verdict(whole.judge(), "P1") is Verdict.UNDECIDED


def test_a_leaf_that_goes_in_all_round_where_the_widths_leave_no_room_is_a_question():
    """1.560 less 1.490 is 0.070; 0.12 goes in everywhere. In one place alone the groove may be
    worn there."""
    least = ("0.04", [True] * 4)
    judged = feelers(("0.12", [True] * 4), least, widths=True).judge()
    assert verdict(judged, "P1") is Verdict.UNDECIDED
    assert "R113" in {f.code for j in judged.parts for f in j.findings}
    judged = feelers(("0.12", [True, False, False, False]), least, widths=True).judge()
    assert verdict(judged, "P1") is Verdict.DISCARD


# ---------------------------------------------------------------- mends and what is asked


@pytest.mark.parametrize("doubt", [{"looked": None}, {"skirt": "84.8605"}])
def test_no_mass_is_taken_off_a_piston_about_which_something_is_undecided(doubt):
    """520 g is 2 g more than 512 + 6."""
    whole = Whole(WEIGHED).piston("P4", mass_g=520)
    assert told_all(whole.judge().pairing.trouble.mend.steps) == ("take 2 g off P4",)
    steps = told_all(whole.piston("P4", **doubt).judge().pairing.trouble.mend.steps)
    assert steps == ("settle first what is undecided about P4, which is too heavy",)


def test_of_a_discarded_part_nothing_more_is_asked():
    judged = Whole([]).piston("P1", "84.850", mass_g=None).judge()
    first = next(j for j in judged.parts if j.about == "P1")
    assert first.verdict is Verdict.DISCARD
    assert {f.code for f in first.findings} == {"S101"}


def test_the_clearance_in_a_bore_that_is_to_be_reworked_says_nothing():
    """B1 is scored and 85.0945: 0.1795 to P1, too near to 0.180; what it will be nobody knows."""
    judged = Whole().barrel("B1", "85.0945", looked=["scored-bore"]).judge()
    assert "too near" not in said(judged)
    assert said(judged) == "pair when B1 has been reworked and measured again"


def test_a_barrel_that_has_its_sizes_is_not_said_to_lack_them():
    whole = Whole().barrel("B1", "85.160", looked=["peeling-plating"])  # on iron
    assert said(whole.judge()) == "pair when it is known what becomes of B1"


# ---------------------------------------------------------------- overrides


def override(quantity: str, value: str, part: str) -> dict[str, object]:
    about = {"quantity": quantity, "value": D(value), "part": part}
    return {**about, "signed_by": "A. Fitter", "why": "shop"}


@pytest.mark.parametrize(
    ("overrides", "words"),
    [
        ([override("clearance.min", "0.060", "B1")], "clearance.min is of a piston, and B1"),
        ([override("skirt.wear_max", "0.070", "B1")], "skirt.wear_max is of a piston, and B1"),
        ([override("taper.max", "0.030", "P1")], "taper.max is of a barrel, and P1"),
        (
            [override("clearance.max", v, "P1") for v in ("0.150", "0.160")],
            "clearance.max is set to 0.150 mm too",
        ),
    ],
)
def test_an_override_that_can_hold_for_nothing_or_says_two_things_is_not_taken(overrides, words):
    table = {**Whole().table, "override": overrides}
    (problem,) = set_doubts(table, FOUR)
    assert words in text_of(problem.sentence)


# ---------------------------------------------------------------- spares that can't stand in


@pytest.mark.parametrize(
    "spare",
    [
        {"kind": "all-iron"},
        {"size_stamp": D("85.250"), "bore": "85.260"},
        {"height_group": "1"},
        {"bore": "85.1005"},  # too near its limit, and 0.1855 to any piston
    ],
)
def test_a_spare_barrel_that_can_not_stand_in_is_left_out_and_one_is_bought(spare):
    """Heights 2, 1, 2, 1; B1 is lost, so one of height 2 is wanted."""
    whole = Whole(WITH_HEIGHTS).barrel("B1", **CRACKED)
    judged = whole.barrel("B5", **{"height_group": "2", **spare}).judge()
    assert judged.pairing.outcome is Outcome.PROVISIONAL
    assert "cylinder 1: a barrel for P1" in said(judged)
    assert "left out, since it can't run with the others: B5" in said(judged)


@pytest.mark.parametrize(
    "spare", [{"mass_g": 520}, {"size_stamp": D("85.190"), "skirt": "85.170"}, {"skirt": "84.862"}]
)
def test_a_spare_piston_that_can_not_stand_in_is_left_out_and_one_is_bought(spare):
    """520 g is 8 g more than the others. With bores of 85.060 a skirt of 84.862 has 0.198."""
    whole = Whole(WEIGHED).piston("P1", **CRACKED)
    for number in range(1, 5):
        whole.barrel(f"B{number}", "85.060")
    judged = whole.piston("P5", **spare).judge()
    assert judged.pairing.outcome is Outcome.PROVISIONAL
    assert "cylinder 1: a piston for B1" in said(judged)
    assert "left out, since it can't run with the others: P5" in said(judged)


def test_only_the_spare_that_can_not_stand_in_is_left_out():
    whole = Whole(WEIGHED).piston("P1", **CRACKED).piston("P2", **CRACKED)
    judged = whole.piston("P5", mass_g=520).piston("P6").judge()
    assert "left out, since it can't run with the others: P5" in said(judged)
    assert "P6" in {s.piston for s in judged.pairing.seats}


# ---------------------------------------------------------------- pairs too near to tell


def test_a_pair_of_sound_parts_too_near_its_limit_is_measured_again():
    """85.077 less 84.895 is 0.182 of 0.180: u 1.28 µm, a guard band of 2.1 µm."""
    whole = Whole()
    for number in range(1, 5):
        whole.piston(f"P{number}", "84.895").barrel(f"B{number}", "85.077")
    judged = whole.judge()
    assert judged.pairing.outcome is Outcome.PROVISIONAL
    assert told_all(judged.pairing.sentences)[0].endswith(
        "0.002 mm above 0.180 mm: too near to tell"
    )
    asked = {str(p.at): p.gauge_kind for p in judged.to_measure}
    assert asked["P1/skirt"] == "outside"
    assert asked["B4/bore/top/thrust"] == "bore"
    assert len(asked) == 8


def test_a_gap_too_near_its_limit_in_this_bore_is_measured_again():
    whole = Whole(WITH_RINGS)
    for number in range(1, 5):
        whole.rings(f"P{number}", "85.012", top="0.308" if number == 1 else "0.450")
    judged = whole.judge()  # 0.308 less pi x 0.002 is 0.3017 of 0.300
    assert judged.pairing.outcome is Outcome.PROVISIONAL
    asked = [str(p.at) for p in judged.to_measure]
    assert asked == ["P1/gap/top", "B1/bore/top/thrust"]


# ---------------------------------------------------------------- honing and the wall


@pytest.mark.parametrize(
    ("wall", "work", "outcome"),
    [
        ("4.300", ReworkPlan.HONE, Outcome.AFTER_REWORK),
        ("4.014", ReworkPlan.HONE, Outcome.AFTER_REWORK),
        ("4.010", ReworkPlan.MEASURE, Outcome.WAITING),
        ("4.005", None, Outcome.PROVISIONAL),
    ],
)
def test_honing_true_leaves_the_wall(wall, work, outcome):
    """B1 is 85.060 at the top; honed to 85.080 its wall, measured to 2 µm (guard band 3.3 µm),
    loses 0.010: 4.290, 4.004, 4.000 and 3.995 of 4.000. No oversize leaves it either."""
    judged = Whole().barrel("B1", {"top": "85.060"}, wall=D(wall)).judge()
    assert judged.pairing.outcome is outcome
    works = {r.work for r in judged.rework.remedies if r.part == "B1"}
    assert works == {work or ReworkPlan.REPLACE}
    assert (verdict(judged, "B1") is Verdict.DISCARD) is (work is None)


def test_honing_to_a_clearance_leaves_the_wall():
    """All pairs have 0.042; honing by 0.006 takes 0.003 off a wall of 4.006."""
    whole = Whole()
    for number in range(1, 5):
        whole.piston(f"P{number}", "84.948", size_stamp=D("84.950"))
        whole.barrel(f"B{number}", "84.990")
    assert "hone B1 by 0.006 mm for P1" in told_all(whole.judge().pairing.trouble.mend.steps)
    steps = told_all(whole.barrel("B1", wall=D("4.006")).judge().pairing.trouble.mend.steps)
    assert not any(step.startswith("hone B1") for step in steps)


def test_a_signed_clearance_that_a_stamp_comes_before_is_told():
    whole = Whole().piston("P1", clearance_stamp=D("0.050"))
    for value, told in (("0.100", True), ("0.050", False)):
        whole.table["override"] = [override("clearance.min", value, "P1")]
        judged = whole.judge()
        first = next(j for j in judged.parts if j.about == "P1")
        assert ("K106" in {f.code for f in first.findings}) is told


def test_an_override_that_gives_way_to_a_stamp_is_not_said_to_hold():
    whole = Whole().piston("P1", clearance_stamp=D("0.050"))
    whole.table["override"] = [override("clearance.min", "0.030", "P1")]
    first = next(j for j in whole.judge().parts if j.about == "P1")
    assert {f.code for f in first.findings} >= {"K106"}
    assert "K110" not in {f.code for f in first.findings}


# ---------------------------------------------------------------- what is bought, what is exchanged


def test_a_barrel_to_buy_tells_what_it_does_to_the_rings():
    """P1's 0.320 was measured in 85.065; in a new 85.000 it is 0.320 - pi x 0.065 = 0.116."""
    whole = Whole(WITH_RINGS)
    for number in range(1, 5):
        whole.rings(f"P{number}", "85.010")
    whole.barrel("B1", **CRACKED)
    assert "closed gap" not in said(whole.judge())
    judged = whole.rings("P1", "85.065", top="0.320", second="0.700", oil="0.700").judge()
    assert "clearance 0.085 mm (top ring: closed gap in this bore 0.1158" in said(judged)
    assert "without the bore it was measured in" in said(whole.rings("P1", None).judge())


@pytest.mark.parametrize("strange", ["P1", "B1"])
def test_a_part_of_another_oversize_is_exchanged_and_nothing_is_bought_to_go_with_it(strange):
    whole = Whole(oversize=D("0.25"))
    for number in range(1, 5):
        whole.piston(f"P{number}", "85.165").barrel(f"B{number}", "85.260")
    if strange == "P1":
        whole.piston("P1", "84.915", size_stamp=D("84.940"))
        steps = ("1 other piston: oversize 0.250 mm",)
    else:
        whole.barrel("B1", "85.010", size_stamp=D("85.000"))
        steps = ("1 other barrel: iron-liner, oversize 0.250 mm",)
    assert told_all(whole.judge().pairing.trouble.mend.steps) == steps


def test_a_gap_at_a_depth_of_a_lost_barrel_that_nobody_measured_asks_for_its_bore():
    whole = Whole(WITH_RINGS)
    for number in range(1, 5):
        whole.rings(f"P{number}", "85.010")
    for ring in whole.rings("P1", None).table["piston"][0]["ring"]:
        ring["gap_depth"] = "bottom"
    assert whole.barrel("B1", **CRACKED).judge().to_measure == ()
    asked = [str(p.at) for p in whole.barrel("B1", None).judge().to_measure]
    assert asked == [f"P1/gap-bore/{ring.id}" for ring in FOUR.rings]


@pytest.mark.parametrize(("outside_u", "asked"), [("0.0008", 0), ("0.0004", 0), ("0.00008", 1)])
def test_an_uncertainty_no_hand_gauge_reaches_is_asked_about(outside_u, asked):
    """0.08 µm is less than 85 mm of aluminium grows in a twentieth of a degree."""
    table = Whole().table
    table["measuring"]["outside_u"] = D(outside_u)
    assert len(set_doubts(table, FOUR)) == asked
