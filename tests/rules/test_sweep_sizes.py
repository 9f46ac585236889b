"""Sizes of simulated sweeps against the truth of an independent quick model of the geometry.

The large study, with the figures that the README quotes, is tests/bench/sweep_study.py; here are
small samples of it, with limits wide enough for their size.
"""

import math
from dataclasses import replace

import pytest

from barrelfit.rules.model import Movement
from barrelfit.rules.sweep import GaugeTraits, SweepRefused, SweepSized
from barrelfit.rules.sweep.stream import size_trace
from tests.rules.sweep_physics import World, bore_mm, make, outside_mm, varied

SWEEPS = 24


def sized(movement: str, world: World, seed: int) -> SweepSized | SweepRefused:
    traits = GaugeTraits(Movement(movement), round(world.digit_mm * 1e6))
    return size_trace(make(movement, world, seed), traits)


def errors_um(movement: str, base: World, **fixed: object) -> tuple[list[float], int, int]:
    """Errors of the sweeps that were sized, how many intervals held the truth, how many refused."""
    errors, held, refused = [], 0, 0
    for seed in range(SWEEPS):
        world = replace(varied(seed, base), **fixed)
        result = sized(movement, world, seed)
        if isinstance(result, SweepRefused):
            refused += 1
            continue
        truth_nm = world.diameter_mm * 1e6
        errors.append((result.size_nm - truth_nm) / 1e3)
        held += result.low_nm <= truth_nm <= result.high_nm
    return errors, held, refused


def rms(values: list[float]) -> float:
    return math.sqrt(sum(v * v for v in values) / len(values))


@pytest.mark.slow
@pytest.mark.parametrize("rate_hz", [10.0, 20.0, 50.0])
@pytest.mark.parametrize("movement", ["screw", "bore"])
def test_screw_and_bore_sizes_are_right(movement: str, rate_hz: float) -> None:
    errors, held, refused = errors_um(movement, World(rate_hz=rate_hz))
    assert rms(errors) < 0.5
    assert max(map(abs, errors)) < 2.5
    assert held >= 0.85 * len(errors)
    assert refused <= 0.1 * SWEEPS


@pytest.mark.slow
@pytest.mark.parametrize("barrel_mm", [0.0, 5000.0])
@pytest.mark.parametrize("rest_mm", [0.0, 1.2])
@pytest.mark.parametrize(("rate_hz", "limit_um"), [(20.0, 1.1), (50.0, 0.9)])
def test_a_deliberate_outside_sweep_is_right(
    rate_hz: float, limit_um: float, rest_mm: float, barrel_mm: float
) -> None:
    errors, held, refused = errors_um(
        "following",
        World(rate_hz=rate_hz),
        rest_mm=rest_mm,
        barrel_mm=barrel_mm,
        tilt_kind="pull",
        tilt_tau_s=0.15,
        stroke_s=3.0,
        reach_mm=8.0,
    )
    assert rms(errors) < limit_um
    assert held >= 0.8 * len(errors)
    assert refused <= 0.15 * SWEEPS


@pytest.mark.slow
def test_a_screw_that_rides_on_the_tilt_is_seen() -> None:
    errors, held, refused = errors_um("screw", World(rate_hz=20.0), rides=True)
    assert rms(errors) < 1.2
    assert held >= 0.75 * len(errors)
    assert refused <= 0.15 * SWEEPS


@pytest.mark.slow
@pytest.mark.parametrize("rate_hz", [5.0, 20.0])
def test_no_noise_no_bounce_no_tilt_gives_the_size_to_the_digit(rate_hz: float) -> None:
    """With nothing in the way the size is exact to a small part of the last digit."""
    for movement in ("following", "screw", "bore"):
        world = World(
            rate_hz=rate_hz,
            tilt_deg=0.0,
            noise_um=0.0,
            bounce_share=0.0,
            drop_share=0.0,
            stroke_s=4.0 if movement == "following" else 1.5,
            reach_mm=8.0,
        )
        result = sized(movement, world, 1)
        assert isinstance(result, SweepSized), (movement, result)
        assert abs(result.size_nm - world.diameter_mm * 1e6) < 1_000, movement


@pytest.mark.slow
def test_a_coarse_digit_widens_the_interval_of_a_held_screw() -> None:
    """Readings that stand on one digit leave the size open by it, however many they are."""
    fine = sized("screw", World(noise_um=0.3, digit_mm=0.001), 4)
    coarse = sized("screw", World(noise_um=0.3, digit_mm=0.01), 4)
    assert isinstance(fine, SweepSized)
    assert isinstance(coarse, SweepSized)
    assert coarse.u_nm > 2 * fine.u_nm
    assert coarse.low_nm <= 84_012_300 <= coarse.high_nm


