"""Rocks of a bore gauge by hands of every kind: what they read is the model's own geometry."""

import math
import random
from collections.abc import Callable
from dataclasses import replace

import pytest

from barrelfit.rules.model import Movement
from barrelfit.rules.sweep import GaugeTraits, SweepRefused, SweepSized
from barrelfit.rules.sweep.stream import size_trace
from tests.rules.sweep_physics import TURN, World, bore_mm

TRAITS = GaugeTraits(Movement.BORE, 1_000)
ROCKS_S = 8.0
WIDER_S = 1.9  # two rocks


def rocked(
    tilt_deg: Callable[[float], float], rate_hz: float, seed: int, wider_mm: float = 0.0
) -> SweepSized | SweepRefused:
    """The size of rocks along a tilt; the first two may be in a bore wider by `wider_mm`."""
    chance = random.Random(seed)  # noqa: S311  a simulated hand
    world = World(diameter_mm=84.9876, noise_um=0.8, rate_hz=rate_hz)
    wider = replace(world, diameter_mm=world.diameter_mm + wider_mm)
    samples = []
    for n in range(round(ROCKS_S * rate_hz)):
        t_s = (n + chance.uniform(-0.1, 0.1)) / rate_hz + 0.1
        bore = wider if t_s < WIDER_S else world
        shown = bore_mm(bore, math.radians(tilt_deg(t_s))) + chance.gauss(0, world.noise_um) / 1e3
        samples.append((round(t_s * 1e9), round(shown * 1e3) * 1_000))
    return size_trace(samples, TRAITS)


def even(t_s: float) -> float:
    """Four degrees to either side at one speed, one rock in 0.95 s."""
    return 8.0 / math.pi * math.asin(math.cos(math.pi * t_s / 0.95))


def smooth(t_s: float) -> float:
    return 4.0 * math.cos(math.pi * t_s / 0.95)


@pytest.mark.parametrize("rate_hz", [10.0, 20.0, 50.0])
def test_a_hand_of_even_speed_is_not_taken_for_chords(rate_hz: float) -> None:
    for seed in range(15):
        found = rocked(even, rate_hz, seed)
        assert isinstance(found, SweepSized), f"seed {seed}: {found}"
        assert found.size_nm == pytest.approx(84_987_600, abs=1_500)


@pytest.mark.parametrize("rate_hz", [20.0, 50.0])
def test_an_uneven_hand_is_read_nearer_to_the_upright(rate_hz: float) -> None:
    sized = 0
    for seed in range(20):
        chance = random.Random(seed)  # noqa: S311  a simulated hand
        first, second = chance.uniform(0, TURN), chance.uniform(0, TURN)

        def uneven(t_s: float, first: float = first, second: float = second) -> float:
            late_s = 0.045 * math.sin(TURN * 1.3 * t_s + first)
            return smooth(t_s + late_s) * (1.0 + 0.2 * math.sin(TURN * 0.8 * t_s + second))

        found = rocked(uneven, rate_hz, seed)
        if isinstance(found, SweepSized):
            sized += 1
            assert found.size_nm == pytest.approx(84_987_600, abs=2_000)
    assert sized >= 17


@pytest.mark.parametrize("rate_hz", [10.0, 20.0, 50.0])
@pytest.mark.parametrize("wider_mm", [-0.02, 0.02, 0.12])
def test_two_rocks_in_another_bore_are_told(rate_hz: float, wider_mm: float) -> None:
    for seed in range(15):
        found = rocked(smooth, rate_hz, seed, wider_mm)
        assert isinstance(found, SweepRefused), f"seed {seed}: {found}"
