"""Which ring lay in the groove when a leaf went in: groove and ring are two parts, both may wear.

The top ring's side clearance is 0.04 to 0.12 mm.
"""

from copy import deepcopy
from decimal import Decimal

import pytest

from barrelfit.rules.engine.form import FormError
from barrelfit.rules.engine.sheet import Sheet, sheet_from
from barrelfit.rules.judge import Outcome, SetJudgement
from barrelfit.rules.manner import told
from barrelfit.rules.model import Verdict
from tests.rules.shipped import shipped_table
from tests.rules.whole_set import FOUR, HOME, Whole, seated
from tests.spoken import text_of

D = Decimal
IN4, OUT4, IN1 = [True] * 4, [False] * 4, [True, False, False, False]
LEAST = {"leaf": D("0.04"), "went_in": IN4}


def leaf(thick: str, went_in: list[bool], beside: str = "") -> dict[str, object]:
    said = {"beside": beside} if beside else {}
    return {"leaf": D(thick), "went_in": went_in, **said}


def tried(*leaves: dict[str, object], widths: tuple[str, str] | None = None) -> Whole:
    """Four good pistons; the top ring of P1 as given, least leaf included."""
    whole = Whole(["pins", "mass", "height-groups", "head-seal"])
    for number in range(1, 5):
        whole.rings(f"P{number}", "85.010")
    top = whole.table["piston"][0]["ring"][0]
    del top["groove_width"], top["ring_width"]
    if widths is not None:
        top["groove_width"], top["ring_width"] = D(widths[0]), D(widths[1])
    top["feeler"] = [*leaves, LEAST]
    return whole


def with_new_width(width: str) -> Sheet:
    table = deepcopy(shipped_table("flat-four-85"))
    table["ring"][0]["width"] = D(width)
    return sheet_from(table, "sheet")


def of_p1(judged: SetJudgement) -> tuple[Verdict, set[str]]:
    ours = next(j for j in judged.parts if j.about == "P1")
    return ours.verdict, {f.code for f in ours.findings if f.code[0] == "R"}


@pytest.mark.parametrize("went_in", [IN4, IN1])
def test_a_leaf_beside_a_used_ring_asks_for_a_new_one(went_in):
    judged = tried(leaf("0.12", went_in, "used")).judge()
    assert of_p1(judged) == (Verdict.REWORK, {"R114"})
    ours = next(j for j in judged.parts if j.about == "P1")
    assert told(ours.todo).startswith("try a new ring first")
    assert judged.pairing.outcome is Outcome.AFTER_REWORK
    assert seated(judged) == HOME


@pytest.mark.parametrize(("beside", "hint"), [("new", False), ("", True)])
def test_a_leaf_beside_a_new_ring_as_is_asked_discards_the_piston(beside, hint):
    judged = tried(leaf("0.12", IN1, beside)).judge()
    assert of_p1(judged) == (Verdict.DISCARD, {"R101"})
    ours = next(j for j in judged.parts if j.about == "P1")
    assert ("if a used ring lay in it, try a new one first" in told(ours.todo)) is hint


def test_the_used_ring_fails_and_the_new_one_does_not():
    judged = tried(leaf("0.12", IN4, "used"), leaf("0.12", OUT4, "new")).judge()
    assert of_p1(judged) == (Verdict.REWORK, {"R114"})


def test_both_rings_fail():
    judged = tried(leaf("0.12", IN4, "used"), leaf("0.12", IN1, "new")).judge()
    assert of_p1(judged) == (Verdict.DISCARD, {"R101", "R114"})


def test_a_leaf_that_stays_out_beside_a_used_ring_but_not_beside_a_new_one_is_a_question():
    """A used ring is no thicker than a new one."""
    judged = tried(leaf("0.12", OUT4, "used"), leaf("0.12", IN4, "new")).judge()
    assert of_p1(judged) == (Verdict.UNDECIDED, {"R111"})


@pytest.mark.parametrize("beside", ["", "used"])
def test_a_ring_known_to_be_thin_takes_the_blame_for_a_leaf(beside):
    """1.560 less 1.441 is 0.119, too near 0.120 to tell; a new ring of 1.490 leaves 0.070."""
    whole = tried(leaf("0.12", IN1, beside), widths=("1.560", "1.441"))
    verdict, codes = of_p1(whole.judge(with_new_width("1.490")))
    assert verdict is Verdict.REWORK
    assert "R114" in codes
    assert "R101" not in codes


def test_a_new_ring_beside_which_the_leaf_goes_in_tells_more_than_a_thin_one():
    """1.560 less 1.430 is 0.130: the ring is thin. The groove is worn in one place as well."""
    thin = ("1.560", "1.430")
    verdict, codes = of_p1(tried(leaf("0.12", IN1, "new"), widths=thin).judge())
    assert verdict is Verdict.DISCARD
    assert {"R101", "R110"} <= codes
    verdict, codes = of_p1(tried(leaf("0.12", IN1), widths=thin).judge())
    assert verdict is Verdict.REWORK
    assert "R101" not in codes


def test_leaves_beside_a_new_ring_are_held_against_its_width_not_the_used_ones():
    """By the widths 0.145, and the leaf of 0.12 stays out beside the new ring: 1.560 - 1.490."""
    whole = tried(leaf("0.12", OUT4, "new"), widths=("1.560", "1.415"))
    for sheet in (FOUR, with_new_width("1.490")):
        assert of_p1(whole.judge(sheet)) == (Verdict.REWORK, {"R110"})
    verdict, codes = of_p1(whole.judge(with_new_width("1.420")))  # 0.140 and 0.12 stays out
    assert (verdict, codes) == (Verdict.UNDECIDED, {"R112"})


def test_another_word_for_the_ring_is_refused():
    with pytest.raises(FormError) as refused:
        tried(leaf("0.12", IN1, "old")).judge()
    assert "one of: new, used" in text_of(refused.value)


@pytest.mark.parametrize(("width", "wide"), [("1.490", False), ("1.492", False), ("1.530", True)])
def test_a_ring_wider_than_a_new_one_is_a_question(width, wide):
    """New 1.490, measured to 2 µm: a guard band of 3.3 µm. 1.600 less 1.530 would be 0.070."""
    groove = str(D(width) + D("0.07"))
    judged = tried(widths=(groove, width)).judge(with_new_width("1.490"))
    verdict, codes = of_p1(judged)
    assert verdict is (Verdict.UNDECIDED if wide else Verdict.SERVICEABLE)
    assert ("R115" in codes) is wide
    assert ("P1/ring" in {str(p.at) for p in judged.to_measure}) is wide


@pytest.mark.parametrize(
    ("groove", "verdict", "code"),
    [
        ("1.560", Verdict.SERVICEABLE, ""),  # a new ring of 1.490 leaves 0.070
        ("1.609", Verdict.UNDECIDED, "R104"),  # 0.119 of 0.120
        ("1.620", Verdict.DISCARD, "R104"),  # 0.130
        ("1.520", Verdict.UNDECIDED, "R105"),  # 0.030 of 0.040
    ],
)
def test_a_groove_is_judged_alone_where_a_new_rings_width_is_known(groove, verdict, code):
    whole = tried()
    top = whole.table["piston"][0]["ring"][0]
    del top["feeler"]
    top["groove_width"] = D(groove)
    judged = whole.judge(with_new_width("1.490"))
    assert of_p1(judged) == (verdict, {code} if code else set())
    if verdict is Verdict.SERVICEABLE:
        assert judged.to_measure == ()
    with pytest.raises(FormError) as refused:
        whole.judge()
    assert "groove_width and ring_width together" in text_of(refused.value)
