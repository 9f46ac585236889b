"""What this version finds in a few sweeps, kept: a redo calls a session altered when sizes differ
and the version is the same. So whatever makes another size of the same readings is a new version.
"""

from importlib.metadata import version

import pytest

from barrelfit.rules.model import Movement
from barrelfit.rules.sweep import GaugeTraits, SweepRefused
from barrelfit.rules.sweep.stream import size_trace
from tests.bench.sweep_study import at_the_bench
from tests.rules.sweep_physics import World, make

VERSION = "0.12.0"
KEPT = {
    ("following", 10.0): (84_012_174, 1558.276, 84_008_794, 84_015_023),
    ("following", 50.0): (84_012_424, 780.337, 84_010_878, 84_014_042),
    ("screw", 10.0): (84_012_402, 158.168, 84_012_085, 84_012_708),
    ("screw", 50.0): (84_012_397, 101.824, 84_012_190, 84_012_600),
    ("bore", 10.0): (84_012_252, 295.852, 84_011_681, 84_012_780),
    ("bore", 50.0): (84_012_436, 193.392, 84_012_064, 84_012_808),
}


KEPT_PASSES = [5, 10, 9, 5, 5, 9]


def passes_taken(seed: int) -> int:
    world = World(rate_hz=50.0, stroke_s=3.0, reach_mm=8.0, noise_um=0.5, passes=14)
    found = at_the_bench(make("following", world, seed), GaugeTraits(Movement.FOLLOWING, 1_000))
    return 0 if isinstance(found, SweepRefused) else len(found.pass_sizes_nm)


def told(movement: str, rate_hz: float) -> tuple[object, ...]:
    world = World(rate_hz=rate_hz, stroke_s=3.0, reach_mm=8.0)
    traits = GaugeTraits(Movement(movement), 1_000)
    found = size_trace(make(movement, world, 5), traits)
    if isinstance(found, SweepRefused):
        return (found.reason,)
    return found.size_nm, found.u_nm, found.low_nm, found.high_nm


@pytest.mark.slow
@pytest.mark.parametrize("movement", ["following", "screw", "bore"])
@pytest.mark.parametrize("rate_hz", [10.0, 50.0])
def test_the_same_readings_make_the_same_sizes(movement: str, rate_hz: float) -> None:
    told_now = told(movement, rate_hz)
    assert (version("barrelfit"), told_now) == (VERSION, KEPT[movement, rate_hz]), (
        "another size of the same readings: raise the version in pyproject.toml, then renew this"
    )


@pytest.mark.slow
def test_the_same_readings_are_enough_after_the_same_passes() -> None:
    taken = [passes_taken(seed) for seed in range(6)]
    assert (version("barrelfit"), taken) == (VERSION, KEPT_PASSES), (
        "a bench ends sweeps elsewhere: raise the version in pyproject.toml, then renew this"
    )
