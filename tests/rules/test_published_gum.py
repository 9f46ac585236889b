"""Worked examples of the GUM (JCGM 100:2008), read in the BIPM's own text of the guide."""

import math
from fractions import Fraction

import pytest

from barrelfit.rules.uncertainty.budget import (
    Budget,
    Component,
    difference,
    dof_from_doubt,
    rectangular,
    second_order_nm,
)
from barrelfit.rules.uncertainty.calibration import fit_line, nested_from
from barrelfit.rules.uncertainty.sample import deviation, mean, root, variance
from tests.rules.published import column_of, rows_of

L_S = 50_000_623.0  # nm, length of the standard end gauge


def end_gauge() -> Budget:
    """H.1, Table H.1: length of an end gauge, each line as the guide derives it."""
    alpha, theta = 11.5e-6, -0.1
    return Budget(
        (
            Component("standard", 75.0 / 3.0, dof=18),
            Component("repeated observations", 13.0 / math.sqrt(5.0), "A", dof=24),
            Component("comparator, random", 10.0 / 2.57, dof=5),
            Component("comparator, systematic", 20.0 / 3.0, dof=dof_from_doubt(0.25)),
            Component("difference of expansion", L_S * abs(theta) * rectangular(1e-6), dof=50),
            Component("difference of temperature", L_S * alpha * rectangular(0.05), dof=2),
        )
    )


def test_h1_combined_uncertainty_is_32_nm():
    assert round(end_gauge().u_nm) == 32
    assert end_gauge().u_nm ** 2 == pytest.approx(1002, abs=1)


def test_h1_effective_degrees_of_freedom_are_16():
    assert end_gauge().dof == pytest.approx(16.7, abs=0.06)
    assert math.floor(end_gauge().dof) == 16


def test_h1_expanded_uncertainty_is_93_nm():
    """Printed 93 nm is 2.92 x 32; without rounding on the way it is 92.5 nm."""
    factor = end_gauge().coverage_factor(0.99)
    assert factor == pytest.approx(2.92, abs=0.005)
    assert round(round(factor, 2) * round(end_gauge().u_nm)) == 93
    assert factor * end_gauge().u_nm == pytest.approx(92.467, abs=0.05)
    assert end_gauge().expanded_nm(0.99) == 93


def test_h1_comparator_alone():
    """Table H.1: u(d) = 9.7 nm with 25.6 degrees of freedom."""
    comparator = Budget(end_gauge().components[1:4])
    assert comparator.u_nm == pytest.approx(9.7, abs=0.05)
    assert comparator.dof == pytest.approx(25.6, abs=0.1)


def test_h1_second_order_terms_raise_it_to_34_nm():
    """H.1.7: 11.7 nm and 1.7 nm."""
    u_theta = math.hypot(0.2, 0.5 / math.sqrt(2.0))
    first = second_order_nm(L_S, rectangular(1e-6), u_theta)
    second = second_order_nm(L_S, rectangular(2e-6), rectangular(0.05))
    assert first == pytest.approx(11.7, abs=0.05)
    assert second == pytest.approx(1.7, abs=0.05)
    extra = (Component("second order", first), Component("second order", second))
    assert round(Budget((*end_gauge().components, *extra)).u_nm) == 34


def test_h1_as_a_difference_of_two_gauges_at_one_temperature():
    """H.1.2: what both gauges share, the standard's expansion, has no share in the difference."""
    expansion = Component("expansion", L_S * 0.1 * rectangular(2e-6), shared="expansion")
    gauge = Budget((Component("readings", 5.8), expansion))
    standard = Budget((Component("certificate", 25.0), expansion))
    assert difference(gauge, standard).u_nm == pytest.approx(math.hypot(5.8, 25.0))


def test_g41_welch_satterthwaite():
    """G.4.1: a product of three with n = 10, 5, 15; here in units of 1e-5 of the result."""
    budget = Budget(
        (
            Component("x1", 250.0, "A", dof=9),
            Component("x2", 570.0, "A", dof=4),
            Component("x3", 820.0, "A", dof=14),
        )
    )
    assert budget.u_nm == pytest.approx(1030.0, abs=1.0)
    assert budget.dof == pytest.approx(19.0, abs=0.05)
    # The exact 18.999 of the unrounded inputs would be cut to 18; the guide rounds to 19.0 first.
    assert round(budget.dof) == 19
    nineteen = Budget((Component("y", 1030.0, dof=19),))
    assert nineteen.coverage_factor() == pytest.approx(2.09, abs=0.005)
    assert nineteen.expanded_nm() / 1e5 == pytest.approx(0.022, abs=0.0005)


