"""Uncertainty budgets after the GUM (JCGM 100:2008): a budget is data that a report prints.

Equation numbers are the GUM's. Everything is to first order and for independent causes, except
causes that share a word: those are one cause, and add with their signs (5.2.2, r = ±1).
"""

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace

from barrelfit.rules.said import NOTHING, Said, written
from barrelfit.rules.uncertainty.student import t_quantile

CONFIDENCE = 0.95  # of every interval that is shown, unless a report says otherwise


@dataclass(frozen=True, slots=True)
class BudgetLine:
    """One line of a size's uncertainty budget; `u_nm` is its share in nm; dof None = infinite.

    `sign` is +1 or -1: how the size moves with a shared cause (see `Component`).
    """

    name: str
    kind: str
    distribution: str
    u_nm: float
    dof: float | None
    shared: str = ""
    sign: int = 1
    said: Said = NOTHING


@dataclass(frozen=True, slots=True)
class Component:
    """One line of a budget: `u_nm` is its contribution |c_i|·u(x_i) to the result, in nm.

    Attributes:
        name: what it is, by which it is known again.
        u_nm: standard uncertainty of the result from this cause alone, in nm, not negative.
        kind: evaluation type of the GUM, "A" (statistical) or "B" (other).
        distribution: of the input, for the report and the Monte Carlo check.
        dof: degrees of freedom of u_nm, above 0; infinity when u_nm is taken as known.
        shared: the same word in two budgets (or twice in one) means one common cause.
        sign: +1 when the result grows with the cause, else -1; matters only for shared causes.
        said: what it is, for the report; nothing where the name says it.
    """

    name: str
    u_nm: float
    kind: str = "B"
    distribution: str = "normal"
    dof: float = float("inf")
    shared: str = ""
    sign: int = 1
    said: Said = NOTHING

    def __post_init__(self) -> None:
        if not (math.isfinite(self.u_nm) and self.u_nm >= 0.0 and self.dof > 0.0):
            msg = (
                f"{self.name}: u_nm {self.u_nm} with {self.dof} degrees of freedom is no component"
            )
            raise ValueError(msg)
        if self.sign not in {1, -1}:
            msg = f"{self.name}: a sign is +1 or -1, not {self.sign}"
            raise ValueError(msg)

    @property
    def told(self) -> Said:
        """What it is, in words of the catalogue where there are any."""
        return self.said or written(self.name)

    @property
    def signed_nm(self) -> float:
        """The contribution with its sign, c_i·u(x_i), in nm."""
        return self.sign * self.u_nm


@dataclass(frozen=True, slots=True)
class Budget:
    """The components of one result's uncertainty."""

    components: tuple[Component, ...]

    @property
    def causes(self) -> tuple[Component, ...]:
        """The components with those of one common cause joined into one (signed sum)."""
        return _joined(self.components)

    @property
    def u_nm(self) -> float:
        """Combined standard uncertainty in nm (10), (16)."""
        return math.sqrt(math.fsum(c.u_nm * c.u_nm for c in self.causes))

    @property
    def dof(self) -> float:
        """Effective degrees of freedom by Welch and Satterthwaite (G.2b), not truncated."""
        finite = math.fsum(c.u_nm**4 / c.dof for c in self.causes)
        return self.u_nm**4 / finite if finite > 0.0 else math.inf

    def coverage_factor(self, p: float = CONFIDENCE) -> float:
        """The factor k_p = t_p(dof) for a two-sided interval of probability `p` (G.1d).

        The degrees of freedom are cut to the next lower whole number, as G.4.1 allows.
        """
        dof = self.dof
        whole = float(math.floor(dof)) if 1.0 <= dof < math.inf else dof
        return t_quantile((1.0 + p) / 2.0, whole)

    def expanded_nm(self, p: float = CONFIDENCE) -> int:
        """Expanded uncertainty U_p = k_p·u in whole nm, rounded up."""
        return math.ceil(self.coverage_factor(p) * self.u_nm)

    def interval_nm(self, value_nm: int, p: float = CONFIDENCE) -> tuple[int, int]:
        """The interval value ± U_p, in whole nm."""
        expanded_nm = self.expanded_nm(p)
        return value_nm - expanded_nm, value_nm + expanded_nm


def difference(a: Budget, b: Budget) -> Budget:
    """Budget of the value of `a` minus the value of `b`.

    A cause that both share (same non-empty `shared`) stays one line and cancels by sign: what a
    common setting ring adds to bore and skirt alike adds nothing to the clearance. Everything else
    adds in quadrature.
    """
    turned = tuple(replace(c, sign=-c.sign) for c in b.components)
    return Budget(_joined((*a.components, *turned)))


def second_order_nm(scale_nm: float, u_x: float, u_y: float) -> float:
    """Second-order share of a product term scale·x·y with independent x and y (note to 5.1.2).

    To be joined in quadrature with the first-order shares; it is all there is where x and y are
    both zero, as for an expansion coefficient at 20 °C (H.1.7).
    """
    return abs(scale_nm) * u_x * u_y


def rectangular(half_width: float) -> float:
    """Standard uncertainty of a value known only to lie within ±half_width (4.3.7)."""
    return half_width / math.sqrt(3.0)


def dof_from_doubt(relative: float) -> float:
    """Degrees of freedom of an uncertainty that is itself doubtful by `relative` (G.3).

    Args:
        relative: relative standard uncertainty of the standard uncertainty, e.g. 0.25.
    """
    return 0.5 / (relative * relative)


def _joined(components: Iterable[Component]) -> tuple[Component, ...]:
    """Join the components of one common cause, in order of first appearance."""
    out: dict[str, Component] = {}
    for number, one in enumerate(components):
        key = one.shared or f"\0{number}"  # no word: a cause of its own
        before = out.get(key)
        out[key] = one if before is None else _join(before, one)
    return tuple(out.values())


def _join(first: Component, second: Component) -> Component:
    total_nm = first.signed_nm + second.signed_nm
    return replace(
        first,
        u_nm=abs(total_nm),
        sign=-1 if total_nm < 0.0 else 1,
        dof=min(first.dof, second.dof),  # one cause known twice: trust the weaker knowledge
    )
