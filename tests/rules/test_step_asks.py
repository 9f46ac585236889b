"""A pass counts only for what was asked, and the record proves it: outages at any moment."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from barrelfit.rules.events import (
    Asked,
    Contact,
    EntryMade,
    GaugeChanged,
    NotCounted,
    Passed,
    PedalPressed,
    Sized,
    Wanted,
    WentOn,
)
from barrelfit.rules.said import written
from barrelfit.rules.telling import AskShown, BoardAwaited, TellingChanged
from tests.rules.step_rig import GOOD_MM, OUTSIDE, P1, P2, P3, WHO, Hand

FIRST_MM = GOOD_MM - 0.04


def sized(hand: Hand) -> list:
    return [one.at for one in hand.of(Sized)]


def cut_off(hand: Hand) -> Hand:
    """P1 is measured, but nobody hears of it: the ask for P2 is on its way."""
    hand.rest(1.0)
    hand.link = False
    while not hand.of(Sized):
        hand.sweep(FIRST_MM, 1)
    assert hand.phase == "waiting"
    return hand


def test_a_hand_that_hears_nothing_sweeps_its_part_again_and_no_pass_counts():
    hand = cut_off(Hand())
    for _ in range(4):  # told nothing, it puts the same part in again and again
        hand.rest(3.0)
        hand.sweep(FIRST_MM, 7)
    assert sized(hand) == [P1]
    hand.linked()
    assert hand.phase == "leaving"
    hand.sweep(FIRST_MM, 7)  # still the same part
    assert sized(hand) == [P1]
    hand.rest(2.0)
    assert hand.phase == "armed"
    hand.size(GOOD_MM)
    assert sized(hand) == [P1, P2]
    assert abs(hand.of(Sized)[1].read_nm - GOOD_MM * 1e6) < 3_000


def test_what_was_swept_when_the_ask_came_must_come_away_and_is_told_not_to_count():
    hand = Hand()
    hand.link = False
    hand.begin(hand.bench.setup)  # what is to be measured first reaches nobody
    hand.rest(1.0)
    hand.sweep(GOOD_MM, 8)
    assert not hand.of(Contact)
    assert not hand.of(Passed)
    said = len(hand.said)
    hand.linked()
    assert hand.said[said:] == [NotCounted(P1, "asked-late")]
    hand.sweep(GOOD_MM, 8)
    assert not hand.of(Passed)
    hand.rest(2.0)
    hand.size(GOOD_MM)
    assert sized(hand) == [P1]


def test_nothing_swept_meanwhile_is_nothing_to_take_away():
    hand = Hand()
    hand.link = False
    hand.begin(hand.bench.setup)
    hand.rest(5.0)
    hand.linked()
    assert hand.phase == "armed"


def test_only_the_last_ask_arms():
    """Next, undo and next again: what was asked for in between is not what is meant now."""
    hand = Hand()
    hand.feed(EntryMade(1, P1, "84.92", "mm", WHO))
    hand.link = False
    for action in ("next", "undo", "next"):
        hand.feed(PedalPressed(hand.now_ns(), action))
    asks = list(hand.lost)
    assert len(asks) == 3
    for one in asks[:-1]:
        hand.feed(one)
        assert hand.phase == "waiting"
    hand.feed(asks[-1])
    assert hand.phase == "armed"


def test_an_ask_that_comes_again_arms_nothing_else():
    hand = Hand()
    first = hand.of(Asked)[-1]
    cut_off(hand)
    hand.feed(first)
    assert hand.phase == "waiting"
    hand.linked()
    assert hand.phase == "leaving"


@pytest.mark.parametrize("action", ["next", "again", "undo"])
def test_a_pedal_in_an_outage_counts_no_pass_either(action):
    hand = cut_off(Hand())
    hand.feed(PedalPressed(hand.now_ns(), action))
    hand.rest(3.0)
    hand.sweep(GOOD_MM, 8)
    assert sized(hand) == [P1]
    hand.linked()
    assert hand.phase in {"leaving", "armed"}
    assert hand.bench.asked.at == {"next": P3, "again": P2, "undo": P1}[action]


def test_a_session_that_goes_on_asks_anew_where_its_ask_never_came():
    """Another version of the rules had asked for something else: that ask is not waited for."""
    hand = cut_off(Hand())
    hand.lost.clear()
    hand.link = True
    hand.feed(Asked(P3, OUTSIDE, written("P3"), 1, 8))  # what the other version had said
    assert hand.phase == "waiting"
    (asked,) = hand.feed(WentOn(hand.now_ns()))
    assert asked.at == P2
    assert hand.phase == "leaving"


def test_a_session_that_goes_on_asks_again_for_what_nobody_may_have_seen():
    """The end came between the record of an ask and the board; the hand sweeps the same again."""
    hand = Hand()
    hand.size(FIRST_MM)
    hand.rest(3.0)
    assert hand.phase == "armed"
    hand.link = False  # until the rules have read the record, their word goes nowhere
    hand.feed(WentOn(hand.now_ns()))
    hand.sweep(FIRST_MM, 8)
    hand.linked()
    hand.sweep(FIRST_MM, 8)
    assert sized(hand) == [P1]
    hand.rest(3.0)
    hand.size(GOOD_MM)
    assert sized(hand) == [P1, P2]


def test_a_sweep_that_is_under_way_goes_on_with_its_session():
    hand = Hand()
    hand.rest(1.0)
    hand.sweep(FIRST_MM, 3)
    assert hand.of(Passed)
    assert hand.feed(WentOn(hand.now_ns())) == ()
    assert hand.phase == "armed"


def test_while_nobody_sees_what_is_asked_for_nothing_new_is_begun():
    """The bus is away: the size comes, the next ask is recorded, and the hand is told nothing."""
    hand = Hand()
    hand.rest(1.0)
    hand.sweep(FIRST_MM, 2)
    hand.feed(TellingChanged(hand.now_ns(), "bus", there=False))
    while not hand.of(Sized):  # what was asked for before goes on
        hand.sweep(FIRST_MM, 1)
    for _ in range(3):
        hand.rest(3.0)
        hand.sweep(FIRST_MM, 7)
    assert sized(hand) == [P1]
    asks = len(hand.of(Asked))
    hand.feed(TellingChanged(hand.now_ns(), "bus", there=True))
    assert [one.at for one in hand.of(Asked)[asks:]] == [P2]
    assert hand.phase == "leaving"
    hand.rest(3.0)
    hand.size(GOOD_MM)
    assert sized(hand) == [P1, P2]


def test_an_ask_that_may_not_have_been_seen_is_put_again():
    hand = Hand()
    hand.rest(1.0)
    assert hand.phase == "armed"
    for service in ("bus", "board"):
        hand.feed(TellingChanged(hand.now_ns(), service, there=False))
    hand.sweep(GOOD_MM, 8)
    hand.feed(TellingChanged(hand.now_ns(), "bus", there=True))
    assert not hand.of(Passed)
    asks = len(hand.of(Asked))
    hand.feed(TellingChanged(hand.now_ns(), "board", there=True))
    assert len(hand.of(Asked)) == asks + 1
    hand.rest(3.0)
    hand.size(GOOD_MM)
    assert sized(hand) == [P1]


def shown(hand: Hand) -> None:
    """The board shows what was asked for last."""
    hand.feed(AskShown(hand.now_ns(), hand.of(Asked)[-1].ask))


def test_where_the_bench_has_a_board_nothing_counts_before_that_has_shown_what_is_asked_for():
    """The bus took the ask; the board, back from an outage or stopped, has not seen it yet."""
    hand = Hand()
    hand.link = False
    hand.begin(hand.bench.setup)
    hand.feed(BoardAwaited(hand.now_ns()))
    hand.linked()
    hand.rest(1.0)
    assert hand.phase == "waiting"
    shown(hand)
    assert hand.phase == "armed"
    while not hand.of(Sized):
        hand.sweep(FIRST_MM, 1)
    for _ in range(3):  # the ask for the second stands in the record, and nobody can see it
        hand.rest(3.0)
        hand.sweep(FIRST_MM, 8)
    assert sized(hand) == [P1]
    shown(hand)
    assert hand.phase == "leaving"
    assert hand.of(NotCounted)[-1] == NotCounted(P2, "asked-late")
    hand.rest(3.0)
    while len(hand.of(Sized)) == 1:
        hand.sweep(GOOD_MM, 1)
    assert abs(hand.of(Sized)[1].read_nm - GOOD_MM * 1e6) < 3_000


def test_only_the_last_ask_that_is_shown_begins_anything():
    hand = Hand()
    hand.feed(BoardAwaited(hand.now_ns()))
    hand.feed(PedalPressed(hand.now_ns(), "next"))
    first = hand.of(Asked)[-1].ask
    hand.feed(PedalPressed(hand.now_ns(), "next"))
    hand.feed(AskShown(hand.now_ns(), first))
    assert hand.phase == "waiting"
    hand.feed(TellingChanged(hand.now_ns(), "board", there=False))
    shown(hand)
    assert hand.phase == "waiting"  # it went away since
    hand.feed(TellingChanged(hand.now_ns(), "board", there=True))
    shown(hand)
    hand.rest(1.6)
    assert hand.phase == "armed"


def test_a_session_that_goes_on_without_a_board_waits_for_none():
    hand = Hand()
    hand.feed(BoardAwaited(hand.now_ns()))
    hand.feed(PedalPressed(hand.now_ns(), "next"))
    assert hand.phase == "waiting"
    hand.feed(WentOn(hand.now_ns()))
    hand.rest(1.6)
    assert hand.phase == "armed"


def told_late() -> Hand:
    """P1's size comes out once it is away again, and the gauge is empty as P2 is asked for."""
    hand = Hand()
    hand.link = False
    hand.size(FIRST_MM)
    hand.rest(4.0)
    hand.linked()
    assert sized(hand) == [P1]
    return hand


