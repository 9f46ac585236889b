"""Nested rounds and the line of errors, against SciPy, statsmodels and NIST."""

from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from barrelfit.rules.uncertainty.calibration import fit_line, nested

# NIST StRD one-way ANOVA, SiRstv: resistivity of silicon by five instruments, as shipped with
# SciPy (scipy/stats/tests/data/nist_anova/SiRstv.dat).
SIRSTV = [
    [196.3052, 196.1240, 196.1890, 196.2569, 196.3403],
    [196.3042, 196.3825, 196.1669, 196.3257, 196.0422],
    [196.1303, 196.2005, 196.2889, 196.0343, 196.1811],
    [196.2795, 196.1748, 196.1494, 196.1485, 195.9885],
    [196.2119, 196.1051, 196.1850, 196.0052, 196.2090],
]


def exact(rounds):
    return [[Fraction(str(v)) for v in one] for one in rounds]


def test_nist_certified_analysis_of_variance():
    """Certified: F 1.18046237440255, mean squares 1.08318280E-02 and 1.27865654E-02."""
    result = nested(exact(SIRSTV))
    assert result.f == pytest.approx(1.18046237440255, rel=1e-12)
    assert result.s_within**2 == pytest.approx(1.08318280000000e-02, rel=1e-12)
    assert 5 * result.s_rounds**2 == pytest.approx(1.27865654000000e-02, rel=1e-12)
    assert (result.dof_rounds, result.dof_within) == (4, 20)


@given(st.lists(st.lists(st.integers(-500, 500), min_size=3, max_size=3), min_size=2, max_size=6))
def test_f_agrees_with_scipy(rounds):
    result = nested(rounds)
    if result.s_within > 0.0:
        assert result.f == pytest.approx(stats.f_oneway(*rounds).statistic, rel=1e-9, abs=1e-9)
    assert result.s_between**2 <= result.s_rounds**2 * (1 + 1e-12)


def test_rounds_alike_have_nothing_between():
    result = nested([[0, 10], [0, 10], [10, 0]])
    assert (result.s_between, result.f) == (0.0, 0.0)


@pytest.mark.parametrize("rounds", [[], [[1, 2]], [[1, 2], [1]], [[1], [2]]])
def test_unbalanced_rounds_are_refused(rounds):
    with pytest.raises(ValueError, match="same number of readings"):
        nested(rounds)


points = st.lists(
    st.tuples(st.integers(50_000_000, 100_000_000), st.integers(-9_000, 9_000)),
    min_size=3,
    max_size=12,
    unique_by=lambda p: p[0] // 1_000_000,
)


@given(points)
def test_a_line_agrees_with_statsmodels(given_points):
    import statsmodels.api as sm  # noqa: PLC0415  heavy: only for who runs this test

    reference = 75_000_000
    line = fit_line(given_points, reference)
    x = np.array([(p[0] - reference) / 1e6 for p in given_points])
    y = np.array([p[1] for p in given_points], dtype=float)
    fitted = sm.OLS(y, sm.add_constant(x, has_constant="add")).fit()
    assert line.at_reference == pytest.approx(fitted.params[0], rel=1e-6, abs=1e-5)
    assert line.slope * 1e6 == pytest.approx(fitted.params[1], rel=1e-6, abs=1e-5)
    assert line.u_at_reference == pytest.approx(fitted.bse[0], rel=1e-6, abs=1e-5)
    assert line.u_slope * 1e6 == pytest.approx(fitted.bse[1], rel=1e-6, abs=1e-5)
    predicted = fitted.get_prediction([[1.0, 9.0]])
    assert line.u(84_000_000) == pytest.approx(predicted.se_mean[0], rel=1e-6, abs=1e-5)


@given(points, st.integers(40_000_000, 110_000_000))
def test_the_anchor_changes_nothing_but_the_way_it_is_written(given_points, anchor):
    here, there = fit_line(given_points, 75_000_000), fit_line(given_points, anchor)
    assert here.value(84e6) == pytest.approx(there.value(84e6), rel=1e-6, abs=1e-5)
    assert here.u(84e6) == pytest.approx(there.u(84e6), rel=1e-6, abs=1e-5)


@pytest.mark.parametrize("bad", [[], [(1, 1), (2, 2)], [(1, 1), (1, 2), (1, 3)]])
def test_a_line_needs_three_lengths(bad):
    with pytest.raises(ValueError, match="needed for a line"):
        fit_line(bad, 0)
