"""What a gauge holds is known while another one is asked for, and when it is asked for again."""

import math

import pytest

from barrelfit.rules.events import (
    Asked,
    EntryMade,
    GaugeChanged,
    NotCounted,
    Passed,
    PedalPressed,
    RecordBroken,
    Sized,
    Wanted,
)
from barrelfit.rules.model import FeatureId
from barrelfit.rules.said import written
from tests.rules.step_rig import BORE, GOOD_MM, OUTSIDE, P1, P2, P3, WHO, Hand, gone_once, measured

P4 = FeatureId("P4", "skirt")
B1 = FeatureId("B1", "bore", "top", "thrust")
LAST_MM, BORE_MM = GOOD_MM - 0.05, 85.01


@gone_once
def pistons_measured() -> Hand:
    """All pistons have sizes; the last one was swept, and is in the gauge still."""
    hand = Hand(3, set_to_nm=300.0)
    for number, at in enumerate((P1, P2, P3)):
        hand.feed(EntryMade(number, at, f"84.9{number}", "mm", WHO))
    hand.rest(2.0)
    while not any(one.at == P4 for one in hand.of(Sized)):
        hand.sweep(LAST_MM, 1)
    assert hand.of(Asked)[-1].gauge == BORE
    return hand


def take_up(hand: Hand, at: FeatureId) -> None:
    hand.feed(Wanted(hand.now_ns(), at, WHO))


def passes_of(hand: Hand, at: FeatureId) -> list:
    return [one for one in hand.of(Passed) if one.at == at]


def no_pass_counts_till_it_left(hand: Hand, at: FeatureId) -> None:
    assert hand.phase == "leaving"
    hand.sweep(LAST_MM, 9)
    assert not passes_of(hand, at)
    assert hand.of(NotCounted)
    hand.rest(2.0)
    assert hand.phase == "armed"
    hand.size(GOOD_MM)
    assert abs(hand.of(Sized)[-1].read_nm - GOOD_MM * 1e6) < 3_000


def test_who_goes_back_at_once_with_the_last_part_in_the_gauge_sweeps_nothing_new():
    hand = pistons_measured()
    take_up(hand, P2)
    no_pass_counts_till_it_left(hand, P2)


def test_it_is_known_still_after_a_value_was_typed_and_when_the_set_was_done():
    hand = pistons_measured()
    hand.feed(EntryMade(1, B1, "85.010", "mm", WHO))
    take_up(hand, P2)
    no_pass_counts_till_it_left(hand, P2)

    done = measured()
    take_up(done, P1)
    done.size(LAST_MM)  # and stays
    assert done.bench.asked is None
    take_up(done, P2)
    assert done.phase == "leaving"


def test_the_part_that_was_measured_may_be_measured_again_at_once():
    hand = pistons_measured()
    take_up(hand, P4)
    assert hand.phase == "armed"
    hand.sweep(LAST_MM, 3)
    assert len(passes_of(hand, P4)) > 3


@pytest.mark.parametrize("again", ["back", "none"])
def test_a_part_that_was_taken_up_again_but_not_swept_is_in_the_gauge_still(again):
    hand = pistons_measured()
    take_up(hand, P4)
    if again == "back":
        hand.feed(PedalPressed(hand.now_ns(), "again"))
    take_up(hand, P2)
    no_pass_counts_till_it_left(hand, P2)


def test_a_part_that_left_meanwhile_is_not_missed():
    hand = pistons_measured()
    hand.rest(3.0)
    take_up(hand, P2)
    assert hand.phase == "armed"