@pytest.mark.parametrize("after_s", [0.0, 0.4, 1.0])
def test_a_hand_that_was_on_its_way_when_another_part_was_asked_for_does_not_count(after_s):
    """Nobody reads the new ask and takes the new part in so short a time."""
    hand = told_late()
    hand.rest(after_s)
    hand.sweep(FIRST_MM, 8)
    assert {(one.at, one.why) for one in hand.of(NotCounted)[:1]} == {(P2, "asked-late")}
    assert not [one for one in hand.of(Passed) if one.at == P2]
    hand.size(GOOD_MM)
    assert sized(hand) == [P1, P2]


def test_a_blink_later_the_new_part_counts():
    hand = told_late()
    hand.rest(1.6)
    hand.sweep(GOOD_MM, 3)
    assert [one.at for one in hand.of(Passed)][-1] == P2
    assert not hand.of(NotCounted)


def test_whoever_chose_what_is_asked_for_may_sweep_it_at_once():
    hand = Hand()
    hand.feed(PedalPressed(hand.now_ns(), "next"))
    assert hand.phase == "armed"
    hand.feed(Wanted(hand.now_ns(), P1, "A. Smith"))
    assert hand.phase == "armed"


def test_what_was_chosen_long_ago_is_as_new_as_any_other_ask():
    """The disk was slow: nothing came of the press, and the hand goes on with what stands there."""
    hand = Hand()
    hand.link = False
    hand.feed(PedalPressed(hand.now_ns(), "next"))
    hand.rest(6.0)
    hand.linked()
    hand.sweep(FIRST_MM, 8)
    assert not hand.of(Passed)
    assert hand.of(NotCounted)[0].why == "asked-late"