def test_h2_resistance_reactance_impedance():
    """H.2.4, second approach: R, X, Z of each of five sets, then their mean and deviation."""
    values: dict[str, list[Fraction]] = {"R": [], "X": [], "Z": []}
    for row in rows_of("gum_h2.csv"):
        impedance = Fraction(row["V"]) / (Fraction(row["I_mA"]) / 1000)
        phi = float(row["phi"])
        values["R"].append(impedance * Fraction(math.cos(phi)))
        values["X"].append(impedance * Fraction(math.sin(phi)))
        values["Z"].append(impedance)
    results = {n: (float(mean(v)), deviation(v) / math.sqrt(5)) for n, v in values.items()}
    assert results["R"] == (pytest.approx(127.732, abs=6e-4), pytest.approx(0.071, abs=6e-4))
    assert results["X"] == (pytest.approx(219.847, abs=6e-4), pytest.approx(0.295, abs=6e-4))
    assert results["Z"] == (pytest.approx(254.260, abs=6e-4), pytest.approx(0.236, abs=6e-4))


def test_h3_calibration_line_of_a_thermometer():
    """H.3: intercept, slope, their uncertainties and correlation, and the correction at 30 °C."""
    points = [(Fraction(r["t_k"]), Fraction(r["b_k"])) for r in rows_of("gum_h3.csv")]
    line = fit_line(points, 20)
    assert line.at_reference == pytest.approx(-0.1712, abs=5e-5)
    assert line.u_at_reference == pytest.approx(0.0029, abs=5e-5)
    assert line.slope == pytest.approx(0.00218, abs=5e-6)
    assert line.u_slope == pytest.approx(0.00067, abs=5e-6)
    assert line.r == pytest.approx(-0.930, abs=5e-4)
    assert line.s == pytest.approx(0.0035, abs=5e-5)
    assert line.dof == 9
    assert line.value(30.0) == pytest.approx(-0.1494, abs=5e-5)
    assert line.u(30.0) == pytest.approx(0.0041, abs=5e-5)


def test_h3_anchored_at_the_mean_the_parameters_are_uncorrelated():
    """H.3.5: t0 = 24.0085 °C gives s(y1') = 0.0011 and the same correction at 30 °C."""
    points = [(Fraction(r["t_k"]), Fraction(r["b_k"])) for r in rows_of("gum_h3.csv")]
    centre = mean([x for x, _ in points])
    assert float(centre) == pytest.approx(24.0085, abs=5e-5)
    line = fit_line(points, centre)
    assert line.r == 0.0
    assert line.u_at_reference == pytest.approx(0.0011, abs=5e-5)
    assert line.u(30.0) == pytest.approx(0.0041, abs=5e-5)


def test_h5_analysis_of_variance():
    """H.5: ten days of five readings of a voltage standard; results in microvolt."""
    means = [Fraction(v) * 10**6 for v in column_of("gum_h5.csv", "mean_V")]
    variances = [Fraction(s) ** 2 for s in column_of("gum_h5.csv", "s_uV")]
    result = nested_from(means, variances, 5)
    assert float(result.mean) == pytest.approx(10_000_097, abs=0.5)
    assert result.s_rounds == pytest.approx(57.0, abs=0.5)
    assert math.sqrt(5) * result.s_rounds == pytest.approx(128.0, abs=0.5)  # s_a
    assert result.s_within == pytest.approx(85.0, abs=0.5)  # s_b, and s_W
    assert result.s_between == pytest.approx(43.0, abs=0.5)  # s_B
    assert result.u_mean == pytest.approx(18.0, abs=0.5)
    assert (result.dof_rounds, result.dof_within) == (9, 40)
    # Printed 2.25 is (5 x 57^2)/85^2 with rounded figures; without rounding it is 2.2615.
    assert result.f == pytest.approx(2.25, abs=0.02)


def test_h5_mean_without_the_effect_of_the_day():
    """H.5.2.5: 13 microvolt with 49 degrees of freedom when the days are taken as alike."""
    means = [Fraction(v) * 10**6 for v in column_of("gum_h5.csv", "mean_V")]
    variances = [Fraction(s) ** 2 for s in column_of("gum_h5.csv", "s_uV")]
    pooled = (9 * 5 * variance(means) + 40 * mean(variances)) / 49
    assert root(pooled / 50) == pytest.approx(13.0, abs=0.5)
