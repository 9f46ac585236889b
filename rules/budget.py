"""Uncertainty budgets after the GUM (JCGM 100:2008): a budget is data that a report prints."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Component:
    """One line of a budget: `u_nm` is its contribution |c_i|·u(x_i) to the result, in nm."""

    name: str
    u_nm: float
    kind: str = "B"  # evaluation type of the GUM: "A" (statistical) or "B" (other)
    distribution: str = "normal"
    dof: float = float("inf")
    shared: str = ""  # the same word in two budgets: one common cause, cancels in a difference


@dataclass(frozen=True, slots=True)
class Budget:
    """The components of one result's uncertainty."""

    components: tuple[Component, ...]
