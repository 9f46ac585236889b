"""Whole sets with parts lost, spare, doubtful or in conflict; each answer was worked by hand first.

Good parts: skirts 84.915 (worn 0.025 of 0.080), bores 85.010 (limit 85.100), clearance 0.095 of
0.045 to 0.180. u of a skirt 0.8 µm, of a bore 1 µm: guard band of a bore 1.65 µm, of a clearance
1.65 x 1.28 = 2.1 µm.
"""

from decimal import Decimal

import pytest

from barrelfit.rules.judge import Outcome
from barrelfit.rules.judge.rework import ReworkPlan
from barrelfit.rules.manner import told_all
from barrelfit.rules.model import Verdict
from tests.rules.whole_set import HOME, Whole, seated

D = Decimal
RINGED = ["pins", "mass", "height-groups", "head-seal"]
MM_AND_INCH = pytest.mark.parametrize("unit", ["mm", "inch"])


def works(judged) -> dict[str, ReworkPlan]:
    return {r.part: r.work for r in judged.rework.remedies}


def said(judged) -> str:
    return "\n".join(told_all(judged.pairing.sentences))


# ---------------------------------------------------------------- a spare changes nothing


@MM_AND_INCH
@pytest.mark.parametrize(
    ("kind", "spare"),
    [
        ("barrel", {"bore": "85.120"}),  # worn out beyond 85.100: only an oversize would save it
        ("barrel", {"bore": "85.600"}),  # beyond every oversize
        ("barrel", {"bore": "85.0995"}),  # too near its limit to tell
        ("barrel", {"bore": None}),
        ("barrel", {"bore": {"top": None}}),
        ("barrel", {"bore": {"top": "85.060"}}),  # tapered by 0.050 of 0.040: to be honed
        ("barrel", {"looked": ["cracked"]}),
        ("barrel", {"looked": ["scored-bore"]}),
        ("barrel", {"looked": None}),
        ("barrel", {"kind": None}),
        ("barrel", {"kind": "all-iron"}),
        ("barrel", {"size_stamp": D("85.250"), "bore": "85.260"}),
        ("piston", {"skirt": "84.800"}),  # worn out below 84.860
        ("piston", {"skirt": None}),
        ("piston", {"skirt": "84.8600"}),  # on its limit
        ("piston", {"skirt": "84.970"}),  # larger than new
        ("piston", {"size_stamp": D("84.955")}),  # of the other variant
        ("piston", {"size_stamp": D("85.190"), "skirt": "85.170"}),  # an oversize
    ],
)
def test_a_spare_that_nobody_needs_changes_nothing(kind, spare, unit):
    whole = Whole()
    number = "P5" if kind == "piston" else "B5"
    judged = getattr(whole, kind)(number, **spare).judge(unit=unit)
    assert judged.pairing.outcome is Outcome.MATCHED
    assert seated(judged) == HOME
    assert judged.rework.oversize_nm is None
    assert judged.rework.remedies == ()


@MM_AND_INCH
@pytest.mark.parametrize(
    "lost", ["85.120", "85.600", "85.0995", "tapered", "cracked", "unmeasured"]
)
def test_a_good_spare_takes_the_place_of_a_barrel_that_is_lost(lost, unit):
    """B2 worn, cracked, doubtful or not measured; B5 is good: nothing is bored or bought."""
    whole = Whole().barrel("B5", height_group="1")
    odd = {"tapered": {"bore": {"top": "85.060"}}, "cracked": {"looked": ["cracked"]}}
    odd["unmeasured"] = {"bore": None}
    judged = whole.barrel("B2", **odd.get(lost, {"bore": lost})).judge(unit=unit)
    assert judged.pairing.outcome is Outcome.MATCHED
    assert seated(judged) == HOME - {("P2", "B2")} | {("P2", "B5")}
    assert judged.rework.oversize_nm is None
    assert not told_all(judged.pairing.sentences)
    assert judged.count(Verdict.SERVICEABLE) == 8


@pytest.mark.parametrize("lost", ["84.800", "cracked", "unmeasured", "doubtful", "late"])
def test_a_good_spare_takes_the_place_of_a_piston_that_is_lost(lost):
    odd = {
        "cracked": {"looked": ["cracked"]},
        "unmeasured": {"skirt": None},
        "doubtful": {"skirt": "84.970"},
        "late": {"size_stamp": D("84.955")},
    }
    whole = Whole().piston("P5")
    judged = whole.piston("P3", **odd.get(lost, {"skirt": lost})).judge()
    assert judged.pairing.outcome is Outcome.MATCHED
    assert seated(judged) == HOME - {("P3", "B3")} | {("P5", "B3")}


