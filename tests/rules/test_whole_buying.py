"""What is to be bought for sets that lack parts: only what surely fits, worked by hand first.

The sets are those of `tests.rules.whole_set`. New pairs of the sheet have 0.060 (early).
"""

from decimal import Decimal

from barrelfit.rules.judge import Outcome
from barrelfit.rules.manner import told_all
from tests.rules.whole_set import FOUR, Whole, sheet_with

D = Decimal


def said(judged) -> str:
    return "\n".join(told_all(judged.pairing.sentences))


def bought(whole: Whole, **sheet) -> str:
    judged = whole.judge(sheet_with(**sheet) if sheet else FOUR)
    assert judged.pairing.outcome is Outcome.PROVISIONAL
    return said(judged)


def test_the_piston_to_buy_is_the_one_nearest_to_a_new_pair():
    """Bore 85.010: I 0.080, II 0.070, III 0.060; a new pair has 0.060: III first, late never."""
    text = bought(Whole().piston("P4", looked=["cracked"]))
    assert "cylinder 4: a piston for B4, one of, best first: variant early, group III" in text
    assert text.index("group III") < text.index("group II (") < text.index("group I (")
    assert "late" not in text


def test_the_piston_to_buy_is_of_the_sets_oversize():
    """Bores 85.260 of oversize 0.25 (85.250): III 85.200 gives 0.060."""
    whole = Whole(oversize=D("0.250"))
    for number in range(1, 5):
        whole.piston(f"P{number}", "85.165").barrel(f"B{number}", "85.260")
    text = bought(whole.piston("P4", "85.165", looked=["cracked"]))
    assert "variant early, group III, oversize 0.250 mm (85.200 mm)" in text


def test_the_piston_to_buy_keeps_the_variants_own_least_clearance():
    """Late 84.945 and 84.955; bore 84.996: 0.051 and 0.041. Late has 0.040: 0.041 is too near to it
    (1.65 µm), so II is not offered; I is."""
    whole = Whole(variant="late")
    for number in range(1, 5):
        whole.piston(f"P{number}", "84.935").barrel(f"B{number}", "84.996")
    text = bought(whole.piston("P4", looked=["cracked"]))
    assert "variant late, group I (84.945 mm)" in text
    assert "group II" not in text
    """With a bore of 84.9975 II has 0.0425 of 0.040, more than the sheet's 0.045 would allow."""
    for number in range(1, 5):
        whole.barrel(f"B{number}", "84.9975")
    assert "variant late, group II (84.955 mm)" in bought(whole)


def test_the_piston_to_buy_keeps_a_signed_least_clearance_for_the_engine():
    """Signed 0.075: I 0.080 alone. What was stamped or signed for a lost piston says nothing."""
    signed = {"quantity": "clearance.min", "value": D("0.075"), "signed_by": "L", "why": "w"}
    whole = Whole(override=[signed]).piston("P4", looked=["cracked"])
    text = bought(whole)
    assert "a piston for B4, variant early, group I (84.930 mm), clearance 0.080 mm" in text
    whole = Whole(override=[{**signed, "part": "P4"}])
    whole.piston("P4", looked=["cracked"], clearance_stamp=D("0.075"))
    assert "best first: variant early, group III" in bought(whole)


def test_nothing_is_chosen_for_a_bore_in_doubt():
    """B4 is smaller than any new bore (84.988): its size is in doubt; nor where nothing fits."""
    whole = Whole().piston("P4", looked=["cracked"])
    text = bought(whole.barrel("B4", "84.980"))
    assert "a piston for B4, to be chosen when B4 is decided" in text
    text = bought(Whole().piston("P4", looked=["cracked"]), clearance={"min": D("0.083")})
    assert "no size of the sheet surely fits" in text


def test_the_barrel_to_buy_has_its_kind_height_and_the_pistons_mass_its_range():
    whole = Whole(["rings", "pins", "head-seal"]).barrel("B4", looked=["cracked"], height_group="1")
    text = bought(whole)
    assert "a barrel for P4, of kind iron-liner and height group 1, one of, best first" in text
    whole = Whole(["rings", "pins", "head-seal"]).piston("P4", looked=["cracked"])
    whole.piston("P1", mass_g=510)
    assert "; of 506 g to 516 g" in bought(whole)


def test_the_barrel_to_buy_surely_fits_its_piston():
    """P4 84.915: I 0.075, II 0.085, III 0.095, a new pair has 0.060: I first. Stamped 0.080, I is
    too tight; stamped 0.120 none fits; larger than new, its size must be settled first."""
    whole = Whole().barrel("B4", looked=["cracked"])
    text = bought(whole)
    assert "best first: variant early, group I (84.990 mm), clearance 0.075 mm" in text
    text = bought(whole.piston("P4", clearance_stamp=D("0.080")))
    assert "group I (" not in text
    assert "best first: variant early, group II (85.000 mm)" in text
    text = bought(whole.piston("P4", clearance_stamp=D("0.120")))
    assert "a barrel for P4, of kind iron-liner, but no size of the sheet surely fits" in text
    text = bought(whole.piston("P4", "84.960", clearance_stamp=None))
    assert "to be chosen when P4 is decided" in text


def test_no_piston_is_chosen_for_a_bore_whose_size_after_its_rework_nobody_knows():
    judged = Whole().barrel("B1", looked=["scored-bore"]).piston("P1", looked=["cracked"]).judge()
    assert judged.pairing.outcome is Outcome.AFTER_REWORK
    assert "a piston for B1, to be chosen when B1 is decided" in said(judged)


def test_an_impossible_set_says_what_is_to_be_bought_in_any_case():
    """P2 is lost; of the others P1 is 18 g too heavy: one piston more, and another for P1."""
    whole = Whole(["rings", "pins", "head-seal"]).piston("P1", mass_g=530)
    judged = whole.piston("P2", looked=["cracked"]).judge()
    assert judged.pairing.outcome is Outcome.IMPOSSIBLE
    assert "1 piston to buy in any case" in said(judged)
