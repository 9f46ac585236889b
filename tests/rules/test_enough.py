"""When a sweep under way has enough passes, and what becomes of one that the hand ends before."""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from barrelfit.rules.bench.aim import aim_nm
from barrelfit.rules.bench.enough import Looks
from barrelfit.rules.events import NotCounted, Passed, Refused, Sized, StillDoubtful
from barrelfit.rules.model import Movement
from barrelfit.rules.said import written
from barrelfit.rules.sweep import GaugeTraits, PassFound, SweepRefused
from barrelfit.rules.sweep.stream import size_trace
from tests.rules.step_rig import GOOD_MM, P1, P2, Hand, gone_once
from tests.rules.sweep_physics import World, make, varied

LEAST, DIGIT_NM = 5, 1_000
TRAITS = GaugeTraits(Movement.FOLLOWING, DIGIT_NM)


@gone_once
def doubtful_hand() -> Hand:
    """A hand with a well set gauge that has swept five times, and is asked for more."""
    hand = Hand(set_to_nm=300.0)
    hand.rest(1.0)
    for _ in range(LEAST + 1):  # a pass counts when the next has begun
        if not hand.of(StillDoubtful):
            hand.sweep(GOOD_MM, 1)
    assert hand.of(StillDoubtful)
    return hand


@pytest.mark.parametrize(
    ("reason", "passes", "ends"),
    [
        ("too-quick", LEAST, False),
        ("too-quick", 2 * LEAST, True),
        ("too-few-passes", LEAST, False),
        ("part-exchanged", LEAST, False),
        ("part-exchanged", 2 * LEAST, True),
        ("frozen", LEAST, True),
        ("gap-in-crest", LEAST, False),
    ],
)
def test_a_sweep_without_a_size_goes_on_where_more_passes_can_mend_it(reason, passes, ends):
    looks = Looks(LEAST, TRAITS)
    assert looks.is_refused(SweepRefused(reason, written("no"), written("again")), passes) is ends


def test_passes_that_agreed_are_asked_twice_whether_they_still_do():
    found = size_trace(make("following", World(), 3), GaugeTraits(Movement.FOLLOWING, DIGIT_NM))
    odd = SweepRefused("part-exchanged", written("no"), written("again"))
    looks = Looks(LEAST, TRAITS)
    looks.is_enough(found, LEAST, found.u_nm)
    assert [looks.is_refused(odd, LEAST + n) for n in (1, 2)] == [False, True]
    looks = Looks(LEAST, TRAITS)
    assert not looks.is_refused(odd, LEAST)
    sure = replace(found, u_passes_nm=1.0)
    assert [looks.is_enough(sure, LEAST + n, found.u_nm) for n in (1, 2)] == [False, True]
    assert looks.is_refused(odd, 2 * LEAST)
    looks.is_enough(found, LEAST + 3, found.u_nm)
    assert looks.is_refused(SweepRefused("frozen", written("no"), written("again")), LEAST + 4)


def test_another_part_after_a_doubtful_size_is_refused():
    for seed in range(6):
        hand = Hand(seed, set_to_nm=300.0)
        hand.rest(1.0)
        hand.sweep(GOOD_MM, LEAST)
        hand.sweep(GOOD_MM + 0.08, 7)
        for size in hand.of(Sized):  # taken before the other part came
            assert abs(size.read_nm - GOOD_MM * 1e6) < 5_000
        assert hand.of(Refused) or hand.of(Sized)


