"""Guard-banded decisions: exact on the edges, undecided between, never better by knowing less."""

import math
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from barrelfit.rules.length import to_nm
from barrelfit.rules.uncertainty.decide import GUARD_FACTOR, Zone, decide, guard_band_nm, p_conform
from barrelfit.rules.uncertainty.student import t_quantile

lengths = st.integers(-200_000_000, 200_000_000)
doubts = st.one_of(st.just(0.0), st.floats(0.1, 50_000.0))
factors = st.sampled_from([0.0, 1.0, 1.65, 2.0, 3.0])


@st.composite
def limits(draw):
    """A lower limit, an upper one, or both."""
    which = draw(st.sampled_from(["lower", "upper", "both"]))
    if which == "lower":
        return draw(lengths), None
    if which == "upper":
        return None, draw(lengths)
    low, high = sorted((draw(lengths), draw(lengths)))
    return low, high


# Nominal 8 ± 0.005 and its like are misjudged where deviations are binary fractions: in.
EXACT = [("8.005", "8", "0.005"), ("25.009", "25", "0.009"), ("25.010", "25", "0.010")]


@pytest.mark.parametrize(("measured", "nominal", "tolerance"), EXACT)
def test_a_value_on_the_limit_is_in(measured, nominal, tolerance):
    value, middle, half = (to_nm(Decimal(t), "mm") for t in (measured, nominal, tolerance))
    assert decide(value, 0.0, middle - half, middle + half).zone is Zone.INSIDE
    assert decide(value + 1, 0.0, middle - half, middle + half).zone is Zone.OUTSIDE


@pytest.mark.parametrize(
    ("value_nm", "zone"),
    [
        (10_164, Zone.UNDECIDED),
        (10_165, Zone.INSIDE),  # the edge of acceptance is in
        (19_835, Zone.INSIDE),
        (19_836, Zone.UNDECIDED),
        (20_000, Zone.UNDECIDED),  # exactly on the limit, with doubt
        (20_165, Zone.UNDECIDED),  # the edge of rejection is not yet out
        (20_166, Zone.OUTSIDE),
        (9_835, Zone.UNDECIDED),
        (9_834, Zone.OUTSIDE),
    ],
)
def test_edges_with_u_100(value_nm, zone):
    decision = decide(value_nm, 100.0, 10_000, 20_000)
    assert decision.zone is zone
    assert (decision.guard_nm, decision.accept_low_nm, decision.accept_high_nm) == (
        165,
        10_165,
        19_835,
    )


def test_limits_nearer_than_two_guard_bands_are_never_inside():
    zones = {decide(v, 100.0, 0, 300).zone for v in range(-400, 700)}
    assert zones == {Zone.UNDECIDED, Zone.OUTSIDE}


@pytest.mark.parametrize("u_nm", [100.0, 300.0, 1_000.0])
def test_the_guard_band_is_the_decimal_product_rounded_up(u_nm):
    assert guard_band_nm(u_nm) == Fraction("1.65") * int(u_nm)
    assert guard_band_nm(u_nm * 1.001) == math.ceil(Fraction("1.65") * Fraction(u_nm * 1.001))


def test_a_factor_is_the_decimal_it_is_written_as():
    assert guard_band_nm(1_000.0, 1.1) == 1_100  # 1.1 as a binary fraction is a little more


@given(lengths, doubts, limits(), factors)
def test_zone_agrees_with_the_definition(value, u_nm, ends, factor):
    lower, upper = ends
    decision = decide(value, u_nm, lower, upper, factor)
    g = decision.guard_nm
    inside = (lower is None or lower + g <= value) and (upper is None or value <= upper - g)
    outside = (lower is not None and value < lower - g) or (upper is not None and value > upper + g)
    assert (decision.zone is Zone.INSIDE) == inside
    assert (decision.zone is Zone.OUTSIDE) == outside
    assert 0.0 <= decision.p_conform <= 1.0


@given(lengths, doubts, limits(), factors, st.floats(1.0, 100.0))
def test_knowing_less_never_decides_more(value, u_nm, ends, factor, worse):
    before = decide(value, u_nm, *ends, factor).zone
    after = decide(value, u_nm * worse, *ends, factor).zone
    assert after in {before, Zone.UNDECIDED}


@given(lengths, doubts, limits(), st.floats(1.0, 1000.0))
def test_fewer_degrees_of_freedom_never_decide_more(value, u_nm, ends, dof):
    before = decide(value, u_nm, *ends).zone
    assert decide(value, u_nm, *ends, dof=dof).zone in {before, Zone.UNDECIDED}


