"""Closed gaps where the piston comes to run, each answer worked by hand first.

A bore larger by D opens a gap by pi D. Gaps of the top ring: 0.300 to 0.900 mm. The sets are those
of `tests.rules.whole_set`: bores 85.010, rings measured in a bore of 85.010 unless said otherwise.
"""

from decimal import Decimal

import pytest

from barrelfit.rules.judge import Outcome
from barrelfit.rules.manner import told_all
from barrelfit.rules.model import Verdict
from tests.rules.whole_set import HOME, Whole, seated

D = Decimal
RINGED = ["pins", "mass", "height-groups", "head-seal"]
MM_AND_INCH = pytest.mark.parametrize("unit", ["mm", "inch"])


def ringed(bore: str | None = "85.010", **pistons: str) -> Whole:
    """Four good pairs with rings; a piston may have its own gap of the top ring."""
    whole = Whole(RINGED)
    for number in range(1, 5):
        whole.rings(f"P{number}", bore, top=pistons.get(f"P{number}", "0.450"))
    return whole


def codes(judged, about: str) -> set[str]:
    return {f.code for j in judged.pairs if j.about == about for f in j.findings}


def said(judged) -> str:
    return "\n".join(told_all(judged.pairing.sentences))


@MM_AND_INCH
def test_gaps_measured_in_a_known_bore_are_matched(unit):
    judged = ringed().judge(unit=unit)
    assert judged.pairing.outcome is Outcome.MATCHED
    assert {j.verdict for j in judged.pairs} == {Verdict.SERVICEABLE}
    assert judged.to_measure == ()


@MM_AND_INCH
def test_a_gap_without_its_bore_leaves_the_pair_undecided_and_the_plan_asks_for_it(unit):
    judged = ringed(None).judge(unit=unit)
    assert judged.pairing.outcome is Outcome.PROVISIONAL
    assert {j.verdict for j in judged.pairs} == {Verdict.UNDECIDED}
    assert codes(judged, "P1+B1") >= {"C108"}
    asked = [str(p.at) for p in judged.to_measure]
    assert asked == [f"P{n}/gap-bore/{r}" for n in range(1, 5) for r in ("top", "second", "oil")]


def test_a_depth_of_its_own_barrel_stands_for_the_bore():
    """B1 is 85.060 at the top alone (within a taper of 0.040: 85.025 below). A gap of 0.400 at the
    top is 0.400 - pi x 0.035 = 0.290 at the bottom: below 0.300. Measured at the bottom: good."""
    for depth, outcome in (("top", Outcome.AFTER_REWORK), ("bottom", Outcome.MATCHED)):
        whole = ringed().barrel("B1", {"all": "85.025", "top": "85.060"})
        for ring in whole.rings("P1", None, top="0.400").table["piston"][0]["ring"]:
            ring["gap_depth"] = depth
        judged = whole.judge()
        assert judged.pairing.outcome is outcome
        assert ("C106" in codes(judged, "P1+B1")) is (depth == "top")
        assert judged.to_measure == ()


@MM_AND_INCH
def test_a_ring_that_would_butt_in_another_barrel_is_no_match(unit):
    """P1's 0.320 was measured in 85.065; in 85.010 it is 0.320 - pi x 0.055 = 0.147 of 0.300."""
    whole = ringed().rings("P1", "85.065", top="0.320", second="0.600", oil="0.600")
    judged = whole.judge(unit=unit)
    assert judged.pairing.outcome is Outcome.AFTER_REWORK
    assert "C106" in codes(judged, "P1+B1")
    assert next(j for j in judged.pairs if j.about == "P1+B1").verdict is Verdict.REWORK
    assert "closed gap in this bore 0.14" in said(judged)


def test_a_piston_goes_where_its_rings_have_their_gaps():
    """The bore of 0.320 is now B2's: P1 in B2 keeps its gap, P2 (0.500) in B1 has 0.327."""
    whole = ringed().rings("P1", "85.065", top="0.320", second="0.600", oil="0.600")
    whole.barrel("B2", "85.065").rings("P2", "85.065", top="0.500", second="0.600", oil="0.600")
    judged = whole.judge()
    assert judged.pairing.outcome is Outcome.MATCHED
    assert ("P1", "B2") in seated(judged)