@pytest.mark.parametrize("what", ["lost", "broken"])
def test_a_pause_in_which_nobody_saw_the_gauge_takes_no_part_out_of_it(what):
    hand = pistons_measured()
    if what == "lost":
        hand.feed(GaugeChanged(OUTSIDE, hand.now_ns(), "lost", written("unplugged")))
    else:
        hand.feed(RecordBroken(hand.now_ns(), written("its file was removed")))
    hand.t_s += 20.0
    hand.feed(GaugeChanged(OUTSIDE, hand.now_ns(), "present"))
    hand.sweep(LAST_MM, 1)
    take_up(hand, P2)
    no_pass_counts_till_it_left(hand, P2)


def test_what_is_swept_while_another_gauge_is_asked_for_is_of_nothing_that_is_asked_later():
    hand = pistons_measured()
    hand.rest(3.0)
    hand.sweep(LAST_MM, 3)  # again, or another one: nobody knows which
    take_up(hand, P2)
    assert hand.of(NotCounted)[-1] == NotCounted(P2, "asked-late")
    no_pass_counts_till_it_left(hand, P2)


def rock(hand: Hand, seconds: float, off_mm: float = 0.0) -> None:
    begin_s = hand.t_s
    while (now_s := hand.t_s - begin_s) < seconds:
        tilt = math.radians(5.0 * math.sin(2 * math.pi * now_s / 2.6))
        hand.show((BORE_MM - 4.0) / math.cos(tilt) + 4.0 + off_mm, BORE)


def test_a_bore_gauge_that_was_away_and_is_set_otherwise_is_not_out_of_its_bore():
    """It reads 0.6 mm more in the same place: that is no sign that it has left."""
    hand = pistons_measured()
    first = hand.bench.asked.at
    rock(hand, 16.0)
    assert [one.at for one in hand.of(Sized)][-1] == first
    second = hand.bench.asked.at
    hand.feed(GaugeChanged(BORE, hand.now_ns(), "lost", written("unplugged")))
    hand.t_s += 20.0
    hand.feed(GaugeChanged(BORE, hand.now_ns(), "present"))
    rock(hand, 10.0, off_mm=0.6)
    assert not passes_of(hand, second)
    for _ in range(40):
        hand.show(BORE_MM + 1.8, BORE)  # in the air it stands still
    rock(hand, 8.0)
    assert passes_of(hand, second)


def test_a_bore_gauge_that_stays_in_its_bore_counts_for_no_other_place():
    hand = pistons_measured()
    hand.rest(3.0)
    for _ in range(12):
        if hand.of(Sized)[-1].at != B1:
            rock(hand, 1.3)
    assert hand.of(Sized)[-1].at == B1
    assert hand.of(Asked)[-1].gauge == BORE
    second = hand.bench.asked.at
    take_up(hand, P1)
    take_up(hand, second)
    assert hand.phase == "leaving"
    rock(hand, 8.0)
    assert not passes_of(hand, second)


@pytest.mark.parametrize(("reach_deg", "deg_a_s"), [(4.0, 8.0), (6.0, 6.0), (7.0, 6.0)])
@pytest.mark.parametrize("in_s", [0.0, 0.4, 0.8, 1.4, 2.2])
def test_a_bore_gauge_that_was_just_going_in_when_another_place_was_asked_for(
    in_s, reach_deg, deg_a_s
):
    """How far it reads from the bore's size is not known yet: rocking on is no going away."""
    hand = pistons_measured()
    hand.feed(EntryMade(1, B1, "85.010", "mm", WHO))
    out_mm, out_deg = BORE_MM + 1.2, 14.0
    hand.link = False
    hand.feed(PedalPressed(hand.now_ns(), "next"))
    for _ in range(40):
        hand.show(out_mm, BORE)
    begin_s, way_s = hand.t_s, (out_deg + reach_deg) / deg_a_s
    while (now_s := hand.t_s - begin_s) < 12.0:
        if now_s >= in_s and not hand.link:
            hand.linked()
        if now_s < way_s:
            share = (1 - math.cos(math.pi * now_s / way_s)) / 2
            deg = out_deg - (out_deg + reach_deg) * share
        else:
            deg = -reach_deg * math.cos(math.pi * (now_s - way_s) * deg_a_s / (2 * reach_deg))
        mm = (BORE_MM - 4.0) / math.cos(math.radians(deg)) + 4.0
        hand.show(min(out_mm, mm), BORE)
    assert not passes_of(hand, hand.bench.asked.at)
    assert hand.of(NotCounted)[-1].at == hand.bench.asked.at


