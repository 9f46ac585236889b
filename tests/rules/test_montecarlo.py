"""Monte Carlo against the published gauge block of JCGM 101, and as a check of our budgets."""

import math

import numpy as np
import pytest

from barrelfit.rules.uncertainty.budget import Budget, Component
from barrelfit.rules.uncertainty.montecarlo import (
    Arcsine,
    CurvedTrapezoid,
    Normal,
    Propagated,
    Rectangular,
    Student,
    propagate,
    propagate_budget,
    shortest_interval,
)
from barrelfit.rules.uncertainty.size_budget import (
    BALLS,
    FACES,
    AsRead,
    GaugeFacts,
    PartFacts,
    Setting,
    size_budget,
)
from barrelfit.rules.uncertainty.temperature import Temperatures
from tests.rules.shipped import shipped_materials

SEED = 20261125
L_NOMINAL = 50_000_000.0  # nm


def gauge_block(drawn):
    """JCGM 101:2008, 9.5: deviation of an end gauge from its nominal length, in nm."""
    standard = drawn["standard"]
    difference = drawn["difference"] + drawn["random"] + drawn["systematic"]
    expansion = drawn["expansion"] + drawn["expansion_difference"]
    temperature = drawn["temperature"] + drawn["cycling"]
    top = standard * (1.0 + drawn["expansion"] * (temperature - drawn["temperature_difference"]))
    return (top + difference) / (1.0 + expansion * temperature) - L_NOMINAL


# Table 10, lengths in nm, coefficients per degree Celsius.
GAUGE_BLOCK = {
    "standard": Student(50_000_623.0, 25.0, 18),
    "difference": Student(215.0, 6.0, 24),
    "random": Student(0.0, 4.0, 5),
    "systematic": Student(0.0, 7.0, 8),
    "expansion": Rectangular(9.5e-6, 13.5e-6),
    "temperature": Normal(-0.1, 0.2),
    "cycling": Arcsine(-0.5, 0.5),
    "expansion_difference": CurvedTrapezoid(-1e-6, 1e-6, 0.1e-6),
    "temperature_difference": CurvedTrapezoid(-0.050, 0.050, 0.025),
}


@pytest.mark.slow
def test_jcgm_101_gauge_block():
    """Table 11, 1.26e6 trials: estimate 838 nm, u 36 nm, shortest 99 % interval [745, 932] nm.

    Tolerance: half a printed digit and three standard errors of 1e6 trials.
    """
    result = propagate(
        gauge_block, GAUGE_BLOCK, np.random.default_rng(SEED), trials=1_000_000, p=0.99
    )
    assert result.mean == pytest.approx(838.0, abs=0.6)
    assert result.u == pytest.approx(36.0, abs=0.6)
    assert result.low == pytest.approx(745.0, abs=1.5)
    assert result.high == pytest.approx(932.0, abs=1.5)


@pytest.mark.parametrize(
    ("one", "centre", "u"),
    [
        (Normal(3.0, 2.0), 3.0, 2.0),
        (Student(3.0, 2.0, 10), 3.0, 2.0 * math.sqrt(10 / 8)),
        (Rectangular(1.0, 7.0), 4.0, 6.0 / math.sqrt(12)),
        (Arcsine(1.0, 7.0), 4.0, 3.0 / math.sqrt(2)),
        # JCGM 101, 6.4.3.3: u^2 = (b - a)^2/12 + d^2/9.
        (CurvedTrapezoid(1.0, 7.0, 0.9), 4.0, math.sqrt(36 / 12 + 0.81 / 9)),
    ],
)
def test_a_distribution_has_the_deviation_of_its_formula(one, centre, u):
    drawn = one.draw(np.random.default_rng(SEED), 200_000)
    assert drawn.mean() == pytest.approx(centre, abs=5 * u / math.sqrt(200_000))
    assert drawn.std() == pytest.approx(u, rel=0.01)


def test_the_shortest_interval_of_a_lopsided_sample_starts_where_it_is_dense():
    low, high = shortest_interval(np.random.default_rng(SEED).exponential(1.0, 100_000), 0.95)
    assert low < 0.01
    assert high == pytest.approx(-math.log(0.05), abs=0.05)


