"""Mends of whole sets: what is proposed, what is left out, and why; worked by hand first."""

from decimal import Decimal

import pytest

from barrelfit.rules.judge import Outcome
from barrelfit.rules.judge.rework import ReworkPlan
from barrelfit.rules.manner import told, told_all
from barrelfit.rules.model import Verdict
from tests.rules.whole_set import FOUR, Whole, sheet_with

D = Decimal
WEIGHED = ["rings", "pins", "height-groups", "head-seal"]
MM_AND_INCH = pytest.mark.parametrize("unit", ["mm", "inch"])


def steps(judged) -> tuple[str, ...]:
    trouble = judged.pairing.trouble
    assert judged.pairing.outcome is Outcome.IMPOSSIBLE
    return () if trouble.mend is None else told_all(trouble.mend.steps)


def works(judged) -> dict[str, tuple[ReworkPlan, int | None]]:
    return {r.part: (r.work, r.to_nm) for r in judged.rework.remedies}


def part(judged, name):
    return next(j for j in judged.parts if j.about == name)


# ---------------------------------------------------------------- nothing rests on a doubt


@MM_AND_INCH
@pytest.mark.parametrize("skirt", ["84.975", "85.005", "85.030", "85.040"])
def test_no_bore_is_honed_for_a_piston_whose_size_is_in_doubt(skirt, unit):
    """A used skirt larger than new (84.950 at most): a wrong stamp, gauge or temperature."""
    judged = Whole().piston("P1", skirt).judge(unit=unit)
    assert part(judged, "P1").verdict is Verdict.UNDECIDED
    assert steps(judged) == ("settle first what is undecided about P1",)


def test_no_piston_is_chosen_for_a_bore_in_doubt():
    """B1 84.975 is smaller than any new bore: 84.975 - 84.935 = 0.040 is short, but of what?"""
    whole = Whole().barrel("B1", "84.975")
    for number in range(1, 5):
        whole.piston(f"P{number}", "84.935")
    assert steps(whole.judge()) == ("settle first what is undecided about B1",)


def test_no_aim_is_told_from_a_bore_that_is_not_measured_everywhere():
    """B2 is tapered by 0.050 so far; what the missing place holds nobody knows."""
    judged = Whole().barrel("B2", {"top": "85.060", "middle/pin": None}).judge()
    assert "Q104" in {f.code for f in part(judged, "B2").findings}
    assert judged.rework.remedies == ()
    assert judged.pairing.outcome is Outcome.WAITING


def test_no_aim_is_told_for_a_bore_whose_size_is_in_doubt():
    """B2 is 85.040 at the top, and 84.970 at the bottom: smaller than new, if it is true."""
    judged = Whole().barrel("B2", {"top": "85.040", "bottom": "84.970"}).judge()
    codes = {f.code for f in part(judged, "B2").findings}
    assert codes >= {"B102", "B103", "Q104"}
    assert judged.rework.remedies == ()
    assert part(judged, "B2").verdict is Verdict.UNDECIDED  # the taper of 0.070 rests on 84.970
    assert judged.pairing.outcome is Outcome.WAITING


@pytest.mark.parametrize("bore", ["85.010", "85.060", "85.120"])
def test_a_scored_bore_is_given_no_size_to_hone_to(bore):
    """How deep the score is nobody measured: no bore size can be aimed at."""
    judged = Whole().barrel("B2", bore, looked=["scored-bore"]).judge()
    findings = {f.code: f for f in part(judged, "B2").findings}
    assert part(judged, "B2").verdict is Verdict.REWORK
    assert "Q101" not in findings
    assert "how deep the score is" in told(findings["Q104"].sentence)
    assert "B2" not in works(judged)
    assert judged.pairing.outcome is Outcome.AFTER_REWORK
    assert "pair when B2 has been reworked" in told_all(judged.pairing.sentences)[0]


# ---------------------------------------------------------------- limits of work


