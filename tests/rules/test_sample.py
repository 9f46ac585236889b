"""Means and deviations against NIST's certified values and Python's own statistics."""

import statistics
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from barrelfit.rules.uncertainty.sample import deviation, mean, root, variance
from tests.rules.published import column_of

# NIST Statistical Reference Datasets, univariate: certified mean and deviation (n - 1).
CERTIFIED = {
    "Lew": ("-177.435000000000", "277.332168044316"),
    "Lottery": ("518.958715596330", "291.699727470969"),
    "Mavro": ("2.00185600000000", "0.000429123454003053"),
    "Michelso": ("299.852400000000", "0.0790105478190518"),
    "NumAcc1": ("10000002", "1"),
    "NumAcc2": ("1.2", "0.1"),
    "NumAcc3": ("1000000.2", "0.1"),
    "NumAcc4": ("10000000.2", "0.1"),
}


def certified_data(name: str) -> list[Fraction]:
    """The data of a set; the NumAcc sets are their definition written out."""
    if name == "NumAcc1":
        return [Fraction(n) for n in (10_000_001, 10_000_003, 10_000_002)]
    if name.startswith("NumAcc"):
        whole = {"NumAcc2": 1, "NumAcc3": 1_000_000, "NumAcc4": 10_000_000}[name]
        tenths = [2, *[1, 3] * 500]
        return [whole + Fraction(t, 10) for t in tenths]
    return [Fraction(v) for v in column_of(f"strd_{name.lower()}.csv", "y")]


@pytest.mark.parametrize("name", CERTIFIED)
def test_nist_certified_mean_and_deviation(name):
    centre, spread = CERTIFIED[name]
    values = certified_data(name)
    assert float(mean(values)) == pytest.approx(float(centre), rel=1e-14)
    assert deviation(values) == pytest.approx(float(spread), rel=1e-14)


@given(st.lists(st.integers(-(10**9), 10**9), min_size=2, max_size=30))
def test_agrees_with_the_standard_library(values):
    assert mean(values) == statistics.mean([Fraction(v) for v in values])
    assert variance(values) == statistics.variance([Fraction(v) for v in values])
    assert deviation(values) == pytest.approx(statistics.stdev(values), rel=1e-15)


@given(st.fractions(min_value=0, max_value=10**18))
def test_a_root_squared_is_the_square(square):
    assert Fraction(root(square)) ** 2 == pytest.approx(square, rel=1e-14, abs=1e-70)


def test_too_few_values_are_refused():
    with pytest.raises(ValueError, match="needs a value"):
        mean([])
    with pytest.raises(ValueError, match="two values"):
        deviation([1])
