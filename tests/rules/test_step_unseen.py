"""A part that comes into an empty gauge while nobody sees it is of nothing that is asked later."""

import pytest

from barrelfit.rules.events import (
    EntryMade,
    GaugeChanged,
    NotCounted,
    PedalPressed,
    RecordBroken,
    Sized,
)
from barrelfit.rules.said import written
from tests.rules.step_rig import BORE, GOOD_MM, OUTSIDE, P1, P2, P3, REST_MM, WHO, Hand, gone_once
from tests.rules.test_step_beside import BORE_MM, P4, passes_of, pistons_measured, rock

HELD_MM = GOOD_MM + 0.012
OUT_MM = BORE_MM + 1.8
WAYS = ("lost", "broken")


def unseen(hand: Hand, gauge: str, way: str) -> None:
    """Nobody sees the gauge for a while."""
    if way == "lost":
        hand.feed(GaugeChanged(gauge, hand.now_ns(), "lost", written("unplugged")))
    else:
        hand.feed(RecordBroken(hand.now_ns(), written("its file was removed")))
    hand.t_s += 20.0
    hand.feed(GaugeChanged(gauge, hand.now_ns(), "present"))


def press(hand: Hand, action: str) -> None:
    hand.feed(PedalPressed(hand.now_ns(), action))


def air(hand: Hand) -> None:
    """A bore gauge stands still in the air."""
    for _ in range(40):
        hand.show(OUT_MM, BORE)


@gone_once
def at_third_piston() -> Hand:
    hand = Hand(3, set_to_nm=300.0)
    hand.rest(3.0)
    for at, mm in ((P1, GOOD_MM), (P2, GOOD_MM - 0.03)):
        while not any(one.at == at for one in hand.of(Sized)):
            hand.sweep(mm, 1)
        hand.rest(3.0)
    assert (hand.bench.asked.at, hand.phase) == (P3, "armed")
    return hand


@gone_once
def at_second_place() -> Hand:
    hand = pistons_measured()
    rock(hand, 16.0)
    air(hand)
    assert hand.phase == "armed"
    return hand


@pytest.mark.parametrize("way", WAYS)
@pytest.mark.parametrize("presses", [("back",), ("undo",), ("undo", "undo"), ("back", "next")])
def test_it_counts_for_no_other_piston_that_is_asked_for(way, presses):
    hand = at_third_piston()
    unseen(hand, OUTSIDE, way)
    for action in presses:
        for _ in range(8):  # it stands right in the gauge
            hand.show(HELD_MM)
        press(hand, action)
    at = hand.bench.asked.at
    before = len(passes_of(hand, at))
    hand.sweep(HELD_MM, 8)
    if at == P3:  # asked for once more
        return
    assert len(passes_of(hand, at)) == before
    assert hand.of(NotCounted)[-1].at == at
    hand.size(GOOD_MM)
    assert abs(hand.of(Sized)[-1].read_nm - GOOD_MM * 1e6) < 3_000


@pytest.mark.parametrize("way", WAYS)
@pytest.mark.parametrize("seen_s", [0.3, 0.9, 1.1])
def test_it_counts_for_no_other_place_of_a_barrel(way, seen_s):
    hand = at_second_place()
    first = hand.of(Sized)[-1].at
    unseen(hand, BORE, way)
    rock(hand, seen_s)
    press(hand, "undo")
    assert hand.bench.asked.at == first
    before = len(passes_of(hand, first))
    rock(hand, 9.0)
    assert len(passes_of(hand, first)) == before
    assert hand.of(NotCounted)[-1].at == first
    air(hand)
    rock(hand, 9.0)
    assert len(passes_of(hand, first)) > before


@pytest.mark.parametrize("way", WAYS)
def test_a_gauge_of_which_nothing_was_asked_may_be_used_at_once(way):
    """It lay there, and sends nothing before it is taken up."""
    hand = at_third_piston()
    unseen(hand, BORE, way)
    hand.feed(EntryMade(1, P3, "84.9", "mm", WHO))
    hand.feed(EntryMade(1, P4, "84.9", "mm", WHO))
    at = hand.bench.asked.at
    hand.t_s += 2.0
    rock(hand, 9.0)
    assert len(passes_of(hand, at)) > 2
    assert all(one.why != "asked-late" for one in hand.of(NotCounted))


@pytest.mark.parametrize("way", WAYS)
def test_a_gauge_that_is_empty_still_keeps_no_hand_waiting(way):
    hand = at_third_piston()
    unseen(hand, OUTSIDE, way)
    hand.rest(1.4, REST_MM)
    press(hand, "undo")
    hand.sweep(GOOD_MM, 8)
    assert len(passes_of(hand, P2)) > 7
    assert not hand.of(NotCounted)

    hand = at_second_place()
    first = hand.of(Sized)[-1].at
    unseen(hand, BORE, way)
    air(hand)
    press(hand, "undo")
    before = len(passes_of(hand, first))
    rock(hand, 9.0)
    assert len(passes_of(hand, first)) > before + 2
    assert all(one.why != "asked-late" for one in hand.of(NotCounted))


@pytest.mark.parametrize("way", WAYS)
def test_it_counts_for_what_stands_asked_all_the_time(way):
    hand = at_third_piston()
    unseen(hand, OUTSIDE, way)
    hand.sweep(HELD_MM, 6)
    assert len(passes_of(hand, P3)) > 4
    assert not hand.of(NotCounted)
