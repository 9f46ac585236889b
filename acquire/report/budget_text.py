"""A budget written as a table of text, for a terminal or a report in plain text."""

import math

from barrelfit.rules.manner import PLAIN, Manner, told, told_all
from barrelfit.rules.said import decimal, length, said
from barrelfit.rules.uncertainty.budget import Budget, Component

_HEAD = (
    said("budget_cause"),
    said("budget_share"),
    said("budget_type"),
    said("budget_distribution"),
    said("budget_dof"),
)
_COLUMNS = "{:<38} {:>8}  {:<4} {:<12} {:>5}"


def budget_table(size_nm: int, budget: Budget, manner: Manner = PLAIN) -> str:
    """The size with its interval, then every cause with its share, in µm.

    Args:
        size_nm: the size the budget is of, in nm.
        budget: its budget.
        manner: the size's unit, and the decimal mark of all numbers.
    """
    low_nm, high_nm = budget.interval_nm(size_nm)
    factor = budget.coverage_factor()
    rows = [_COLUMNS.format(*told_all(_HEAD))]
    rows += [_row(one, manner) for one in budget.components]
    combined = _um(budget.u_nm, manner)
    rows.append(
        _COLUMNS.format(told(said("budget_combined")), combined, "", "", _dof(budget.dof, manner))
    )
    size, low, high = map(length, (size_nm, low_nm, high_nm))
    k, reach = decimal(f"{factor:.2f}"), decimal(f"{budget.expanded_nm() / 1000:.3f}")
    whole = said("budget_interval", size=size, reach=reach, k=k, low=low, high=high)
    rows.append(told(whole, manner))
    return "\n".join(row.rstrip() for row in rows)


def _row(one: Component, manner: Manner) -> str:
    share, dof = _um(one.u_nm, manner), _dof(one.dof, manner)
    return _COLUMNS.format(told(one.told, manner), share, one.kind, one.distribution, dof)


def _um(length_nm: float, manner: Manner) -> str:
    return manner.marked(f"{length_nm / 1000:.3f}")


def _dof(dof: float, manner: Manner) -> str:
    """Degrees of freedom, cut to a whole number as they are used; a dash for infinitely many."""
    if math.isinf(dof):
        return "-"
    return manner.marked(f"{math.floor(dof) if dof >= 1.0 else dof:g}")
