"""What this version finds in a few sweeps, kept: a redo calls a session altered when sizes differ
and the version is the same. So whatever makes another size of the same readings is a new version.
"""

from importlib.metadata import version

import pytest

from rules.model import Movement
from rules.sweep import GaugeTraits, Refused, size_trace
from tests.rules.sweep_physics import World, make

VERSION = "0.2.0"
KEPT = {
    ("following", 10.0): (84_012_160, 1476.693, 84_008_930, 84_014_873),
    ("following", 50.0): (84_012_447, 793.084, 84_010_895, 84_014_123),
    ("screw", 10.0): (84_012_447, 140.559, 84_012_189, 84_012_764),
    ("screw", 50.0): (84_012_400, 110.0, 84_012_164, 84_012_636),
    ("bore", 10.0): (84_012_252, 233.927, 84_011_785, 84_012_719),
    ("bore", 50.0): (84_012_436, 140.273, 84_012_161, 84_012_712),
}


def told(movement: str, rate_hz: float) -> tuple[object, ...]:
    world = World(rate_hz=rate_hz, stroke_s=3.0, reach_mm=8.0)
    traits = GaugeTraits(Movement(movement), 1_000)
    found = size_trace(make(movement, world, 5), traits)
    if isinstance(found, Refused):
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
