"""Student's t and the normal distribution against SciPy and the GUM's printed table."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from barrelfit.rules.uncertainty.student import normal_quantile, normal_tail, t_quantile, t_tail
from tests.rules.published import rows_of

DOFS = [0.3, 0.5, 1, 1.5, 2, 3, 5, 8.04, 16, 16.7, 39.999, 100, 999, 1000, 1e4, 1e6, 1e9]


@pytest.mark.parametrize("dof", DOFS)
@pytest.mark.parametrize("p", [1e-9, 1e-3, 0.3, 0.6, 0.75, 0.84, 0.9, 0.95, 0.975, 0.995, 0.9999])
def test_t_quantile_agrees_with_scipy(p, dof):
    assert t_quantile(p, dof) == pytest.approx(stats.t.ppf(p, dof), rel=1e-9)


@pytest.mark.parametrize("dof", DOFS)
@pytest.mark.parametrize("t", [-3.0, -0.2, 0.0, 1e-6, 0.1, 1.0, 1.5, 1.7, 1.9, 2.5, 6.0])
def test_t_tail_agrees_with_scipy(t, dof):
    assert t_tail(t, dof) == pytest.approx(stats.t.sf(t, dof), rel=1e-9)


@pytest.mark.parametrize("dof", [40, 41, 43.5, 60])
def test_where_the_series_begins_no_digits_are_lost(dof):
    assert t_tail(2.0, dof) == pytest.approx(stats.t.sf(2.0, dof), rel=1e-11)


@pytest.mark.parametrize("p", [1e-12, 0.001, 0.02275, 0.4999, 0.5, 0.8, 0.95, 0.999999])
def test_normal_quantile_agrees_with_scipy(p):
    assert normal_quantile(p) == pytest.approx(stats.norm.ppf(p), rel=1e-12, abs=1e-15)


def test_infinite_degrees_of_freedom_are_normal():
    assert t_quantile(0.975, math.inf) == normal_quantile(0.975)
    assert t_tail(1.3, math.inf) == normal_tail(1.3)


@given(st.floats(0.3, 1e7), st.floats(0.0005, 0.9995))
def test_tail_and_quantile_are_each_others_inverse(dof, p):
    assert t_tail(t_quantile(p, dof), dof) == pytest.approx(1.0 - p, rel=1e-8)


@given(st.floats(0.3, 1e6), st.floats(0.501, 0.9995))
def test_fewer_degrees_of_freedom_never_narrow(dof, p):
    assert t_quantile(p, dof) >= t_quantile(p, dof * 1.5) >= normal_quantile(p)


def printed():
    """Table G.2 of the GUM: (nu, p in per cent, value as printed, decimals printed)."""
    for row in rows_of("gum_table_g2.csv"):
        for title, text in row.items():
            if title != "nu" and (row["nu"], title) != ("35", "p90"):  # the one misprint
                yield float(row["nu"]), float(title[1:]), float(text)


@pytest.mark.parametrize(("dof", "percent", "value"), list(printed()))
def test_gum_table_g2(dof, percent, value):
    """JCGM 100:2008, Table G.2, with p = 68.27, 95.45, 99.73 meaning 1, 2, 3 sigma."""
    digit = 0.01 if dof <= 50 else 0.001
    digit = 0.1 if value > 100 else digit
    digit = 0.001 if math.isinf(dof) else digit
    assert t_quantile(0.5 + percent / 200.0, dof) == pytest.approx(value, abs=0.51 * digit)


def test_the_misprint_of_table_g2_is_one():
    assert t_quantile(0.95, 35) == pytest.approx(1.68957, abs=5e-6)


@pytest.mark.parametrize(("p", "dof"), [(0.0, 5), (1.0, 5), (0.9, 0.0), (0.9, -1), (math.nan, 3)])
def test_out_of_range_is_refused(p, dof):
    with pytest.raises(ValueError, match="expected"):
        t_quantile(p, dof)
    with pytest.raises(ValueError, match="expected"):
        t_tail(1.0, math.nan)