@settings(max_examples=25, deadline=None)
@given(seed=st.integers(0, 10_000), rate_hz=st.sampled_from([10.0, 20.0, 50.0]))
def test_what_more_passes_would_lessen_decides_and_not_what_they_would_leave(seed, rate_hz):
    world = varied(seed, World(rate_hz=rate_hz))
    digit_nm = round(world.digit_mm * 1e6)
    traits = GaugeTraits(Movement.FOLLOWING, digit_nm)
    found = size_trace(make("following", world, seed), traits)
    if isinstance(found, SweepRefused):
        return
    assert found.u_passes_nm <= found.u_nm + 1e-3
    small = found.u_passes_nm**2 <= 520.0**2 + digit_nm**2 / 12
    looks = Looks(LEAST, traits)
    assert looks.is_enough(found, LEAST, found.u_passes_nm) is small
    assert looks.is_enough(found, 2 * LEAST, found.u_passes_nm)
    # A gauge set to 5 µm leaves a doubt that no sweep takes away.
    assert looks.is_enough(found, LEAST, 5_000.0)


@pytest.mark.parametrize("movement", [Movement.SCREW, Movement.BORE])
def test_screw_and_bore_gauges_are_sure_with_the_asked_passes(movement):
    traits = GaugeTraits(movement, DIGIT_NM)
    for seed in range(20):
        found = size_trace(make(movement.value, World(passes=LEAST), seed), traits)
        if not isinstance(found, SweepRefused):
            assert Looks(LEAST, TRAITS).is_enough(found, LEAST, found.u_nm)


def test_a_gauge_that_was_set_badly_is_asked_for_no_more_passes():
    hand = Hand()  # how it was set is not given: 5 µm are assumed
    hand.size(GOOD_MM)
    assert not hand.of(StillDoubtful)


def test_a_doubtful_sweep_says_so_after_every_pass_and_ends_in_a_size():
    hand = doubtful_hand()
    hand.sweep(GOOD_MM, LEAST + 1)
    doubts, (size,) = hand.of(StillDoubtful), hand.of(Sized)
    assert [one.passes for one in doubts] == list(range(LEAST, LEAST + len(doubts)))
    assert {one.at for one in doubts} == {P1}
    assert all(one.low_nm < one.size_nm < one.high_nm for one in doubts)
    assert len(size.pass_sizes_nm) <= 2 * LEAST
    assert size.high_nm - size.low_nm < doubts[0].high_nm - doubts[0].low_nm


@settings(max_examples=20, deadline=None)
@given(seed=st.integers(0, 10_000))
def test_no_sweep_takes_more_than_twice_the_asked_passes(seed):
    hand = Hand(seed, set_to_nm=300.0)
    hand.rest(1.0)
    hand.sweep(GOOD_MM, 14)
    ended = hand.of(Sized) + hand.of(Refused)
    assert len(ended) == 1
    assert max(one.number for one in hand.of(Passed)) <= 2 * LEAST


def test_a_part_taken_away_before_the_size_is_sure_has_the_size_there_is():
    hand = doubtful_hand()
    said = hand.rest(1.4)  # as long as a part that was sized must be away
    (size,) = [one for one in said if isinstance(one, Sized)]
    assert size.at == P1
    assert LEAST <= len(size.pass_sizes_nm) <= LEAST + 1
    assert hand.bench.asked.at == P2
    hand.rest(1.6)  # nobody reads the new ask any sooner
    hand.sweep(GOOD_MM - 0.02, 12)
    assert [one.at for one in hand.of(Sized)] == [P1, P2]


def test_the_part_that_is_back_for_more_passes_is_not_taken_for_the_next():
    """Told that the size is not sure yet, the hand puts it in again as the next is asked for."""
    hand = doubtful_hand()
    hand.rest(1.4)
    assert hand.bench.asked.at == P2
    hand.sweep(GOOD_MM, 12)
    assert [one.at for one in hand.of(Sized)] == [P1]
    assert hand.of(NotCounted)[0] == NotCounted(P2, "asked-late")


def test_a_pause_between_passes_does_not_end_a_doubtful_sweep():
    hand = doubtful_hand()
    assert not [one for one in hand.rest(0.9) if isinstance(one, Sized)]
    hand.sweep(GOOD_MM, 7)
    (size,) = hand.of(Sized)
    assert len(size.pass_sizes_nm) > LEAST


