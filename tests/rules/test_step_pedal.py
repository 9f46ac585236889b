"""Hands full: what is asked is answered by the pedal, and taken back by it."""

from barrelfit.rules.bench.phases import PLACE_NS
from barrelfit.rules.events import (
    Asked,
    TakenBack,
    WentOn,
)
from barrelfit.rules.manner import told
from barrelfit.rules.model import Verdict
from barrelfit.rules.told import AtBench, FactHeld, FactSettled, FactTaken
from tests.rules.way_rig import answer, at_feeler, of, press, through, way


def test_a_leaf_is_tried_at_each_place_by_the_pedal_and_counted():
    hand = at_feeler()
    first = hand.bench.asked.at
    assert first.feature == "feeler"
    words = []
    for _ in range(4):
        words.append(told(of(hand.said, Asked)[-1].sentence))
        press(hand)
    assert [w[-12:] for w in words] == [f"Place {n} of 4" for n in (1, 2, 3, 4)]
    leaf = next(f for f in hand.bench.setup.engine.part(first.part).feelers)
    assert leaf.went_in == (False,) * 4
    assert leaf.beside == "new"
    assert hand.bench.asked.at != first


def test_a_press_left_over_from_the_place_before_is_none():
    hand = at_feeler()
    press(hand)
    (held,) = press(hand, after_s=PLACE_NS / 1e9 - 0.1)
    assert held.reason == "too-soon"
    assert of(press(hand, after_s=0.2), FactTaken)


def test_a_double_press_takes_back_the_last_place_then_the_size_before_it():
    hand = at_feeler()
    at = hand.bench.asked.at
    press(hand)
    press(hand)
    (back,) = of(press(hand, "undo"), FactTaken)
    assert (back.value, back.before) == ("out", "out, out")
    assert hand.bench.asked.at == at
    (back,) = of(press(hand, "undo"), FactTaken)
    assert (back.value, back.before) == ("", "out")
    assert of(press(hand, "undo"), TakenBack)  # the bore that was typed before


def test_undo_takes_back_a_fact_and_asks_for_it_again():
    hand = way()
    answer(hand, "cracked")
    assert hand.bench.judged["P1"].verdict is Verdict.DISCARD
    (back,) = of(press(hand, "undo"), FactTaken)
    assert (str(back.at), back.value, back.before, back.by) == ("P1/looked", "", "cracked", "pedal")
    assert hand.bench.judged["P1"].verdict is not Verdict.DISCARD
    assert str(hand.bench.asked.at) == "P1/looked"


def test_undo_drops_a_question_that_nobody_has_answered():
    hand = way(steps=("mass",))
    through(hand, "mass_g")
    (held,) = of(answer(hand, "5120"), FactHeld)
    assert held.reason == "doubt"
    assert of(press(hand, "undo"), FactSettled)
    assert str(hand.bench.asked.at) == "P1/mass_g"
    assert of(answer(hand, "512"), FactTaken)


def test_what_the_pedal_says_is_of_who_signed_on_last():
    hand = way()
    (taken,) = of(press(hand), FactTaken)
    assert (taken.who, taken.by) == ("A. Smith", "pedal")  # who opened the session
    hand.feed(AtBench(hand.now_ns(), "B. Jones"))
    (taken,) = of(press(hand), FactTaken)
    assert taken.who == "B. Jones"


def test_power_is_cut_in_the_middle_of_a_leaf():
    hand = at_feeler()
    press(hand)
    press(hand)
    hand.link = False
    hand.feed(WentOn(hand.now_ns()))
    (held,) = press(hand)
    assert held.reason == "too-soon"  # nobody may have seen what is asked for
    hand.linked()
    assert told(of(hand.said, Asked)[-1].sentence).endswith("Place 3 of 4")
    assert of(press(hand), FactTaken)