@given(lengths, doubts, st.integers(1, 10_000_000), lengths)
def test_moving_away_from_the_limit_into_what_it_allows_never_worsens(value, u_nm, step, upper):
    order = [Zone.OUTSIDE, Zone.UNDECIDED, Zone.INSIDE]
    now = decide(value, u_nm, None, upper)
    further = decide(value - step, u_nm, None, upper)
    assert order.index(further.zone) >= order.index(now.zone)
    assert further.p_conform >= now.p_conform


@given(lengths, doubts, limits(), factors)
def test_a_mirror_changes_nothing(value, u_nm, ends, factor):
    lower, upper = ends
    turned = (None if upper is None else -upper, None if lower is None else -lower)
    here, there = decide(value, u_nm, *ends, factor), decide(-value, u_nm, *turned, factor)
    assert here.zone is there.zone
    assert here.p_conform == pytest.approx(there.p_conform, abs=1e-12)


@given(st.integers(-8_000_000, 8_000_000), st.integers(-8_000_000, 8_000_000), doubts)
def test_inch_and_millimetre_give_one_verdict(value_tenths, upper_tenths, u_nm):
    """A length in 0.000001 inch is 25.4 nm; five of them are 127 nm, whole in both units."""
    inch = [Fraction(t * 5, 1_000_000) for t in (value_tenths, upper_tenths)]
    from_inch = [int(i * 25_400_000) for i in inch]
    from_mm = [int(i * Fraction("25.4") * 1_000_000) for i in inch]
    assert decide(from_inch[0], u_nm, None, from_inch[1]) == decide(
        from_mm[0], u_nm, None, from_mm[1]
    )


@given(lengths, st.floats(0.1, 1e5), limits())
def test_inside_means_conforming_with_95_percent(value, u_nm, ends):
    """What ISO 14253-1 asks of the factor 1.65; with two near limits both tails count."""
    decision = decide(value, u_nm, *ends)
    if decision.zone is Zone.INSIDE:
        assert decision.p_conform >= 0.90
        if None in ends:
            assert decision.p_conform >= 0.95
    if decision.zone is Zone.OUTSIDE:
        assert decision.p_conform <= 0.05


@given(lengths, st.floats(1.0, 1e4), lengths, st.floats(1.0, 30.0))
def test_inside_keeps_its_probability_with_few_degrees_of_freedom(value, u_nm, upper, dof):
    decision = decide(value, u_nm, None, upper, dof=dof)
    assume(decision.zone is Zone.INSIDE)
    assert decision.p_conform >= 0.95


def test_few_degrees_of_freedom_widen_the_guard_band():
    # One-sided t for 95.05 % and 8 degrees of freedom, against Table G.2's 1.86 for 95 %.
    assert guard_band_nm(1_000.0, GUARD_FACTOR, 8) == pytest.approx(1_866, abs=1)
    assert guard_band_nm(1e6, GUARD_FACTOR, 8) / 1e6 == pytest.approx(
        t_quantile(0.950529, 8), abs=1e-5
    )
    assert guard_band_nm(1_000.0, 0.0, 3) == 0


@pytest.mark.parametrize(
    ("arguments", "sentence"),
    [
        ((math.nan, 1.0, 1, 2), "whole nm"),
        ((1.5, 1.0, 1, 2), "whole nm"),
        ((1, 1.0, None, None), "needs a limit"),
        ((1, 1.0, 3, 2), "above the upper"),
        ((1, math.nan, 1, 2), "standard uncertainty"),
        ((1, math.inf, 1, 2), "standard uncertainty"),
        ((1, -1.0, 1, 2), "standard uncertainty"),
        ((1, 1.0, 1, 2, math.nan), "guard-band factor"),
        ((1, 1.0, 1, 2, -1.0), "guard-band factor"),
        ((1, 1.0, 1, 2, 11.0), "guard-band factor"),
    ],
)
def test_what_is_no_number_is_never_judged(arguments, sentence):
    """`x < low or x > high` is False for NaN: a pass needs `low <= x <= high` to be True."""
    with pytest.raises(ValueError, match=sentence):
        decide(*arguments)


def test_certain_values_have_probability_one_or_nought():
    assert (p_conform(5, 0.0, 5, None), p_conform(4, 0.0, 5, None)) == (1.0, 0.0)


@pytest.mark.parametrize(
    ("value_nm", "lower_nm", "upper_nm", "z"),
    [(468_000, None, 0, 167.14), (10_000, None, 0, 3.5714), (0, 28_000, None, 10.0)],
)
def test_far_outside_the_chance_is_the_normal_tail_itself(value_nm, lower_nm, upper_nm, z):
    """One less a tail near one would leave 0 or 1e-17; the tail itself is exact: NIST's erfc."""
    p = p_conform(value_nm, 2_800.0, lower_nm, upper_nm)
    assert p == pytest.approx(0.5 * math.erfc(z / math.sqrt(2)), rel=2e-2)
    assert p < 0.001
