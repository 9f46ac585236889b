"""What would make a sweep sure sooner is said once, while it goes on, and only where it would."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from barrelfit.rules.bench.coach import FIRST_AFTER, Coach
from barrelfit.rules.events import Passed, Sized
from barrelfit.rules.hints import Coached
from barrelfit.rules.model import Movement
from barrelfit.rules.said import Said, written
from barrelfit.rules.sweep import GaugeTraits, PassFound, SweepRefused
from tests.bench.hand_study import KINDS, row_of
from tests.rules.step_rig import GOOD_MM, Hand, replayed

LEAST = 5
QUICK = SweepRefused("too-quick", written("no"), written("again"))


def swept(coach: Coach, passes: int, crest_s: float, lift_nm: int) -> list[str]:
    """What is said after each of some passes that leave the sweep without a size."""
    heard: list[Said | None] = []
    for n in range(passes):
        begin_ns = n * 2_000_000_000
        coach.passed(PassFound(n + 1, 84_920_000, begin_ns, begin_ns + int(crest_s * 1e9), lift_nm))
        heard.append(coach.of_refusal(QUICK))
    return [one.key if one is not None else "" for one in heard]


def coach(movement: Movement = Movement.FOLLOWING) -> Coach:
    return Coach(LEAST, GaugeTraits(movement, 1_000))


def test_one_thing_at_a_time_and_each_once() -> None:
    assert swept(coach(), 8, 0.3, 9_000) == [
        *("", "", "do_rest_flatter", "", "do_slower_over_top", "", "", "")
    ]


@pytest.mark.parametrize(
    ("crest_s", "lift_nm", "helps"),
    [(0.3, 1_000, "do_slower_over_top"), (0.9, 9_000, "do_rest_flatter"), (0.9, 1_000, "")],
)
def test_only_what_would_help_is_said(crest_s: float, lift_nm: int, helps: str) -> None:
    assert set(swept(coach(), 8, crest_s, lift_nm)) - {""} == ({helps} if helps else set())


@pytest.mark.parametrize("movement", [Movement.SCREW, Movement.BORE, Movement.HELD])
def test_gauges_that_do_not_ride_on_the_tilt_are_told_nothing(movement: Movement) -> None:
    assert set(swept(coach(movement), 8, 0.2, 20_000)) == {""}
    assert not coach(movement).is_due(FIRST_AFTER)


def test_a_refusal_that_no_hand_can_mend_is_no_reason() -> None:
    watched = coach()
    swept(watched, 2, 0.2, 20_000)
    assert watched.of_refusal(SweepRefused("frozen", written("no"), written("no"))) is None


@settings(max_examples=8, deadline=None)
@given(seed=st.integers(0, 10_000), set_to_nm=st.sampled_from([300.0, 5_000.0]))
def test_what_is_said_decides_nothing_and_comes_again_in_a_redo(
    seed: int, set_to_nm: float
) -> None:
    hand = Hand(seed, set_to_nm=set_to_nm)
    hand.rest(1.0)
    hand.sweep(GOOD_MM, 12)
    heard = hand.of(Coached)
    assert len(heard) <= 2
    assert all(one.passes <= len(hand.of(Passed)) for one in heard)
    again = replayed(hand.fed, hand.bench.setup)
    assert [one for one in again if isinstance(one, Coached)] == heard
    assert [one for one in again if isinstance(one, Sized)] == hand.of(Sized)


def test_a_gauge_that_was_set_badly_is_coached_for_nothing() -> None:
    hand = Hand(stroke_s=2.2)  # how it was set is not given: 5 µm are assumed
    hand.rest(1.0)
    hand.sweep(GOOD_MM, 8)
    assert hand.of(Sized)
    assert not hand.of(Coached)


@pytest.mark.slow
def test_a_hand_that_obeys_is_done_sooner() -> None:
    alone, obeys = (row_of(KINDS[name], 20.0, range(3)) for name in ("slow", "slow, obeys"))
    assert sum(obeys.passes) < sum(alone.passes)
    assert sum(obeys.seconds) < sum(alone.seconds)
