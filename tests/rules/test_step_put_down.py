"""A part that is put down before its passes are made is no size: it goes on, or starts anew."""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from barrelfit.rules.events import (
    Asked,
    Interrupted,
    Passed,
    PedalPressed,
    Refused,
    Sized,
    StartedAnew,
)
from tests.rules.step_rig import GOOD_MM, OUTSIDE, P1, P2, Hand

LEAST = 5


def hand_of(least: int, seed: int = 1) -> Hand:
    hand = Hand(seed)
    setup = hand.bench.setup
    gauge = replace(setup.gauges[OUTSIDE], passes=least)
    hand.begin(replace(setup, gauges={**setup.gauges, OUTSIDE: gauge}))
    hand.rest(1.0)
    return hand


def off_nm(size: Sized, true_mm: float) -> float:
    return abs(size.read_nm - true_mm * 1e6)


@pytest.mark.parametrize(("least", "made"), [(5, 1), (5, 3), (5, 4), (7, 3), (7, 4), (7, 6)])
def test_a_part_put_down_too_early_is_no_size_and_goes_on_when_it_comes_back(least, made):
    hand = hand_of(least)
    hand.sweep(GOOD_MM, made)
    hand.rest(4.0)
    assert hand.of(Interrupted) == [Interrupted(P1, made, least)]
    assert not hand.of(Sized) + hand.of(Refused)
    assert hand.bench.asked.at == P1
    hand.sweep(GOOD_MM, least - made + 1)
    hand.rest(4.0)
    (size,) = hand.of(Sized)
    assert size.at == P1
    assert off_nm(size, GOOD_MM) < 3_000
    assert len(size.pass_sizes_nm) >= least
    assert not hand.of(StartedAnew)
    assert hand.bench.went_on == {P1}


def test_the_same_piston_picked_up_again_never_becomes_the_next_ones():
    """Three passes, down; three passes, down: it was P1, P2 and P3 in turn."""
    hand = hand_of(7)
    for _ in range(3):
        hand.sweep(GOOD_MM, 3)
        hand.rest(4.0)
    assert [one.at for one in hand.of(Sized)] == [P1]
    assert [(one.at, one.passes) for one in hand.of(Interrupted)] == [(P1, 3), (P1, 6)]


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize(("made", "other_mm"), [(2, 0.08), (3, -0.08), (4, -0.12), (3, 0.3)])
def test_another_part_that_comes_back_starts_anew_and_is_told(made, other_mm, seed):
    hand = hand_of(LEAST, seed)
    hand.sweep(GOOD_MM, made)
    hand.rest(4.0)
    hand.sweep(GOOD_MM + other_mm, LEAST + 4)
    hand.rest(4.0)
    assert hand.of(StartedAnew) or hand.of(Refused)
    for size in hand.of(Sized):
        assert off_nm(size, GOOD_MM + other_mm) < 4_000
    if not hand.of(Refused):
        assert [one.at for one in hand.of(Sized)] == [P1]
        (anew,) = hand.of(StartedAnew)
        assert 1 <= anew.passes <= 3


def test_beyond_the_least_number_taking_it_away_still_ends_the_sweep():
    hand = Hand(set_to_nm=300.0)
    hand.rest(1.0)
    hand.sweep(GOOD_MM, LEAST + 1)
    hand.rest(4.0)
    assert [one.at for one in hand.of(Sized)] == [P1]
    assert not hand.of(Interrupted)


def test_how_long_it_was_down_is_no_swing_of_the_hand():
    hand = Hand(set_to_nm=300.0)
    hand.rest(1.0)
    hand.sweep(GOOD_MM, 2)
    hand.rest(5.0)
    hand.sweep(GOOD_MM, 3)
    while not hand.of(Sized) and hand.passes < LEAST:
        hand.sweep(GOOD_MM, 1)
    hand.rest(2.5)  # gone for longer than its swings, not than it was down
    assert [one.at for one in hand.of(Sized)] == [P1]


@pytest.mark.parametrize("action", ["next", "again"])
def test_a_pedal_after_an_interruption_drops_its_passes(action):
    hand = hand_of(LEAST)
    hand.sweep(GOOD_MM, 3)
    hand.rest(4.0)
    hand.feed(PedalPressed(hand.now_ns(), action))
    assert hand.phase == "armed"
    assert hand.passes == 0
    assert hand.of(Asked)[-1].at == (P2 if action == "next" else P1)


@pytest.mark.slow
@settings(max_examples=20, deadline=None)
@given(
    seed=st.integers(0, 10_000),
    stays=st.lists(st.integers(1, 4), min_size=2, max_size=6),
)
def test_however_often_it_is_put_down_only_passes_enough_make_a_size(seed, stays):
    hand = hand_of(LEAST, seed)
    made = 0
    for passes in stays:
        hand.sweep(GOOD_MM, passes)
        hand.rest(4.0)
        made += passes
        if hand.of(Sized) + hand.of(Refused):
            break
        assert made < 2 * LEAST + 4
    for size in hand.of(Sized)[:1]:
        assert (size.at, made >= LEAST) == (P1, True)
        assert off_nm(size, GOOD_MM) < 4_000
    assert len([one for one in hand.of(Passed) if one.at == P1]) <= made
