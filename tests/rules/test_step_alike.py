"""What is in the hand: a part that may be the one before it is asked about once, at the end."""

from barrelfit.acquire.redo.other_version import Steered
from barrelfit.rules.events import (
    Asked,
    EntryMade,
    Judged,
    PedalPressed,
    Sized,
    TakenBack,
    TwoPartsAsked,
    TwoPartsSettled,
    Wanted,
)
from barrelfit.rules.manner import told
from barrelfit.rules.model import FeatureId
from barrelfit.rules.telling import TellingChanged
from tests.rules.step_rig import GOOD_MM, P1, P2, P3, WHO, Hand, gone_once

P4 = FeatureId("P4", "skirt")


@gone_once
def pistons(*sizes_mm: float) -> Hand:
    """The pistons swept one after another."""
    if not sizes_mm:
        return Hand(5, set_to_nm=300.0)
    hand = pistons(*sizes_mm[:-1])
    hand.size(sizes_mm[-1])
    return hand


def asked(hand: Hand) -> Asked:
    return hand.of(Asked)[-1]


def verdict(hand: Hand, part: str) -> str:
    return hand.bench.judged[part].verdict.value


def repeated() -> Hand:
    """P3 is put in again in place of P4; nobody presses anything yet."""
    return pistons(GOOD_MM, GOOD_MM + 0.012, GOOD_MM - 0.01, GOOD_MM - 0.01)


def test_a_part_put_in_again_is_asked_about_when_its_kind_is_measured():
    hand = repeated()
    (question,) = hand.of(TwoPartsAsked)
    (pair,) = question.pairs
    assert (pair.earlier, pair.later) == ("P3", "P4")
    assert pair.apart_nm <= pair.doubt_nm
    assert asked(hand).at == P3
    assert "two parts? Press next; or" in told(asked(hand).sentence)
    assert verdict(hand, "P3") == verdict(hand, "P4") == "undecided"
    assert verdict(hand, "P1") == "serviceable"


def press(hand: Hand, action: str = "next", after_s: float = 2.0) -> tuple:
    """A press, once what stands there is read."""
    hand.rest(after_s)
    return hand.feed(PedalPressed(hand.now_ns(), action))


def test_two_presses_settle_all_of_them():
    hand = pistons(GOOD_MM, GOOD_MM, GOOD_MM, GOOD_MM + 0.02)
    (question,) = hand.of(TwoPartsAsked)
    assert [(p.earlier, p.later) for p in question.pairs] == [("P1", "P2"), ("P2", "P3")]
    press(hand)
    assert not hand.of(TwoPartsSettled)
    assert told(asked(hand).sentence).startswith("P1, P2, P3: different parts? Press")
    press(hand)
    assert hand.of(TwoPartsSettled) == [TwoPartsSettled("skirt", "pressed")]
    assert asked(hand).at.feature == "bore"
    assert {verdict(hand, f"P{n}") for n in (1, 2, 3, 4)} == {"serviceable"}
    assert len(hand.of(TwoPartsAsked)) == 1


def test_no_takes_their_sizes_back_and_measures_them_again():
    hand = repeated()
    hand.feed(PedalPressed(hand.now_ns(), "again"))
    assert hand.of(TakenBack) == [TakenBack(P3), TakenBack(P4)]
    assert asked(hand).at == P3
    assert P4 not in hand.bench.sizes
    hand.size(GOOD_MM - 0.01)
    hand.size(GOOD_MM + 0.005)
    assert len(hand.of(TwoPartsAsked)) == 1
    assert asked(hand).at.feature == "bore"
    assert verdict(hand, "P4") == "serviceable"


def test_no_answer_measures_them_again_and_what_was_of_another_part_is_gone():
    """The true P4 is worn: it was never measured, and must not pass."""
    hand = repeated()
    hand.size(GOOD_MM - 0.01)
    assert asked(hand).at == P4
    assert verdict(hand, "P4") == "undecided"
    hand.size(GOOD_MM - 0.075)
    hand.size(GOOD_MM - 0.075)
    assert verdict(hand, "P4") == "discard"
    assert verdict(hand, "P3") == "serviceable"
    assert hand.of(TwoPartsSettled) == [TwoPartsSettled("skirt", "measured")]
    assert asked(hand).at.feature == "bore"