MATERIALS = shipped_materials()
CASES = {
    "warm piston": (FACES, "aluminium-12-silicon-cast", Temperatures(32_000, 22_000)),
    "nothing measured": (FACES, "light-alloy", Temperatures()),
    "bore at room temperature": (BALLS, "grey-iron", Temperatures(None, None, 26_000)),
}


def nonlinear(case: str, trials: int) -> tuple[Propagated, Budget, int]:
    """One size by drawing its temperatures and coefficients through ISO 1's own equation."""
    contact, material, at = CASES[case]
    gauge = GaugeFacts("m", MATERIALS["gauge-steel"], contact, Setting("ring", 600.0))
    part = PartFacts("P1", MATERIALS[material])
    size_nm, budget, _ = size_budget(AsRead(84e6, 400.0, 8.0, 290.0), gauge, part, at)
    widths = {  # half-widths as the table of rules.uncertainty.temperature states them
        "warm piston": (500, 500, 500, 2_000, 12_000),
        "nothing measured": (5_000, 1_000, 2_000, 0, 0),
        "bore at room temperature": (500, 1_000, 2_000, 6_000, 6_000),
    }
    common, gauge_own, part_own, gauge_at, part_at = widths[case]
    force_share = {FACES: 500.0 * 2.0 ** (2 / 3), BALLS: 850.0}[contact]

    def spread(material_name):
        one = MATERIALS[material_name]
        low, high = (one.expansion_ppb + s * one.plus_minus_ppb for s in (-1, 1))
        return Rectangular(low * 1e-12, high * 1e-12)

    inputs = {
        "read": Student(84e6, 400.0, 8.0),
        "digit": Rectangular(-290.0 * math.sqrt(3), 290.0 * math.sqrt(3)),
        "ring": Normal(0.0, 600.0),
        "contact": Rectangular(-force_share, force_share),
        "common": Rectangular(-common, common),
        "gauge": Rectangular(gauge_at - gauge_own, gauge_at + gauge_own),
        "part": Rectangular(part_at - part_own, part_at + part_own),
        "gauge_expansion": spread("gauge-steel"),
        "part_expansion": spread(material),
    }

    def model(d):
        top = 1.0 + d["gauge_expansion"] * (d["gauge"] + d["common"])
        bottom = 1.0 + d["part_expansion"] * (d["part"] + d["common"])
        return d["read"] * top / bottom + d["digit"] + d["ring"] + d["contact"]

    chance = np.random.default_rng(SEED)
    return propagate(model, inputs, chance, trials), budget, size_nm


@pytest.mark.slow
@pytest.mark.parametrize("case", CASES)
def test_our_budget_agrees_with_monte_carlo(case):
    """The linear budget against ISO 1's own equation with every input drawn.

    The t distribution of the sweep has 15 % more deviation than its scale (dof 8), which the
    budget holds in its degrees of freedom; nowhere is a budget's interval more than 4 % too narrow.
    """
    drawn, budget, size_nm = nonlinear(case, 400_000)
    assert drawn.mean == pytest.approx(size_nm, abs=0.02 * budget.u_nm)
    scale = 400.0**2 * (8.0 / 6.0 - 1.0)
    assert drawn.u == pytest.approx(math.hypot(budget.u_nm, math.sqrt(scale)), rel=0.01)
    low, high = budget.interval_nm(size_nm)
    assert 0.96 * (drawn.high - drawn.low) <= high - low <= 1.10 * (drawn.high - drawn.low)


def test_a_budget_drawn_from_its_lines_agrees_with_itself():
    budget = Budget(
        (
            Component("sweep", 400.0, "A", "t", 12.0),
            Component("ring", 600.0, shared="ring"),
            Component("ring again", 200.0, shared="ring", sign=-1),
            Component("contact", 300.0, distribution="rectangular"),
        )
    )
    drawn = propagate_budget(budget, np.random.default_rng(SEED), 200_000)
    assert drawn.u == pytest.approx(math.sqrt(400**2 * 1.2 + 400**2 + 300**2), rel=0.01)
    assert drawn.high - drawn.low == pytest.approx(2 * budget.expanded_nm(), rel=0.03)