@pytest.mark.slow
def test_bounces_do_not_move_a_size() -> None:
    for movement in ("following", "screw", "bore"):
        calm = World(rate_hz=50.0, bounce_share=0.0, stroke_s=2.5, reach_mm=8.0)
        bounced = replace(calm, bounce_share=0.03, bounce_um=80.0)
        sizes = [sized(movement, world, 3) for world in (calm, bounced)]
        assert all(isinstance(s, SweepSized) for s in sizes), sizes
        assert abs(sizes[0].size_nm - sizes[1].size_nm) < 2_000  # type: ignore[union-attr]


@pytest.mark.slow
def test_a_result_names_its_estimator_rank_and_passes() -> None:
    result = sized("screw", World(), 2)
    assert isinstance(result, SweepSized)
    assert result.estimator == "last-plateau"
    assert result.rank == "minimum of two-point sizes"  # ISO 14405-1 rank-order size
    assert len(result.passes) == len(result.pass_sizes_nm) == 6
    assert all(p.start_ns < p.end_ns for p in result.passes)
    assert result.low_nm < result.size_nm < result.high_nm


def test_the_geometry_of_the_quick_model() -> None:
    """Tilt only lengthens, a chord only shortens; values worked by hand from the formula.

    2·sqrt(42² - 1²) = 83.976187 for an offset 1 mm past the face; 84 + 6.5·sin 0.15° = 84.017017.
    """
    world = World(diameter_mm=84.0)
    assert outside_mm(world, 2.0, 0.0) == 84.0
    assert math.isclose(outside_mm(world, 4.25, 0.0), 83.976187, abs_tol=1e-6)
    tilted = outside_mm(world, 0.0, math.radians(0.15))
    assert math.isclose(tilted, 84.017305, abs_tol=1e-6)  # (84 + 6.5·sin θ)/cos θ
    barrelled = replace(world, barrel_mm=5000.0)
    assert 84.0 < outside_mm(barrelled, 0.0, math.radians(0.15)) < tilted
    assert math.isclose(bore_mm(world, math.radians(2.0)), 84.048764, abs_tol=1e-5)


@pytest.mark.slow
@pytest.mark.parametrize("movement", ["following", "screw", "bore"])
def test_doubts_end_at_a_thousandth_of_a_nanometre(movement: str) -> None:
    """So that sums whose last bits another machine rounds otherwise still redo the same."""
    found = sized(movement, World(stroke_s=3.0, reach_mm=8.0), 1)
    assert isinstance(found, SweepSized)
    for value in (found.u_nm, found.u_sweep_nm, found.u_digit_nm, found.dof):
        assert value == round(value, 3)
        assert value > 0.0


@pytest.mark.slow
@pytest.mark.parametrize("movement", ["following", "screw", "bore"])
@pytest.mark.parametrize(("digit_mm", "noise_um"), [(0.01, 0.5), (0.001, 0.02)])
def test_intervals_hold_the_truth_of_coarse_and_of_quiet_gauges(
    movement: str, digit_mm: float, noise_um: float
) -> None:
    """A hundredth of a millimetre as last digit; and readings that hardly ever flicker."""
    slow = {"stroke_s": 3.0, "reach_mm": 8.0, "digit_mm": digit_mm, "noise_um": noise_um}
    errors, held, refused = errors_um(movement, World(rate_hz=20.0), **slow)
    assert held >= 0.8 * len(errors)
    assert max(map(abs, errors)) < 1_000 * digit_mm + 2.5
    assert refused <= 0.2 * SWEEPS


@pytest.mark.slow
@pytest.mark.parametrize("rate_hz", [20.0, 50.0])
def test_a_hand_that_hardly_rocks_keeps_an_honest_interval(rate_hz: float) -> None:
    still = {"stroke_s": 3.0, "reach_mm": 8.0, "tilt_deg": 0.02}
    errors, held, refused = errors_um("following", World(rate_hz=rate_hz), **still)
    assert held >= 0.9 * len(errors)
    assert rms(errors) < 1.0
    assert refused <= 2


@pytest.mark.slow
@pytest.mark.parametrize("barrel_mm", [0.0, 2_000.0])
def test_a_hand_that_rocks_little_and_evenly_keeps_an_honest_interval(barrel_mm: float) -> None:
    """The law of its tilt, which is no normal one, shows whole within a few µm."""
    world = World(rate_hz=50.0, tilt_deg=0.05, tilt_kind="sine", noise_um=0.6, barrel_mm=barrel_mm)
    slow = replace(world, rest_mm=1.2, stroke_s=3.0, reach_mm=8.0)
    held = 0
    for seed in range(30):
        found = sized("following", slow, seed)
        assert isinstance(found, SweepSized)
        truth_nm = slow.diameter_mm * 1e6
        held += found.low_nm <= truth_nm <= found.high_nm
        assert abs(found.size_nm - truth_nm) < 1_500
    assert held >= 28