def test_one_part_put_in_for_both_once_more_settles_nothing_and_is_asked_again():
    """The true P4 is worn. Nobody answers, and P3 is put in for P4 a second time."""
    hand = repeated()
    hand.size(GOOD_MM - 0.01)
    hand.size(GOOD_MM - 0.01)
    assert not hand.of(TwoPartsSettled)
    assert len(hand.of(TwoPartsAsked)) == 2
    assert verdict(hand, "P3") == verdict(hand, "P4") == "undecided"
    assert asked(hand).at == P3
    hand.size(GOOD_MM - 0.01)
    hand.size(GOOD_MM - 0.075)
    hand.size(GOOD_MM - 0.075)
    assert verdict(hand, "P4") == "discard"
    assert verdict(hand, "P3") == "serviceable"
    assert hand.of(TwoPartsSettled) == [TwoPartsSettled("skirt", "measured")]


def test_the_part_measured_last_put_in_once_more_for_another_is_asked_about():
    """P1 is worn, and P2 was put in for it; once more it is P4 that is put in for P1."""
    hand = pistons(GOOD_MM, GOOD_MM, GOOD_MM - 0.01, GOOD_MM + 0.015)
    assert asked(hand).at == P1
    hand.size(GOOD_MM + 0.015)
    hand.size(GOOD_MM)
    assert [[(p.earlier, p.later) for p in q.pairs] for q in hand.of(TwoPartsAsked)] == [
        [("P1", "P2")],
        [("P4", "P1")],
    ]
    assert verdict(hand, "P1") == verdict(hand, "P4") == "undecided"
    assert verdict(hand, "P2") == "serviceable"
    assert asked(hand).at == P1
    hand.size(84.845)
    hand.size(84.845)
    assert verdict(hand, "P1") == "discard"
    hand.size(GOOD_MM + 0.015)
    assert verdict(hand, "P4") == "serviceable"
    assert asked(hand).at.feature == "bore"


def test_two_parts_that_agree_once_more_are_two_when_somebody_says_so():
    hand = repeated()
    hand.size(GOOD_MM - 0.01)
    hand.size(GOOD_MM - 0.01)
    press(hand)
    press(hand, after_s=2.0)
    assert hand.of(TwoPartsSettled) == [TwoPartsSettled("skirt", "pressed")]
    assert verdict(hand, "P4") == "serviceable"
    assert asked(hand).at.feature == "bore"


def test_one_press_that_was_a_slip_settles_nothing():
    """The true P4 is worn. The foot slips as the question comes; the hand goes on measuring."""
    hand = repeated()
    press(hand)
    assert not hand.of(TwoPartsSettled)
    assert asked(hand).at == P3
    assert verdict(hand, "P3") == verdict(hand, "P4") == "undecided"
    hand.size(GOOD_MM - 0.01)
    assert asked(hand).at == P4
    assert told(asked(hand).sentence).startswith("P3 and P4 agree to")
    hand.size(GOOD_MM - 0.075)
    hand.size(GOOD_MM - 0.075)
    assert verdict(hand, "P4") == "discard"
    assert hand.of(TwoPartsSettled) == [TwoPartsSettled("skirt", "measured")]


def test_a_slip_while_they_are_measured_once_more_settles_nothing():
    hand = repeated()
    hand.size(GOOD_MM - 0.01)
    press(hand)
    assert asked(hand).at == P4
    assert verdict(hand, "P4") == "undecided"
    hand.size(GOOD_MM - 0.075)
    hand.size(GOOD_MM - 0.075)
    assert verdict(hand, "P4") == "discard"
    assert hand.of(TwoPartsSettled) == [TwoPartsSettled("skirt", "measured")]


def test_a_second_press_that_comes_at_once_is_no_yes():
    hand = repeated()
    press(hand)
    (refused,) = press(hand, after_s=1.0)
    assert refused.reason == "too-soon"
    assert not hand.of(TwoPartsSettled)
    press(hand)
    assert hand.of(TwoPartsSettled) == [TwoPartsSettled("skirt", "pressed")]