def swung(looks: Looks, number: int, away_s: float, begin_s: float) -> float:
    """A pass of a second, then so long away; gives when it is back."""
    end_s, crest_nm = begin_s + 1.0, 84_920_000
    looks.reads(round(begin_s * 1e9), crest_nm, crest_nm)
    looks.passed(PassFound(number, crest_nm + number, round(begin_s * 1e9), round(end_s * 1e9)))
    for n in range(round(away_s * 20)):
        looks.reads(round((end_s + 0.1 + n / 20) * 1e9), crest_nm - 900_000, crest_nm)
    looks.reads(round((end_s + 0.1 + away_s) * 1e9), crest_nm, crest_nm)
    return end_s + 0.2 + away_s


def test_the_longest_swing_so_far_tells_how_long_away_is_gone():
    looks = Looks(LEAST, TRAITS)
    assert looks.gone_ns == 1_200_000_000
    begin_s = 1.0
    for number, away_s in enumerate((1.5, 1.7, 0.5)):
        begin_s = swung(looks, number, away_s, begin_s)
    assert looks.about_nm == 84_920_002
    assert looks.gone_ns == 2_550_000_000  # half as long again as 1.7 s; the last is not over yet
    for number in (3, 4):
        begin_s = swung(looks, number, 9.0, begin_s)
    assert looks.gone_ns == 6_000_000_000


def test_a_part_that_was_put_down_tells_nothing_of_the_swings():
    looks = Looks(LEAST, TRAITS)
    begin_s = swung(looks, 0, 4.0, 1.0)
    looks.interrupted()
    swung(looks, 1, 0.5, begin_s)
    assert looks.gone_ns == 1_200_000_000


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize(("stroke_s", "reach_mm"), [(2.0, 14.0), (2.4, 14.0), (3.0, 20.0)])
def test_a_hand_that_swings_wide_and_slowly_stays_at_its_part(seed, stroke_s, reach_mm):
    hand = Hand(seed, set_to_nm=300.0, stroke_s=stroke_s, reach_mm=reach_mm)
    hand.rest(1.0)
    hand.sweep(GOOD_MM, 14)  # it goes on after the size, as one does who looks up late
    (size,) = hand.of(Sized)
    assert size.at == P1
    doubts = [one.passes for one in hand.of(StillDoubtful)]
    assert doubts == list(range(LEAST, LEAST + len(doubts)))
    assert len(size.pass_sizes_nm) >= LEAST + len(doubts)
    hand.rest(3.5)
    hand.sweep(GOOD_MM - 0.02, 14)
    hand.rest(3.5)
    assert [one.at for one in hand.of(Sized)] == [P1, P2]
    assert not hand.of(Refused)


def test_surplus_passes_are_told_once_not_to_count():
    hand = Hand(stroke_s=2.0)
    hand.size(GOOD_MM)
    hand.sweep(GOOD_MM, 6)
    assert [one.at for one in hand.of(NotCounted)] == [P2]
    hand.rest(4.0)
    hand.sweep(GOOD_MM - 0.02, 12)
    assert [one.at for one in hand.of(Sized)] == [P1, P2]


def test_a_part_that_is_taken_away_at_once_hears_nothing_of_it():
    hand = Hand()
    hand.rest(1.0)
    while not hand.of(Sized):
        hand.sweep(GOOD_MM, 1)
    hand.rest(4.0)
    assert not hand.of(NotCounted)


def test_the_aim_that_is_shown_is_about_where_a_sweep_ends():
    for seed in range(3):
        hand = Hand(seed, set_to_nm=300.0)
        hand.rest(1.0)
        hand.sweep(GOOD_MM, 2 * LEAST)
        gauge = hand.bench.setup.gauges["micrometer"]
        aim = aim_nm(hand.bench.setup, hand.bench.plan[0], gauge)
        doubts = [(d.high_nm - d.low_nm) / 2 for d in hand.of(StillDoubtful)]
        assert min(doubts) > aim - 100  # as sure as that, it is asked for no more passes
        assert min(doubts) < 1.4 * aim
