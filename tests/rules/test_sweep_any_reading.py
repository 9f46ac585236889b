"""Whatever a gauge sends comes to a size or a refusal: zeroed on its part, spikes, nonsense."""

import random

import pytest

from barrelfit.rules.model import Movement
from barrelfit.rules.sweep import GaugeTraits, SweepRefused, SweepSized
from barrelfit.rules.sweep.stream import size_trace
from tests.rules.sweep_physics import Trace, World, make

NOUGHT_NM = 84_012_000
OFFSETS_NM = (0, -1_000, -3_000, 2_000, -20_000, -100_000, -2_000_000)


def outcome(trace: Trace, movement: Movement, digit_nm: int = 1_000) -> object:
    return size_trace(trace, GaugeTraits(movement, digit_nm))


@pytest.mark.parametrize("offset_nm", OFFSETS_NM)
@pytest.mark.parametrize("movement", ["bore", "screw", "following"])
def test_a_gauge_that_was_zeroed_on_its_part_is_no_reason_to_stop(movement, offset_nm):
    """It reads about nothing, or less; that this is no part's size is told elsewhere."""
    for seed in range(3 if movement == "bore" else 1):
        world = World(rate_hz=20.0, stroke_s=1.5, reach_mm=8.0)
        zeroed = [(t, nm - NOUGHT_NM + offset_nm) for t, nm in make(movement, world, seed)]
        assert isinstance(outcome(zeroed, Movement(movement)), SweepSized | SweepRefused)


def spoiled(chance: random.Random) -> tuple[Trace, int]:
    """A sweep with another unit, zero, sign, digit or times, cut short, or full of spikes."""
    world = World(
        rate_hz=chance.choice((5.0, 10.0, 20.0)),
        stroke_s=chance.choice((0.8, 1.5, 3.0)),
        noise_um=chance.choice((0.0, 0.8, 5.0)),
        passes=chance.choice((1, 3, 6)),
    )
    trace = make(chance.choice(("following", "screw", "bore")), world, chance.randrange(10**6))
    times = chance.choice((1, 1, -1, 0, 1 / 25.4, 0.001, 1000))
    more_nm = chance.choice((0, -NOUGHT_NM, -80_000_000, 10**9, -(10**9)))
    digit_nm = chance.choice((1, 1_000, 10_000, 100_000))
    spikes_nm = chance.choice((0, 0, 10**6, 10**8))
    grain_ns = chance.choice((1, 1, 10**9))
    length = chance.choice((len(trace), len(trace), chance.randrange(len(trace))))
    return [
        (
            t // grain_ns * grain_ns,
            round((nm * times + more_nm) / digit_nm) * digit_nm
            + (chance.random() < 0.05) * chance.choice((-1, 1)) * spikes_nm,
        )
        for t, nm in trace[:length]
    ], digit_nm


@pytest.mark.parametrize("movement", Movement)
def test_any_readings_at_all_come_to_a_size_or_a_refusal(movement):
    chance = random.Random(f"any {movement}")  # noqa: S311  spoiled on purpose
    for _ in range(25):
        trace, digit_nm = spoiled(chance)
        found = outcome(trace, movement, max(digit_nm, 1_000))
        assert isinstance(found, SweepSized | SweepRefused)


def test_spikes_of_a_metre_leave_a_rock_without_a_say():
    """No reading is near enough to the others' curve to bear on the size: an endless doubt."""
    world = World(rate_hz=10.0, stroke_s=1.5, reach_mm=8.0)
    for seed in range(8):
        far = [(t, (nm - NOUGHT_NM) * 1_000) for t, nm in make("following", world, seed)]
        assert isinstance(outcome(far, Movement.BORE), SweepSized | SweepRefused)