def test_a_press_once_the_hand_goes_on_measuring_is_a_first_one_again():
    """It slipped before, and now again: what it was asked is not what it does."""
    hand = repeated()
    press(hand)
    hand.rest(4.0)
    hand.sweep(GOOD_MM - 0.01, 2)
    hand.feed(PedalPressed(hand.now_ns(), "next"))
    assert not hand.of(TwoPartsSettled)
    assert verdict(hand, "P4") == "undecided"
    press(hand)
    assert hand.of(TwoPartsSettled) == [TwoPartsSettled("skirt", "pressed")]


def test_a_press_while_the_last_part_is_still_swept_is_a_first_one_again():
    """The foot slips twice as the hand goes on over the part that it has in the gauge."""
    hand = repeated()
    for _ in range(2):
        hand.sweep(GOOD_MM - 0.01, 2)
        hand.feed(PedalPressed(hand.now_ns(), "next"))
    assert told(asked(hand).sentence).startswith("P3, P4: different parts? Press")
    assert not hand.of(TwoPartsSettled)
    assert verdict(hand, "P4") == "undecided"
    press(hand)
    assert hand.of(TwoPartsSettled) == [TwoPartsSettled("skirt", "pressed")]


def test_a_no_after_the_first_press_is_a_no():
    hand = repeated()
    press(hand)
    press(hand, "again")
    assert hand.of(TakenBack) == [TakenBack(P3), TakenBack(P4)]
    assert hand.of(TwoPartsSettled) == [TwoPartsSettled("skirt", "denied")]


def test_what_is_told_of_a_part_meanwhile_asks_the_question_anew():
    hand = repeated()
    press(hand)
    hand.feed(EntryMade(hand.now_ns(), FeatureId("P1", "skirt"), "84.92", "mm", WHO, why="scratch"))
    assert told(asked(hand).sentence).startswith("P3 and P4 agree to")
    press(hand)
    assert not hand.of(TwoPartsSettled)


def test_an_undo_of_one_of_them_takes_the_doubt_with_it():
    hand = pistons(GOOD_MM, GOOD_MM)
    assert verdict(hand, "P1") == "undecided"
    hand.feed(PedalPressed(hand.now_ns(), "undo"))
    assert verdict(hand, "P1") == "serviceable"
    hand.size(GOOD_MM - 0.02)
    assert verdict(hand, "P2") == "serviceable"
    assert not hand.bench.alike


def test_the_second_sweep_of_a_discard_is_no_same_part():
    hand = pistons(84.845, 84.845)
    assert verdict(hand, "P1") == "discard"
    assert not hand.bench.alike


def test_a_second_sweep_that_does_not_agree_with_the_first_is_compared_anew():
    """P2's first sweep is of a gauge that was off; P2 is put in again for P3, unlike that.

    Only its second sweep shows that they may be one, and that the true P3 was never measured.
    """
    hand = pistons(GOOD_MM + 0.012, GOOD_MM + 0.6, GOOD_MM, GOOD_MM - 0.01)
    assert not hand.bench.alike
    for number in range(24):
        hand.feed(EntryMade(number, asked(hand).at, "85.010", "mm", WHO))
    assert asked(hand).at == P2
    assert verdict(hand, "P3") == "serviceable"
    hand.size(GOOD_MM)
    (question,) = hand.of(TwoPartsAsked)
    assert [(p.earlier, p.later) for p in question.pairs] == [("P2", "P3")]
    assert verdict(hand, "P3") == "undecided"


@gone_once
def at_put_off(third_mm: float = GOOD_MM) -> Hand:
    """P2's gauge was off, and P2 is put in again for P3; P2's second sweep is put off."""
    hand = pistons(GOOD_MM + 0.012, GOOD_MM + 0.6, third_mm, GOOD_MM - 0.01)
    for number in range(24):
        hand.feed(EntryMade(number, asked(hand).at, "85.010", "mm", WHO))
    assert asked(hand).at == P2
    press(hand)
    return hand


def test_while_its_second_sweep_is_put_off_the_part_after_it_is_undecided():
    hand = at_put_off()
    assert asked(hand).at is None
    assert verdict(hand, "P2") == verdict(hand, "P3") == "undecided"
    assert verdict(hand, "P3+B3") == "undecided"
    assert verdict(hand, "P1") == verdict(hand, "P4") == "serviceable"
    assert "Measure P2 once more" in str(
        [told(f.sentence) for f in hand.bench.judged["P3"].findings]
    )