@gone_once
def away_for_a_moment() -> Hand:
    """P1 was put down between two passes: so the hand may, and P2 comes in as soon after it."""
    hand = Hand(3, set_to_nm=300.0)
    hand.rest(3.0)
    hand.sweep(GOOD_MM, 1)
    hand.rest(2.1)
    hand.sweep(GOOD_MM, 11)
    assert [one.at for one in hand.of(Sized)] == [P1]
    hand.rest(2.5)
    return hand


@pytest.mark.parametrize("passes", [1, 3])
def test_what_was_away_and_is_back_may_be_another_part(passes):
    """The board says that it does not count; who then goes back to P1 sweeps P2 for it."""
    hand = away_for_a_moment()
    hand.sweep(GOOD_MM + 0.012, passes)
    assert hand.phase == "leaving"
    hand.feed(PedalPressed(hand.now_ns(), "back"))
    assert hand.bench.asked.at == P1
    hand.sweep(GOOD_MM + 0.012, 4)
    assert len(passes_of(hand, P1)) == 10
    hand.rest(7.0)  # as long as this hand was away before, and more
    hand.size(GOOD_MM)
    assert hand.bench.asked.at == P2


def test_what_was_away_and_is_back_while_its_ask_was_on_its_way_may_be_another_part():
    hand = Hand(3, set_to_nm=300.0)
    hand.rest(3.0)
    hand.sweep(GOOD_MM, 1)
    hand.rest(3.2)
    hand.link = False
    hand.sweep(GOOD_MM, 11)
    hand.rest(2.5)
    hand.sweep(GOOD_MM + 0.012, 2)
    hand.feed(PedalPressed(hand.now_ns(), "back"))
    hand.linked()
    assert hand.bench.asked.at == P1
    hand.sweep(GOOD_MM + 0.012, 4)
    assert len(passes_of(hand, P1)) == 10


@pytest.mark.parametrize("away_s", [0.4, 0.5, 0.55])
@pytest.mark.parametrize("passes", [1, 4])
def test_what_is_exchanged_quickly_and_swept_on_is_not_the_part_before(away_s, passes):
    """The board says that it does not count; who then goes back to P1 sweeps P2 for it."""
    hand = Hand(3, set_to_nm=300.0)
    hand.rest(3.0)
    while not hand.of(Sized):
        hand.sweep(GOOD_MM, 1)
    before = len(passes_of(hand, P1))
    hand.rest(away_s)
    hand.sweep(GOOD_MM + 0.012, passes)
    assert hand.phase == "leaving"
    hand.feed(PedalPressed(hand.now_ns(), "back"))
    assert hand.bench.asked.at == P1
    hand.sweep(GOOD_MM + 0.012, 6)
    assert len(passes_of(hand, P1)) == before
    hand.rest(3.0)
    hand.size(GOOD_MM)
    assert hand.bench.asked.at == P2


def test_a_barrel_that_is_exchanged_quickly_and_rocked_on_is_not_the_one_before():
    hand = pistons_measured()
    rock(hand, 14.0)
    first = hand.of(Sized)[-1].at
    before = len(passes_of(hand, first))
    for _ in range(20):
        hand.show(BORE_MM + 1.8, BORE)
    rock(hand, 6.0, off_mm=0.01)
    assert hand.of(NotCounted)
    hand.feed(PedalPressed(hand.now_ns(), "back"))
    assert hand.bench.asked.at == first
    rock(hand, 8.0, off_mm=0.01)
    assert len(passes_of(hand, first)) == before
