"""Which readings stood on the crest, whatever the hand did beside it; its own path is the truth."""

import random
from collections.abc import Sequence

import pytest

from barrelfit.rules.model import Movement
from barrelfit.rules.sweep import GaugeTraits, SweepRefused, SweepSized
from barrelfit.rules.sweep.dome import roundness_nm
from barrelfit.rules.sweep.stream import size_trace
from tests.rules.sweep_physics import Path, Trace, World, outside_mm, strokes_path, tilt_path

EDGE_MM = World().anvil_mm / 2
TRAITS = GaugeTraits(Movement.FOLLOWING, 1_000)


def swept(world: World, goals: Sequence[float], seed: int) -> tuple[Trace, Path]:
    """A sweep through `goals` (mm beside the crest), and where the part was over time."""
    chance = random.Random(seed)  # noqa: S311  a simulated hand
    path, length_s = strokes_path(list(goals), world, chance, pause=0.0)
    tilt = tilt_path(world, chance)
    samples: Trace = []
    for n in range(round(length_s * world.rate_hz)):
        t_s = n / world.rate_hz
        shown = outside_mm(world, path(t_s), tilt(t_s)) + chance.gauss(0, world.noise_um) / 1e3
        samples.append((round(t_s * 1e9), round(shown / world.digit_mm) * 1_000))
    return samples, path


@pytest.mark.parametrize("rate_hz", [20.0, 50.0])
def test_a_hand_that_lingers_beside_the_crest_swept_one_part(rate_hz: float) -> None:
    """On every way in it stops 1.8 mm past the edge, slips back to 2.3, and goes on."""
    world = World(rate_hz=rate_hz, stroke_s=1.4, tilt_deg=0.1)
    goals = [-8.0]
    for side in (1, -1) * 3:
        goals += [-side * (EDGE_MM + 1.8), -side * (EDGE_MM + 2.3), side * 8.0]
    for seed in range(10):
        samples, _ = swept(world, goals, seed)
        result = size_trace(samples, TRAITS)
        assert isinstance(result, SweepSized), f"seed {seed}: {result}"
        assert abs(result.size_nm / 1e6 - world.diameter_mm) < 0.004


def test_another_part_between_the_anvils_is_still_told() -> None:
    """The gauge stood open in between: what the small hills beside a crest never do."""
    goals = [-8.0, 8.0, -8.0, 8.0, -8.0]
    for seed in range(10):
        first, _ = swept(World(tilt_deg=0.1, stroke_s=2.0), goals, seed)
        other, _ = swept(World(tilt_deg=0.1, stroke_s=2.0, diameter_mm=84.0723), goals, seed)
        begin_ns = first[-1][0] + 400_000_000
        result = size_trace(first + [(t + begin_ns, y) for t, y in other], TRAITS)
        assert isinstance(result, SweepRefused), f"seed {seed}: {result}"


@pytest.mark.parametrize("rate_hz", [20.0, 50.0])
def test_a_hand_quick_on_the_crest_and_slow_beside_it_is_not_taken_for_chords(
    rate_hz: float,
) -> None:
    world = World(rate_hz=rate_hz, stroke_s=2.2, tilt_deg=0.15)
    for seed in range(15):
        samples, _ = swept(world, [-5.4, 6.4] * 4, seed)
        result = size_trace(samples, TRAITS)
        assert not isinstance(result, SweepRefused) or result.reason != "chords-only", (
            f"seed {seed}"
        )


def test_the_top_of_a_part_that_turned_back_is_round_and_a_crest_is_flat() -> None:
    world = World(tilt_deg=0.0, noise_um=0.0, rate_hz=50.0, stroke_s=1.0)
    level_nm = round(world.diameter_mm * 1e6)
    over, _ = swept(world, [-8.0, 8.0], 0)
    back, _ = swept(world, [-8.0, -EDGE_MM - 0.2, -8.0], 0)
    flat, arch = (roundness_nm(hill, level_nm) for hill in (over, back))
    assert flat is not None
    assert arch is not None
    assert flat < 5_000
    assert arch > 20_000
    assert roundness_nm(over[:1], level_nm) is None


@pytest.mark.parametrize("rate_hz", [20.0, 50.0])
def test_hardly_a_reading_used_was_a_chord(rate_hz: float) -> None:
    """0.3 mm past the anvil's edge a chord costs 2 µm."""
    used = beyond = 0
    for seed in range(25):
        world = World(rate_hz=rate_hz, stroke_s=3.0, tilt_tau_s=0.1, tilt_deg=0.19)
        samples, path = swept(world, [-8.0, 8.0] * 3, seed)
        result = size_trace(samples, TRAITS)
        for crest in result.passes if isinstance(result, SweepSized) else ():
            times = [t for t, _ in samples if crest.start_ns <= t <= crest.end_ns]
            used += len(times)
            beyond += sum(abs(path(t / 1e9)) > EDGE_MM + 0.3 for t in times)
    assert used > 1_500
    assert beyond < used / 400