def test_one_worn_barrel_without_a_spare_still_takes_the_set_to_one_oversize():
    """85.120 + 0.060 = 85.180: 0.25 cleans it up; the wall 4.5 - 0.125 is above 4.0."""
    judged = Whole().barrel("B2", "85.120").judge()
    assert judged.pairing.outcome is Outcome.AFTER_REWORK
    assert judged.rework.oversize_nm == 250_000
    assert works(judged) == {f"B{n}": ReworkPlan.OVERSIZE for n in range(1, 5)}


def test_a_worn_spare_is_no_part_of_the_one_oversize():
    """B2 85.120 needs 0.25; the spare 85.200 would need 0.50 and is left alone: four go to 0.25."""
    judged = Whole().barrel("B2", "85.120").barrel("B5", "85.200").judge()
    assert judged.rework.oversize_nm == 250_000
    assert works(judged) == {f"B{n}": ReworkPlan.OVERSIZE for n in range(1, 5)}


def test_boring_that_leaves_no_more_barrels_than_there_are_is_no_plan():
    """Walls of 4.05 but B2's: at 0.25 they lose 0.125, below 4.0; only B2 could go. Three run."""
    whole = Whole().barrel("B2", "85.120")
    for number in (1, 3, 4):
        whole.barrel(f"B{number}", wall=D("4.05"))
    judged = whole.judge()
    assert judged.rework.oversize_nm is None
    assert judged.pairing.outcome is Outcome.PROVISIONAL
    assert "a barrel for P2" in said(judged)
    assert told_all(judged.rework.sentences) == (
        "B2: an oversize is for the whole set, and too few can go to one",
    )


def test_honing_is_planned_only_for_the_barrel_that_is_needed():
    """B2 and the spare B5 are tapered; B2 cracked would need B5; with B2 good neither is honed."""
    tapered = {"top": "85.060"}
    judged = Whole().barrel("B5", tapered).judge()
    assert judged.rework.remedies == ()
    assert "B5: not needed" in told_all(judged.rework.sentences)[0]
    judged = Whole().barrel("B5", tapered).barrel("B2", looked=["cracked"]).judge()
    assert judged.pairing.outcome is Outcome.AFTER_REWORK
    assert works(judged) == {"B5": ReworkPlan.HONE}
    assert "B5 honed to 85.080 mm" in said(judged)


def test_a_part_not_measured_is_named_before_any_work():
    """B2 must be honed unless B5, of which nothing is known, is good."""
    judged = Whole().barrel("B2", {"top": "85.060"}).barrel("B5", None).judge()
    assert judged.pairing.outcome is Outcome.AFTER_REWORK
    assert works(judged) == {"B2": ReworkPlan.HONE}
    assert "measure B5 before any work" in said(judged)


def test_a_lost_piston_waits_for_the_spare_that_is_not_measured():
    judged = Whole().piston("P2", looked=["cracked"]).piston("P5", None).judge()
    assert judged.pairing.outcome is Outcome.WAITING
    assert said(judged) == "pair when P5 has its sizes"


# ---------------------------------------------------------------- heights, kinds, oversizes


@pytest.mark.parametrize("piston", ["P1", "P2", "P3", "P4"])
@pytest.mark.parametrize("barrel", ["B1", "B2", "B3", "B4"])
def test_each_bank_keeps_one_height_when_a_piston_and_a_barrel_are_lost(piston, barrel):
    """Heights 2, 1, 2, 1: left 1 and 3, right 2 and 4. Any one of each lost leaves a half bank."""
    left_out = ["rings", "pins", "mass", "head-seal"]
    whole = Whole(left_out).piston(piston, looked=["cracked"])
    judged = whole.barrel(barrel, looked=["cracked"]).judge()
    assert judged.pairing.outcome is Outcome.PROVISIONAL
    heights = {p["id"]: p["height_group"] for p in whole.table["barrel"]}
    banks: dict[str, set[str]] = {}
    for seat in judged.pairing.seats:
        if seat.barrel:
            banks.setdefault(seat.bank, set()).add(heights[seat.barrel])
    assert {len(groups) for groups in banks.values()} == {1}
    lost = heights[barrel]
    assert f"height group {lost}" in said(judged)
    assert sum(bool(s.piston and s.barrel) for s in judged.pairing.seats) == 3


