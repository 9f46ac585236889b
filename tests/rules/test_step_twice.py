"""A discard is measured twice, in two separate sweeps; two that do not agree decide nothing."""

from dataclasses import replace

import pytest

from barrelfit.rules.engine.parts import Part
from barrelfit.rules.events import (
    Asked,
    EntryMade,
    Judged,
    Matched,
    MeasuredTwice,
    PedalPressed,
    Sized,
)
from barrelfit.rules.judge.pair import judge_pair
from barrelfit.rules.judge.part import judge_part
from barrelfit.rules.manner import told, told_all
from barrelfit.rules.model import FeatureId, Verdict
from tests.rules.set_bench import evidence
from tests.rules.step_rig import GOOD_MM, P1, P2, WHO, Hand

WORN_MM = 84.845  # the sheet's limit is 84.860 mm or so
GOOD, WORN = GOOD_MM, WORN_MM
PLACES = [f"B1/bore/{d}/{x}" for d in ("top", "bottom") for x in ("thrust", "pin")]


def hand_at_p1() -> Hand:
    return Hand(3, set_to_nm=300.0)


def verdicts(hand: Hand, about: str = "P1") -> list[str]:
    return [one.verdict.value for one in hand.of(Judged) if one.about == about]


def sized(hand: Hand) -> list[FeatureId]:
    return [one.at for one in hand.of(Sized)]


def asked(hand: Hand) -> Asked:
    return hand.of(Asked)[-1]


def test_one_sweep_discards_nothing_and_a_second_one_bears_it_out():
    hand = hand_at_p1()
    hand.size(WORN)
    assert verdicts(hand)[-1] == "undecided"
    assert asked(hand).at == P1
    assert "reads below the limit; once more, to be sure" in told(asked(hand).sentence)
    hand.sweep(WORN, 8)  # it was not taken away: no second sweep
    assert sized(hand) == [P1]
    hand.size(WORN)
    assert sized(hand) == [P1, P1]
    (twice,) = hand.of(MeasuredTwice)
    assert (twice.at, twice.agree) == (P1, True)
    assert abs(twice.first_nm - twice.second_nm) <= twice.doubt_nm < 8_000
    assert verdicts(hand)[-1] == "discard"
    assert asked(hand).at == P2  # and never a third


@pytest.mark.parametrize("short_um", [25, 60, 140])
def test_a_hand_that_turned_before_the_crest_discards_nothing(short_um):
    """Its passes agree, and read too small; in another sweep it turns elsewhere."""
    hand = hand_at_p1()
    hand.size(84.862 - short_um / 1000)
    hand.size(84.862 - short_um / 3000)
    (twice,) = hand.of(MeasuredTwice)
    assert not twice.agree
    assert verdicts(hand)[-1] == "undecided"
    assert "discard" not in verdicts(hand)
    assert asked(hand).at == P2


def test_a_discard_and_a_good_one_decide_nothing_in_either_order():
    hand = hand_at_p1()
    hand.size(WORN)
    hand.size(GOOD)
    assert verdicts(hand)[-1] == "undecided"
    codes = {f.code for f in hand.bench.judged["P1"].findings}
    assert {"T103", "T104"} <= codes
    assert asked(hand).at == P2


def test_another_sweep_by_a_gauge_that_is_set_otherwise_bears_nothing_out():
    """Its zero went by 0.6 mm between two places of a bore: its sweeps agree, and are wrong."""
    piston = Part("P1", "piston", looked=("good",))
    barrel = Part("B1", "barrel", looked=("good",), barrel_kind="iron-liner")
    good = {"P1/skirt": "84.92", **dict.fromkeys(PLACES, "85.01")}
    for wrong, verdict in (("85.61", "undecided"), ("85.26", "rework")):
        seen = evidence((piston, barrel), {**good, PLACES[-1]: wrong})
        at = FeatureId(*PLACES[-1].split("/"))
        seen = replace(seen, firsts={at: seen.sizes[at]})
        judged = judge_part(seen, "B1")
        assert judged.verdict.value == verdict
        codes = {f.code for f in judge_pair(seen, "P1", "B1").findings}
        assert ("T105" in codes) is (verdict == "undecided")


