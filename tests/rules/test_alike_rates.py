"""How often parts seem to be one: hardly any repeated one is missed, few agree by chance."""

import random
from statistics import NormalDist

import pytest

from barrelfit.rules.bench.alike import alike, chi_square_99
from barrelfit.rules.model import FeatureId, Size
from barrelfit.rules.uncertainty.budget import Budget, Component


def size_of(at: FeatureId, nm: float, u_nm: float) -> Size:
    budget = Budget((Component("sweep", u_nm, "A", "t", 8.0), Component("standard", 800.0)))
    return Size(at, round(nm), round(nm), budget)


def share_alike(spread_um: float, u_um: float, places: int = 1, pairs: int = 2_000) -> float:
    """How often two neighbours of a spread seem one part, each swept with doubt u."""
    chance = random.Random(f"{spread_um} {u_um} {places}")  # noqa: S311
    seem = 0
    for _ in range(pairs):
        found: list[list[Size]] = []
        for part in ("P1", "P2"):
            true = [chance.gauss(0, spread_um * 1e3) for _ in range(places)]
            at = [FeatureId(part, "bore", str(n)) for n in range(places)]
            both = zip(at, true, strict=True)
            found.append([size_of(p, 85e6 + t + chance.gauss(0, u_um * 1e3), u_um * 1e3)
                          for p, t in both])  # fmt: skip
        seem += alike("bore", *found) is not None
    return seem / pairs


@pytest.mark.parametrize("u_um", [0.4, 0.8])
def test_of_repeated_parts_hardly_one_in_a_hundred_is_missed(u_um):
    assert share_alike(0.0, u_um) > 0.98
    assert share_alike(0.0, u_um, places=6) > 0.98


@pytest.mark.parametrize("spread_um", [3.0, 10.0, 30.0])
def test_neighbours_that_agree_by_chance_are_as_many_as_the_normal_distribution_says(spread_um):
    """Two normal parts differ by less than d in 2·Φ(d / (spread·√2)) - 1 of all cases."""
    u_um = 0.8
    sd = (2 * (spread_um**2 + u_um**2)) ** 0.5
    expected = 2 * NormalDist(0, sd).cdf(2.58 * u_um * 2**0.5) - 1
    assert share_alike(spread_um, u_um) == pytest.approx(expected, abs=0.03)


def test_six_places_of_a_barrel_agree_together_hardly_ever():
    assert share_alike(3.0, 0.8, places=6) < 0.05


@pytest.mark.parametrize(("dof", "table"), [(1, 6.635), (2, 9.210), (6, 16.812), (12, 26.217)])
def test_chi_square_is_that_of_the_tables(dof, table):
    """99 % quantiles of chi-square as any handbook has them (from memory)."""
    assert chi_square_99(dof) == pytest.approx(table, rel=0.01)