def test_what_is_measured_anew_after_it_was_put_off_shows_whether_they_are_one():
    hand = at_put_off()
    hand.feed(Wanted(hand.now_ns(), P2, WHO))
    hand.size(GOOD_MM)
    (question,) = hand.of(TwoPartsAsked)
    assert [(p.earlier, p.later) for p in question.pairs] == [("P2", "P3")]

    hand = at_put_off()
    hand.feed(Wanted(hand.now_ns(), P2, WHO))
    hand.size(GOOD_MM - 0.03)
    assert not hand.of(TwoPartsAsked)
    assert verdict(hand, "P2") == verdict(hand, "P3") == verdict(hand, "P3+B3") == "serviceable"


def test_a_second_sweep_near_a_limit_that_is_put_off_leaves_other_parts_alone():
    hand = pistons(GOOD_MM, 84.8604, GOOD_MM + 0.012, GOOD_MM - 0.01)
    for number in range(24):
        hand.feed(EntryMade(number, asked(hand).at, "85.010", "mm", WHO))
    assert asked(hand).at == P2
    press(hand)
    assert verdict(hand, "P2") == "undecided"
    assert verdict(hand, "P3") == "serviceable"


def test_of_two_sweeps_that_do_not_agree_either_may_be_the_part_s():
    """The worn P1's second sweep is of a gauge that is off; P1 is put in again for the good P2."""
    hand = Hand(5, set_to_nm=300.0)
    for mm in (84.848, 85.448, 84.848, 84.848):
        hand.size(mm)
    assert asked(hand).at == P3
    for mm in (GOOD_MM, GOOD_MM + 0.012):
        hand.size(mm)
    (question,) = hand.of(TwoPartsAsked)
    assert [(p.earlier, p.later) for p in question.pairs] == [("P1", "P2")]


def test_typed_values_are_nobody_s_part_put_in_again():
    hand = Hand()
    for at in (P1, P2, P3, P4):
        hand.feed(EntryMade(1, at, "84.92", "mm", WHO))
    assert not hand.of(TwoPartsAsked)


def test_nothing_is_said_twice_about_a_verdict_that_stays():
    hand = repeated()
    said = [(one.about, one.verdict) for one in hand.of(Judged) if one.about == "P4"]
    assert len([one for one in hand.of(Sized) if one.at == P4]) == 1
    assert said[-1] == ("P4", "undecided")


def test_a_press_before_the_question_can_have_been_read_is_no_yes():
    """The foot was on its way when the last size came."""
    hand = pistons(GOOD_MM, GOOD_MM + 0.012, GOOD_MM - 0.01)
    hand.rest(3.0)
    while not hand.of(TwoPartsAsked):
        hand.sweep(GOOD_MM - 0.01, 1)
    (refused,) = hand.feed(PedalPressed(hand.now_ns(), "next"))
    assert refused.reason == "too-soon"
    assert not hand.of(TwoPartsSettled)
    press(hand)
    press(hand)
    assert hand.of(TwoPartsSettled) == [TwoPartsSettled("skirt", "pressed")]


def test_one_press_was_a_yes_in_versions_that_asked_so_and_is_in_their_redo():
    hand = repeated()
    steered = Steered(hand.bench, None, ())
    hand.rest(2.0)
    steered.hear(PedalPressed(hand.now_ns(), "next"))
    steered.said(TwoPartsSettled("skirt", "pressed"), hand.now_ns())
    assert verdict(hand, "P3") == verdict(hand, "P4") == "serviceable"
    assert steered.bench.asked is not None
    assert steered.bench.asked.at.feature == "bore"


def test_a_question_that_nobody_can_see_is_answered_by_no_press():
    hand = repeated()
    hand.feed(TellingChanged(hand.now_ns(), "board", there=False))
    hand.rest(5.0)
    hand.feed(PedalPressed(hand.now_ns(), "next"))
    assert not hand.of(TwoPartsSettled)
    hand.feed(TellingChanged(hand.now_ns(), "board", there=True))
    hand.feed(PedalPressed(hand.now_ns(), "next"))
    assert not hand.of(TwoPartsSettled)
    assert verdict(hand, "P4") == "undecided"