def test_a_second_sweep_is_put_off_for_good_by_the_pedal_and_the_part_stays_undecided():
    hand = hand_at_p1()
    hand.size(WORN)
    hand.feed(PedalPressed(hand.now_ns(), "next"))
    assert asked(hand).at == P2
    for _ in range(3):
        hand.feed(EntryMade(hand.now_ns(), asked(hand).at, "84.92", "mm", WHO))
    assert asked(hand).at.feature == "bore"
    assert verdicts(hand)[-1] == "undecided"


def test_again_in_a_second_sweep_asks_for_it_again():
    hand = hand_at_p1()
    hand.size(WORN)
    hand.feed(PedalPressed(hand.now_ns(), "again"))
    assert asked(hand).at == P1
    hand.size(WORN)
    assert verdicts(hand)[-1] == "discard"


def test_an_undo_after_two_sweeps_takes_both_back():
    hand = hand_at_p1()
    hand.size(WORN)
    hand.size(WORN)
    hand.feed(PedalPressed(hand.now_ns(), "undo"))
    assert asked(hand).at == P1
    assert P1 not in hand.bench.sizes
    hand.size(WORN)
    assert verdicts(hand)[-1] == "undecided"


def test_a_discard_that_was_too_near_to_tell_at_first_is_measured_no_third_time():
    hand = hand_at_p1()
    hand.size(84.8585)
    assert verdicts(hand)[-1] == "undecided"
    first = asked(hand).at
    assert first == P2  # its repeat comes after all others
    while asked(hand).at is not None and asked(hand).at != P1:
        mm = "84.92" if asked(hand).at.feature == "skirt" else "85.005"
        hand.feed(EntryMade(hand.now_ns(), asked(hand).at, mm, "mm", WHO))
    assert asked(hand).at == P1
    hand.size(84.853)
    assert sized(hand).count(P1) == 2
    assert asked(hand).at is None
    if hand.of(MeasuredTwice)[-1].agree:
        assert verdicts(hand)[-1] in {"discard", "undecided"}
    else:
        assert verdicts(hand)[-1] == "undecided"


def test_a_typed_discard_is_no_sweep_and_stands():
    hand = hand_at_p1()
    hand.feed(EntryMade(hand.now_ns(), P1, "84.80", "mm", WHO))
    assert hand.bench.judged["P1"].verdict is Verdict.DISCARD
    assert asked(hand).at == P2


def with_barrel_one(hand: Hand) -> Hand:
    """Everything but the first piston's skirt is typed in."""
    for number in range(99):
        planned = hand.bench.asked
        if planned is None:
            break
        mm = "84.921" if planned.at.feature == "skirt" else "85.010"
        hand.feed(EntryMade(number, planned.at, mm, "mm", WHO))
    return hand


def test_no_pair_is_decided_by_a_part_whose_two_sweeps_do_not_agree():
    """A gauge set 0.6 mm wrong in the second sweep: the pair would have to be rebored."""
    hand = hand_at_p1()
    hand.size(WORN)
    hand.size(WORN + 0.6)
    assert not hand.of(MeasuredTwice)[0].agree
    with_barrel_one(hand)
    assert verdicts(hand)[-1] == "undecided"
    assert set(verdicts(hand, "P1+B1")) == {"undecided"}
    (findings,) = (one.findings for one in hand.of(Judged) if one.about == "P1+B1")
    assert told(findings[0].sentence).startswith("P1: two sweeps of it do not agree")
    (match,) = hand.of(Matched)
    assert match.outcome != "impossible"
    assert "the size of P1 is in doubt" in " ".join(told_all(match.sentences))
    assert verdicts(hand, "P2+B2")[-1] == "serviceable"


def test_no_pair_is_decided_by_one_sweep_alone_that_discards():
    hand = hand_at_p1()
    hand.size(WORN)
    hand.feed(PedalPressed(hand.now_ns(), "next"))  # no second sweep
    with_barrel_one(hand)
    assert set(verdicts(hand, "P1+B1")) == {"undecided"}