def test_lost_parts_do_not_hide_that_the_heights_do_not_go_together():
    """Heights 1, 1, 1, 2 can't fill two banks: neither with all parts nor with a piston lost."""
    left_out = ["rings", "pins", "mass", "head-seal"]
    for lost in ("good", "cracked"):
        whole = Whole(left_out).piston("P4", looked=[lost])
        for number, height in enumerate("1112", 1):
            whole.barrel(f"B{number}", height_group=height)
        assert whole.judge().pairing.outcome is Outcome.IMPOSSIBLE


def test_a_barrel_without_a_height_may_be_of_either_group():
    """Heights 1, 1, 2 and not marked: the fourth may be a 2; that is undecided, not impossible."""
    whole = Whole(["rings", "pins", "mass", "head-seal"])
    for number, height in enumerate(("1", "1", "2", None), 1):
        whole.barrel(f"B{number}", height_group=height)
    judged = whole.judge()
    assert judged.pairing.outcome is Outcome.PROVISIONAL
    assert said(judged) == "undecided: B4"


@MM_AND_INCH
@pytest.mark.parametrize("odd", [1, 2, 3])
def test_two_kinds_of_barrel_are_not_mixed_in_one_engine(odd, unit):
    whole = Whole()
    for number in range(1, odd + 1):
        whole.barrel(f"B{number}", kind="all-iron")
    judged = whole.judge(unit=unit)
    assert judged.pairing.outcome is Outcome.IMPOSSIBLE
    assert "not all of one kind" in said(judged)
    assert judged.pairing.trouble.mend.cost == 6 * min(odd, 4 - odd)
    whole = whole.barrel("B5").barrel("B6").barrel("B7")
    assert whole.judge(unit=unit).pairing.outcome is Outcome.MATCHED


def test_two_oversizes_are_not_mixed_in_one_engine():
    """P4 and B4 are of oversize 0.25 and fit one another: 85.260 - 85.165 = 0.095."""
    whole = Whole().piston("P4", "85.165", size_stamp=D("85.190"))
    judged = whole.barrel("B4", "85.260", size_stamp=D("85.250")).judge()
    assert judged.pairing.outcome is Outcome.IMPOSSIBLE
    assert "P4 is oversize 0.250 mm" in said(judged)
    judged = whole.barrel("B5").judge()
    assert judged.pairing.outcome is Outcome.IMPOSSIBLE
    assert whole.piston("P5").judge().pairing.outcome is Outcome.MATCHED


def test_an_engine_that_is_all_of_one_oversize_is_matched():
    whole = Whole(oversize=D("0.250"))
    for number in range(1, 5):
        whole.piston(f"P{number}", "85.165").barrel(f"B{number}", "85.260")
    assert whole.judge().pairing.outcome is Outcome.MATCHED


def test_a_piston_of_another_variant_is_named_and_leaves_the_match_undecided():
    """84.955 is late II alone; the bore 85.000 is of both variants."""
    whole = Whole().piston("P2", size_stamp=D("84.955"))
    judged = whole.judge()
    assert judged.pairing.outcome is Outcome.PROVISIONAL
    assert "P2 of variant late" in said(judged)
    for number in (1, 3, 4):
        whole.piston(f"P{number}", size_stamp=D("84.955"))
    assert whole.judge().pairing.outcome is Outcome.MATCHED  # all late, and each says so


# ---------------------------------------------------------------- bedded pairs


@pytest.mark.parametrize(
    ("gain_um", "moved"), [("0.5", False), (1, False), (2, False), (4, True), (20, True)]
)
def test_bedded_pairs_stay_unless_the_gain_is_more_than_its_uncertainty(gain_um, moved):
    """P1 and B2 are smaller by the gain: at home 0.095 + gain, 0.095 - gain, 0.095, 0.095.

    P1 in B2 has 0.095, and P2 in B1 too: the spread of twice the gain falls to nothing. What is
    gained is (B1 - P1) - (B2 - P2): u = (2 x 0.8^2 + 2 x 1^2)^0.5 = 1.81 µm, so ± 3.5 µm; what it
    falls to is 0 ± 2.5 (of two clearances); both together are at most ± 5.1 µm.
    """
    gain = D(gain_um) / 1000
    whole = Whole().piston("P1", str(D("84.915") - gain)).barrel("B2", str(D("85.010") - gain))
    judged = whole.judge()
    assert judged.pairing.outcome is Outcome.MATCHED
    assert (seated(judged) != HOME) is moved