def test_a_gap_too_near_its_limit_in_this_barrel_is_provisional():
    """0.302 where it is measured: u 2 µm of the feeler and pi x 1.4 µm of two bores: undecided."""
    whole = ringed(P1="0.305")
    judged = whole.judge()
    assert judged.pairing.outcome is Outcome.PROVISIONAL
    assert "too near to tell" in said(judged)


def test_honing_tells_what_it_does_to_the_gaps():
    """B2 tapered 85.060 at the top: honed to 85.080. A gap of 0.750 in 85.010 comes to
    0.750 + pi x 0.070 = 0.970 of 0.900; 0.450 comes to 0.670: nothing to tell."""
    for gap, told in (("0.750", True), ("0.450", False)):
        whole = ringed(P2=gap).barrel("B2", {"top": "85.060"})
        for number in (1, 3, 4):  # the others are far too tight for any other barrel
            whole.piston(f"P{number}")
        judged = whole.judge()
        assert judged.pairing.outcome is Outcome.AFTER_REWORK
        assert "B2 honed to 85.080 mm" in said(judged)
        seat = next(s for s in judged.pairing.seats if s.barrel == "B2")
        assert ("above the limit 0.900" in said(judged)) is (told and seat.piston == "P2")


def test_a_piston_whose_gaps_open_too_far_in_the_honed_bore_goes_elsewhere():
    """P2's 0.750 would come to 0.970 in the honed B2; any other piston's comes to 0.670."""
    judged = ringed(P2="0.750").barrel("B2", {"top": "85.060"}).judge()
    assert judged.pairing.outcome is Outcome.AFTER_REWORK
    assert ("P2", "B2") not in seated(judged)
    assert "above the limit" not in said(judged)


def test_honing_to_a_clearance_tells_what_it_does_to_the_gaps():
    """P1 is stamped 0.120; 0.095 + 0.028 by honing B1. Its gap of 0.820 opens by 0.088 to 0.908."""
    whole = ringed(P1="0.820").piston("P1", clearance_stamp=D("0.120"))
    mend = whole.judge().pairing.trouble.mend
    assert told_all(mend.steps)[0].startswith("hone B1 by 0.028 mm for P1; in the honed bore")
    assert "top ring: closed gap in this bore 0.908" in told_all(mend.steps)[0]
    whole = ringed(P1="0.500").piston("P1", clearance_stamp=D("0.120"))
    assert told_all(whole.judge().pairing.trouble.mend.steps) == ("hone B1 by 0.028 mm for P1",)


def test_a_ring_to_be_renewed_is_work_before_the_match():
    """0.950 where it was measured: renew the ring; the pairs stand as they are."""
    judged = ringed(P3="0.950").judge()
    assert judged.pairing.outcome is Outcome.AFTER_REWORK
    assert seated(judged) == HOME
    assert said(judged).startswith("rework first: P3")
    assert len(judged.pairs) == 4


def test_honing_its_own_barrel_opens_a_gap_that_was_measured_at_a_depth_of_it():
    """B2 is 85.060 at the top, 85.010 below; it is honed to 85.080. P2's gap of
    0.720 at the bottom comes to 0.720 + pi x 0.070 = 0.940 of 0.900. No other piston and no other
    barrel is left."""
    whole = ringed().barrel("B2", {"top": "85.060"})
    for ring in whole.rings("P2", None, top="0.720").table["piston"][1]["ring"]:
        ring["gap_depth"] = "bottom"
    for number in (1, 3, 4):
        whole.piston(f"P{number}", looked=["cracked"])
        whole.barrel(f"B{number}", looked=["cracked"])
    judged = whole.judge()
    assert ("P2", "B2") in seated(judged)
    assert "0.9399" in said(judged)
    assert "above the limit 0.900" in said(judged)