def stood_still(hand: Hand, seconds: float) -> None:
    """Nobody read the gauge for so long: what happened meanwhile was seen by nobody."""
    hand.t_s += seconds
    hand.feed(GaugeChanged(OUTSIDE, hand.now_ns(), "present"))
    hand.feed(GaugeChanged(OUTSIDE, hand.now_ns(), "answering"))


def test_what_is_in_the_gauge_after_a_time_that_nobody_saw_may_be_another_part():
    """P2 went in while barrelfit stood still; an undo of P1, pressed meanwhile, comes after."""
    hand = Hand()
    hand.size(FIRST_MM)
    assert (hand.phase, hand.bench.asked.at) == ("leaving", P2)
    pressed_ns = hand.now_ns() + 1_000_000_000
    stood_still(hand, 7.0)
    hand.feed(PedalPressed(pressed_ns, "undo"))
    assert hand.bench.asked.at == P1
    passed = hand.of(Passed)
    hand.sweep(GOOD_MM, 4)
    assert hand.of(Passed) == passed
    hand.size(FIRST_MM)
    assert sized(hand) == [P1, P1]


def test_what_was_chosen_in_a_time_that_nobody_saw_was_chosen_when_it_was_pressed():
    hand = told_late()
    pressed_ns = hand.now_ns() + 1_000_000_000
    stood_still(hand, 7.0)
    hand.rest(3.0)
    hand.feed(PedalPressed(pressed_ns, "next"))
    passed = hand.of(Passed)
    hand.sweep(GOOD_MM, 4)  # P2, which stood there when it was taken
    assert hand.of(Passed) == passed
    assert "asked-late" in {one.why for one in hand.of(NotCounted)}


def test_no_ask_is_begun_while_nobody_can_see_it():
    hand = told_late()
    hand.feed(TellingChanged(hand.now_ns(), "bus", there=False))
    hand.rest(3.0)
    assert hand.phase == "waiting"
    hand.feed(TellingChanged(hand.now_ns(), "bus", there=True))
    assert hand.phase == "waiting"  # nobody can have read it before
    hand.rest(1.6)
    assert hand.phase == "armed"


@pytest.mark.slow
@settings(max_examples=15, deadline=None)
@given(
    seed=st.integers(0, 1000),
    cuts=st.lists(st.tuples(st.booleans(), st.integers(1, 9)), min_size=4, max_size=7),
)
def test_wherever_the_link_is_cut_every_size_is_of_the_part_that_was_asked_for(seed, cuts):
    """The hand does what was last recorded as asked; each part has a size of its own."""
    hand = Hand(seed)
    for cut, passes in cuts:
        hand.rest(3.0)
        hand.link = not cut
        told = [one for one in hand.fed if isinstance(one, Asked)]
        at = told[-1].at if told else P1
        if at is None or at.feature != "skirt":
            break
        hand.sweep(GOOD_MM + 0.03 * int(at.part[1:]), passes)
        hand.linked()
    for size in hand.of(Sized):
        true_nm = (GOOD_MM + 0.03 * int(size.at.part[1:])) * 1e6
        assert abs(size.read_nm - true_nm) < 6_000, size.at
