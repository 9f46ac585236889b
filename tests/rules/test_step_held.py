"""A gauge that sends only on its button: presses at the crest are counted and make a size."""

import random
from dataclasses import replace

import pytest

from barrelfit.acquire.errors import UserError
from barrelfit.acquire.inputs.bench_file import bench_file
from barrelfit.rules.events import FarOff, NotCounted, Passed, Reading, Refused, Sized
from barrelfit.rules.model import Movement
from barrelfit.rules.sweep import GaugeTraits
from barrelfit.rules.sweep import SweepRefused as NoSize
from barrelfit.rules.sweep import SweepSized as Swept
from barrelfit.rules.sweep.stream import size_trace
from tests.acquire.recorded import CONFIG
from tests.rules.step_rig import GOOD_MM, OUTSIDE, P1, P2, Hand

TRAITS = GaugeTraits(Movement.HELD, 1_000)


def held_hand(seed: int = 1) -> Hand:
    hand = Hand(seed, set_to_nm=300.0)
    setup = hand.bench.setup
    gauge = setup.gauges[OUTSIDE]
    gauge = replace(gauge, traits=replace(gauge.traits, movement=Movement.HELD))
    hand.begin(replace(setup, gauges={**setup.gauges, OUTSIDE: gauge}))
    return hand


def press(hand: Hand, mm: float, times: int = 1, scatter_mm: float = 0.002) -> None:
    for _ in range(times):
        hand.t_s += 1.5
        length_nm = round((mm + hand.chance.gauss(0, scatter_mm)) * 1000) * 1000
        hand.feed(Reading(OUTSIDE, hand.now_ns(), length_nm))


def test_each_press_is_counted_and_the_least_number_makes_a_size():
    hand = held_hand()
    press(hand, GOOD_MM, 4)
    assert [one.number for one in hand.of(Passed)] == [1, 2, 3, 4]
    assert not hand.of(Sized)
    press(hand, GOOD_MM)
    (size,) = hand.of(Sized)
    assert size.at == P1
    assert size.rank == "average of two-point sizes"
    assert len(size.pass_sizes_nm) == 5
    assert abs(size.read_nm - GOOD_MM * 1e6) < 4_000
    assert hand.bench.asked.at == P2


def test_one_press_too_many_is_not_the_next_part_s():
    hand = held_hand()
    press(hand, GOOD_MM, 6)
    assert hand.of(NotCounted) == [NotCounted(P2)]
    hand.t_s += 5.0
    press(hand, GOOD_MM - 0.02, 5)
    sizes = hand.of(Sized)
    assert [one.at for one in sizes] == [P1, P2]
    assert len(sizes[1].pass_sizes_nm) == 5
    assert abs(sizes[1].read_nm - (GOOD_MM - 0.02) * 1e6) < 4_000


def test_presses_on_two_parts_are_no_size():
    hand = held_hand()
    press(hand, GOOD_MM, 3)
    press(hand, GOOD_MM - 0.08, 2)
    (refused,) = hand.of(Refused)
    assert refused.reason == "passes-disagree"
    hand.t_s += 5.0
    press(hand, GOOD_MM, 5)
    assert [one.at for one in hand.of(Sized)] == [P1]


def test_presses_before_the_ask_count_for_nothing():
    hand = held_hand()
    hand.link = False
    hand.begin(hand.bench.setup)
    press(hand, GOOD_MM, 5)
    assert not hand.of(Passed)
    hand.linked()
    assert hand.phase == "leaving"
    hand.t_s += 5.0
    press(hand, GOOD_MM, 5)
    assert [one.at for one in hand.of(Sized)] == [P1]


def test_the_first_press_of_a_zeroed_gauge_is_told():
    hand = held_hand()
    press(hand, 0.01)
    (far,) = hand.of(FarOff)
    assert far.code == "zeroed"


@pytest.mark.parametrize(("read_mm", "code"), [(0.01, "zeroed"), (3.3433, "inches")])
@pytest.mark.parametrize("before", [0, 3])
def test_a_press_that_is_far_off_counts_for_nothing_and_spoils_nothing(read_mm, code, before):
    """Whoever sets the gauge right on the board's word has lost no press by it."""
    hand = held_hand()
    press(hand, GOOD_MM, before)
    press(hand, read_mm, 2)
    assert [far.code for far in hand.of(FarOff)] == [code, code]
    press(hand, GOOD_MM, 5 - before)
    assert [one.number for one in hand.of(Passed)] == [1, 2, 3, 4, 5]
    (size,) = hand.of(Sized)
    assert size.at == P1
    assert abs(size.read_nm - GOOD_MM * 1e6) < 4_000
    assert not hand.of(Refused)


def test_their_scatter_is_the_doubt_of_the_size():
    """n presses of known scatter: u = s/√n, and the interval holds the truth in 95 % of sizes."""
    chance = random.Random(7)  # noqa: S311
    held, wide = 0, []
    for _ in range(400):
        presses = [(n, 84_920_000 + round(chance.gauss(0, 3_000))) for n in range(1, 6)]
        found = size_trace(presses, replace(TRAITS, digit_nm=1))
        assert isinstance(found, Swept)
        held += found.low_nm <= 84_920_000 <= found.high_nm
        wide.append(found.u_sweep_nm)
    assert 0.93 <= held / 400 <= 0.97
    assert sum(wide) / 400 == pytest.approx(3_000 / 5**0.5, rel=0.1)


def test_equal_presses_leave_the_last_digit_open():
    found = size_trace([(n, 84_920_000) for n in range(1, 6)], TRAITS)
    assert isinstance(found, Swept)
    assert found.u_sweep_nm == 0.0
    assert found.u_nm == pytest.approx(1_000 / 12**0.5, rel=1e-3)


@pytest.mark.parametrize(
    ("presses", "reason"),
    [
        ([], "no-contact"),
        ([(1, 84_920_000), (2, 84_921_000)], "too-few-passes"),
        ([(1, 84_920_000), (2, 84_921_000), (3, 84_990_000)], "passes-disagree"),
    ],
)
def test_what_is_no_size_says_why(presses, reason):
    found = size_trace(presses, TRAITS)
    assert isinstance(found, NoSize)
    assert found.reason == reason


def test_a_press_that_comes_twice_is_one():
    twice = [(1, 84_920_000), (1, 84_920_000), (2, 84_921_000)]
    assert isinstance(size_trace(twice, TRAITS), NoSize)


@pytest.mark.parametrize("measures", ["outside", "bore"])
def test_the_bench_file_has_a_word_for_it(measures):
    was = {"outside": 'movement = "following"', "bore": 'movement = "bore"'}[measures]
    assert was in CONFIG
    bench = bench_file(CONFIG.replace(was, 'movement = "held"'), "bench.toml")
    assert "held" in {gauge.movement for gauge in bench.gauge}


def test_the_bench_file_still_knows_what_does_not_fit():
    with pytest.raises(UserError, match="held where it sends only on its button"):
        bench_file(CONFIG.replace('movement = "bore"', 'movement = "screw"'), "bench.toml")