def test_a_barrel_that_no_rework_saves_is_replaced_only_where_barrels_are_short():
    """85.600 is beyond every oversize: 85.500 less 0.060."""
    judged = Whole().barrel("B2", "85.600").judge()
    assert works(judged) == {"B2": ReworkPlan.REPLACE}
    judged = Whole().barrel("B2", "85.600").barrel("B5").judge()
    assert judged.pairing.outcome is Outcome.MATCHED
    assert works(judged) == {}


@pytest.mark.parametrize("kind", [None, "steel"])
def test_a_barrel_of_a_kind_nobody_knows_is_undecided_and_decides_nothing(kind):
    judged = Whole().barrel("B1", kind=kind).judge()
    assert judged.pairing.outcome is Outcome.PROVISIONAL
    assert said(judged) == "undecided: B1"


# ---------------------------------------------------------------- one oversize, with other faults


def bored(judged) -> set[str]:
    assert judged.pairing.outcome is Outcome.AFTER_REWORK
    assert judged.rework.oversize_nm is not None
    return {r.part for r in judged.rework.remedies if r.work is ReworkPlan.OVERSIZE}


def test_a_doubt_that_is_none_about_the_bore_does_not_keep_the_set_from_its_oversize():
    """B1 85.120 needs 0.25; B2 is stained, or so near its limit that nobody can tell."""
    for doubt in ({"looked": ["stained"]}, {"looked": None}, {"bore": "85.0995"}):
        judged = Whole().barrel("B1", "85.120").barrel("B2", **doubt).judge()
        assert bored(judged) == {"B1", "B2", "B3", "B4"}
        assert "settle first what is undecided about B2" in told_all(judged.rework.sentences)


def test_a_bore_not_measured_is_measured_before_the_set_is_bored():
    judged = Whole().barrel("B1", "85.120").barrel("B2", None).judge()
    assert judged.pairing.outcome is Outcome.WAITING
    assert said(judged) == "pair when B2 has its sizes"
    assert judged.rework.oversize_nm is None


def test_the_oversize_is_the_one_that_cleans_up_the_deepest_of_those_that_are_needed():
    """85.195 + 0.060 = 85.255 is above 85.250: 0.50. The spare, 85.120, could do with 0.25."""
    judged = Whole().barrel("B1", "85.195").judge()
    assert judged.rework.oversize_nm == 500_000
    judged = Whole().barrel("B1", "85.195").barrel("B5", "85.120").judge()
    assert judged.rework.oversize_nm == 250_000
    assert bored(judged) == {"B2", "B3", "B4", "B5"}


def test_a_set_of_one_oversize_goes_to_the_next():
    """Engine of 0.25: 85.250; 85.370 is worn beyond 85.350; 85.430 of 85.500: 0.50."""
    whole = Whole(oversize=D("0.250"))
    for number in range(1, 5):
        whole.piston(f"P{number}", "85.165").barrel(f"B{number}", "85.260")
    judged = whole.barrel("B3", "85.370").judge()
    assert judged.rework.oversize_nm == 500_000
    assert bored(judged) == {"B1", "B2", "B3", "B4"}
    assert whole.barrel("B5", "85.260").judge().pairing.outcome is Outcome.MATCHED


def test_the_bored_barrels_give_each_bank_one_height():
    """Heights 2, 1, 2, 1 and a spare 1: B1 (2) can't be bored, its wall is thin; the spare is of
    the other height: three are left, no more than run now, so a barrel is bought."""
    left_out = ["rings", "pins", "mass", "head-seal"]
    whole = Whole(left_out).barrel("B2", "85.120").barrel("B1", "85.600")
    judged = whole.barrel("B5", height_group="1").judge()
    assert judged.pairing.outcome is Outcome.PROVISIONAL
    assert "cylinder 1: a barrel for P2, of kind iron-liner and height group 2" in said(judged)
    assert ("P1", "B5") in seated(judged)  # as good as P2 in it: none of the two has its own
    judged = whole.barrel("B6", height_group="2").judge()
    assert judged.pairing.outcome is Outcome.MATCHED


def test_a_spare_of_another_kind_is_no_help():
    """B2 worn; the spare is all-iron, the others have liners: the four go to 0.25."""
    judged = Whole().barrel("B2", "85.120").barrel("B5", kind="all-iron").judge()
    assert bored(judged) == {"B1", "B2", "B3", "B4"}


def test_barrels_stay_in_their_own_banks_where_heights_allow():
    """Heights 2, 1, 2, 1: left (1 and 3) has 2, right has 1."""
    judged = Whole(["rings", "pins", "mass", "head-seal"]).judge()
    assert [s.barrel for s in judged.pairing.seats] == ["B1", "B2", "B3", "B4"]
