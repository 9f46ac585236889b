"""A budget written as a table of text, for a terminal or a report in plain text."""

import math

from barrelfit.rules.length import shown
from barrelfit.rules.manner import told
from barrelfit.rules.uncertainty.budget import Budget, Component

_COLUMNS = "{:<38} {:>8}  {:<4} {:<12} {:>5}"


def budget_table(size_nm: int, budget: Budget) -> str:
    """The size with its interval, then every cause with its share, in µm.

    Args:
        size_nm: the size the budget is of, in nm.
        budget: its budget.
    """
    low_nm, high_nm = budget.interval_nm(size_nm)
    factor = budget.coverage_factor()
    rows = [_COLUMNS.format("cause", "share µm", "type", "distribution", "dof")]
    rows += [_row(one) for one in budget.components]
    rows.append(_COLUMNS.format("combined", _um(budget.u_nm), "", "", _dof(budget.dof)))
    rows.append(
        f"{shown(size_nm)} ± {_um(budget.expanded_nm())} µm (k = {factor:.2f}, 95 %):"
        f" {shown(low_nm)} to {shown(high_nm)}"
    )
    return "\n".join(row.rstrip() for row in rows)


def _row(one: Component) -> str:
    return _COLUMNS.format(told(one.told), _um(one.u_nm), one.kind, one.distribution, _dof(one.dof))


def _um(length_nm: float) -> str:
    return f"{length_nm / 1000:.3f}"


def _dof(dof: float) -> str:
    """Degrees of freedom, cut to a whole number as they are used; a dash for infinitely many."""
    return "-" if math.isinf(dof) else f"{math.floor(dof) if dof >= 1.0 else dof:g}"
