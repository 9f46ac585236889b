"""A board that shows late what is asked for: a hand may have looked before, and is on its way."""

import pytest

from barrelfit.rules.events import NotCounted, Passed, PedalPressed, Sized
from barrelfit.rules.telling import BoardAwaited
from tests.rules.step_rig import GOOD_MM, P1, P2, Hand
from tests.rules.test_step_asks import FIRST_MM, shown


def hung(hand: Hand, seconds: float) -> Hand:
    """P1 is measured and swept on; the board hangs all the while, and shows P2 as it comes out."""
    hand.feed(BoardAwaited(hand.now_ns()))
    hand.rest(1.0)
    while not hand.of(Sized):
        hand.sweep(FIRST_MM, 1)
    begin_s = hand.t_s
    hand.rest(3.0)
    while hand.t_s < begin_s + seconds:  # told nothing, it sweeps its part once more
        hand.sweep(FIRST_MM, 1)
    hand.rest(1.8)
    shown(hand)
    assert hand.phase == "leaving"
    return hand


def test_what_comes_as_a_part_has_just_left_and_the_board_is_late_is_of_what_stood_there():
    """Nobody reads a board that was hung, and takes another part, in the time of a hand's swing."""
    hand = hung(Hand(), 20.0)
    hand.rest(1.25)
    hand.sweep(FIRST_MM, 8)
    assert [one.at for one in hand.of(Passed)][-1] == P1
    assert hand.of(NotCounted)[-1].at == P2
    hand.rest(3.0)
    while len(hand.of(Sized)) == 1:
        hand.sweep(GOOD_MM, 1)
    assert abs(hand.of(Sized)[1].read_nm - GOOD_MM * 1e6) < 3_000


def test_a_blink_after_the_late_board_the_new_part_counts():
    hand = hung(Hand(), 20.0)
    hand.rest(1.6)
    hand.sweep(GOOD_MM, 3)
    assert [one.at for one in hand.of(Passed)][-1] == P2


def test_a_board_that_shows_in_time_makes_no_hand_wait():
    """A part is off as its size comes out: the next one counts once it was away for its time."""
    hand = Hand()
    hand.feed(BoardAwaited(hand.now_ns()))
    hand.rest(1.0)
    while not hand.of(Sized):
        hand.sweep(FIRST_MM, 1)
    shown(hand)
    assert hand.phase == "leaving"
    hand.rest(1.3)  # gone for 1.2 s
    assert hand.phase == "armed"
    hand.sweep(GOOD_MM, 3)
    assert [one.at for one in hand.of(Passed)][-1] == P2


@pytest.mark.parametrize("pressed", [False, True])
def test_what_is_chosen_as_the_board_is_late_waits_for_no_reading(pressed):
    hand = hung(Hand(), 20.0)
    if pressed:
        hand.feed(PedalPressed(hand.now_ns(), "next"))
        shown(hand)
    hand.rest(1.25)
    assert hand.phase == ("armed" if pressed else "waiting")