@MM_AND_INCH
@pytest.mark.parametrize(
    ("top", "work", "to"),
    [
        ("85.077", ReworkPlan.HONE, 85_097_000),
        ("85.078", ReworkPlan.HONE, 85_098_000),  # 85.098 + guard band 0.00165 is within 85.100
        ("85.079", ReworkPlan.OVERSIZE, 85_250_000),  # 85.099 + 0.00165 is not
        ("85.080", ReworkPlan.OVERSIZE, 85_250_000),  # on the limit itself
        ("85.081", ReworkPlan.OVERSIZE, 85_250_000),
    ],
)
def test_honing_aims_inside_the_limit_by_the_guard_band(top, work, to, unit):
    """Tapered: 85.010 below. Honing true takes 0.020 off the diameter at the largest place."""
    judged = Whole().barrel("B2", {"top": top}).judge(unit=unit)
    got_work, got_nm = works(judged)["B2"]
    assert got_work is work
    assert abs(got_nm - to) < 400


@pytest.mark.parametrize(
    ("most", "work"), [("0.070", ReworkPlan.HONE), ("0.069", ReworkPlan.OVERSIZE)]
)
def test_honing_takes_no_more_stock_than_is_stated(most, work):
    """From 85.010 at the bottom to 85.060 + 0.020 = 85.080: 0.070 comes off there."""
    sheet = sheet_with(rework={"honing_max": D(most)})
    judged = Whole().barrel("B2", {"top": "85.060"}).judge(sheet)
    assert works(judged)["B2"][0] is work


@pytest.mark.parametrize(
    ("most", "step"),
    [
        (None, "hone B1 by 0.028 mm for P1"),
        ("0.028", "hone B1 by 0.028 mm for P1"),
        ("0.027", "another piston for B1: variant early, group III"),
    ],
)
def test_honing_for_a_clearance_keeps_to_the_stated_stock(most, step):
    """P1 is stamped 0.120 and has 0.095: short by 0.025, with the guard band 0.0021: 0.028."""
    sheet = FOUR if most is None else sheet_with(rework={"honing_max": D(most)})
    judged = Whole().piston("P1", clearance_stamp=D("0.120")).judge(sheet)
    assert steps(judged)[0].startswith(step)


def test_honing_for_a_clearance_stays_within_wear_and_clearance():
    """Stamped 0.190: 0.095 + 0.098 = 0.193 is above 0.180; stamped 0.175 comes too near to it."""
    for stamp in ("0.178", "0.190"):
        judged = Whole().piston("P1", clearance_stamp=D(stamp)).judge()
        assert not any("hone" in s for s in steps(judged))


@pytest.mark.parametrize(("stamp", "hone"), [("0.125", True), ("0.135", False)])
def test_honing_for_a_clearance_stays_within_the_bores_wear(stamp, hone):
    """P1 84.935 in 85.055 to 85.090: 0.120. For 0.125 0.008 more: 85.098; for 0.135: 85.108."""
    whole = Whole().piston("P1", "84.935", clearance_stamp=D(stamp))
    for number in range(1, 5):
        whole.barrel(f"B{number}", {"all": "85.055", "top": "85.090"})
    assert steps(whole.judge())[0].startswith("hone B1 by 0.008 mm for P1") is hone


def test_masses_are_brought_together_the_wise_way():
    """512 four times, P1 446: 66 g off three good pistons is no mend; one other piston is."""
    judged = Whole(WEIGHED).piston("P1", mass_g=446).judge()
    assert steps(judged) == ("another piston for P1, of 506 g to 518 g",)
    judged = Whole(WEIGHED).piston("P1", mass_g=520).judge()  # 6 g are allowed: 2 g too heavy
    assert steps(judged) == ("take 2 g off P1",)
    judged = Whole(WEIGHED).piston("P1", mass_g=525).judge()  # 7 g: more than the sheet's 6 g
    assert steps(judged) == ("another piston for P1, of 506 g to 518 g",)


@pytest.mark.parametrize(("most", "step"), [("3.5", "take 3.5 g off P1"), ("3", "another piston")])
def test_no_more_mass_comes_off_a_piston_than_is_stated(most, step):
    sheet = sheet_with(piston={"mass_off_max_g": D(most)})
    judged = Whole(WEIGHED).piston("P1", mass_g=D("521.5")).judge(sheet)
    assert steps(judged)[0].startswith(step)


def test_a_mixed_oversize_is_mended_by_boring_when_that_is_cheapest():
    """B4 is at 0.25 already and sound; P4 is lost anyway. Boring is set to 1 here."""
    sheet = sheet_with(cost={"oversize": 1})
    whole = Whole().barrel("B4", "85.260", size_stamp=D("85.250"))
    assert steps(whole.judge(sheet)) == (
        "bore the whole set to oversize 0.250 mm, with new pistons and rings",
    )
