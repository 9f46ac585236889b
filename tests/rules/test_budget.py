"""Budgets: combination, effective degrees of freedom, intervals, common causes."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from uncertainties import ufloat

from barrelfit.rules.uncertainty.budget import (
    Budget,
    Component,
    difference,
    dof_from_doubt,
    rectangular,
    second_order_nm,
)

words = st.sampled_from(["", "", "ring", "thermometer", "contact"])
components = st.builds(
    Component,
    name=st.just("x"),
    u_nm=st.floats(0.0, 1e5),
    dof=st.one_of(st.just(math.inf), st.floats(1.0, 200.0)),
    shared=words,
    sign=st.sampled_from([1, -1]),
)
budgets = st.builds(Budget, st.lists(components, max_size=8).map(tuple))


def test_independent_components_add_in_quadrature():
    assert Budget((Component("a", 3.0), Component("b", 4.0))).u_nm == 5.0


def test_an_empty_budget_is_certain():
    empty = Budget(())
    assert (empty.u_nm, empty.dof, empty.expanded_nm()) == (0.0, math.inf, 0)
    assert empty.interval_nm(7) == (7, 7)


def test_the_interval_is_rounded_outwards():
    budget = Budget((Component("a", 100.0),))
    assert budget.expanded_nm() == 196  # 1.95996 x 100 nm
    assert budget.interval_nm(1_000) == (804, 1_196)


def test_one_cause_twice_in_one_budget_adds_with_its_signs():
    same = Budget((Component("a", 3.0, shared="ring"), Component("b", 4.0, shared="ring")))
    against = Budget((Component("a", 3.0, shared="r"), Component("b", 4.0, shared="r", sign=-1)))
    assert same.u_nm == 7.0
    assert against.u_nm == 1.0


def test_a_common_ring_cancels_in_the_clearance_and_stays_visible():
    ring = Component("standard ring 84", 600.0, shared="standard ring 84")
    bore = Budget((ring, Component("sweep", 300.0, "A", dof=6)))
    skirt = Budget((ring, Component("sweep", 400.0, "A", dof=8)))
    clearance = difference(bore, skirt)
    assert clearance.u_nm == pytest.approx(500.0)
    assert [(c.name, c.u_nm) for c in clearance.components] == [
        ("standard ring 84", 0.0),
        ("sweep", 300.0),
        ("sweep", 400.0),
    ]


def test_one_cause_known_twice_has_the_weaker_knowledge():
    a = Budget((Component("r", 600.0, dof=4.0, shared="r"),))
    b = Budget((Component("r", 200.0, dof=50.0, shared="r"),))
    assert difference(a, b).dof == difference(b, a).dof == 4.0


def test_two_rings_do_not_cancel():
    bore = Budget((Component("standard A", 600.0, shared="standard A"),))
    skirt = Budget((Component("standard B", 600.0, shared="standard B"),))
    assert difference(bore, skirt).u_nm == pytest.approx(600.0 * math.sqrt(2.0))


def test_a_difference_agrees_with_the_uncertainties_package():
    """Independent reference: the `uncertainties` package tracks correlations by itself."""
    ring, own_a, own_b = ufloat(0, 600), ufloat(0, 250), ufloat(0, 410)
    expected = ((0.97 * ring + own_a) - (-0.31 * ring + own_b)).std_dev
    a = Budget((Component("r", 0.97 * 600, shared="r"), Component("own", 250.0)))
    b = Budget((Component("r", 0.31 * 600, shared="r", sign=-1), Component("own", 410.0)))
    assert difference(a, b).u_nm == pytest.approx(expected, rel=1e-12)


@given(budgets)
def test_a_shared_budget_less_itself_leaves_only_its_own_causes_twice(budget):
    own = math.sqrt(2.0 * sum(c.u_nm**2 for c in budget.causes if not c.shared))
    assert difference(budget, budget).u_nm == pytest.approx(own, rel=1e-9, abs=1e-9)


@given(budgets, budgets)
def test_a_difference_is_at_most_the_sum_and_turning_it_round_changes_nothing(a, b):
    assert difference(a, b).u_nm <= (a.u_nm + b.u_nm) * (1 + 1e-12) + 1e-9
    assert difference(a, b).u_nm == pytest.approx(difference(b, a).u_nm, rel=1e-9, abs=1e-9)


@given(budgets)
def test_effective_degrees_of_freedom_lie_between_the_least_and_the_sum(budget):
    """JCGM 100:2008, G.4.1: nu_eff is at most the sum of the components' degrees of freedom."""
    kept = [c for c in budget.causes if c.u_nm > 1e-3]
    if not kept or budget.u_nm == 0.0:
        return
    assert budget.dof >= min(c.dof for c in budget.causes) * (1 - 1e-9)
    assert budget.dof <= sum(c.dof for c in budget.causes) * (1 + 1e-9)


@pytest.mark.parametrize("bad", [{"u_nm": math.nan}, {"u_nm": -1.0}, {"u_nm": math.inf}])
def test_a_component_that_is_no_number_is_refused(bad):
    with pytest.raises(ValueError, match="no component"):
        Component("a", **bad)


@pytest.mark.parametrize("dof", [0.0, -3.0, math.nan])
def test_degrees_of_freedom_are_above_zero(dof):
    with pytest.raises(ValueError, match="no component"):
        Component("a", 1.0, dof=dof)


def test_a_sign_is_plus_or_minus_one():
    with pytest.raises(ValueError, match="sign"):
        Component("a", 1.0, sign=0)


def test_less_than_one_degree_of_freedom_is_not_cut_to_none():
    assert Budget((Component("a", 1.0, dof=0.5),)).coverage_factor() > 100.0


def test_rectangular_and_doubt():
    assert rectangular(3.0) == pytest.approx(math.sqrt(3.0))
    assert second_order_nm(-2.0, 3.0, 4.0) == 24.0
    # JCGM 100:2008, G.4.2: 25 % gives 8, 50 % gives 2; H.1.3: 10 % gives 50.
    assert [dof_from_doubt(r) for r in (0.25, 0.5, 0.1)] == pytest.approx([8.0, 2.0, 50.0])
