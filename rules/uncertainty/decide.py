"""Decisions by ISO 14253-1: inside the limits by the guard band, outside by it, or undecided.

Guard band g = factor·u, rounded up to whole nm; the default factor 1.65 is the standard's for a
95 % conformance probability when one limit is near and the result is normal. Lengths are whole nm
and a limit is included in what it allows: a value on the edge of acceptance is inside, and only
a value beyond the edge of rejection is outside.

The conformance probability is JCGM 106's, for a normal result without prior knowledge of the
parts: p = Φ((upper - value)/u) - Φ((lower - value)/u).
"""

import math
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from functools import lru_cache

from barrelfit.rules.uncertainty.student import normal_tail, t_quantile, t_tail

GUARD_FACTOR = 1.65  # ISO 14253-1:2017
GUARD_FACTOR_MAX = 10.0  # beyond any use, and still a probability that a float can hold


class Zone(StrEnum):
    """Where a value lies against its limits, its uncertainty considered."""

    INSIDE = "inside"
    UNDECIDED = "undecided"
    OUTSIDE = "outside"


@dataclass(frozen=True, slots=True)
class Decision:
    """How a value stands against its limits, with all that led to it.

    Attributes:
        zone: the decision.
        value_nm: the value, in nm.
        u_nm: its standard uncertainty, in nm.
        lower_nm: the lower limit as given, in nm; None where there is none.
        upper_nm: the upper limit as given, in nm; None where there is none.
        guard_factor: the factor as set.
        guard_nm: the guard band, in whole nm.
        p_conform: probability that the true value is within the limits, 0 to 1.
    """

    zone: Zone
    value_nm: int
    u_nm: float
    lower_nm: int | None
    upper_nm: int | None
    guard_factor: float
    guard_nm: int
    p_conform: float

    @property
    def accept_low_nm(self) -> int | None:
        """The smallest value that is inside, as far as the lower limit goes."""
        return None if self.lower_nm is None else self.lower_nm + self.guard_nm

    @property
    def accept_high_nm(self) -> int | None:
        """The largest value that is inside, as far as the upper limit goes."""
        return None if self.upper_nm is None else self.upper_nm - self.guard_nm


def decide(
    value_nm: int,
    u_nm: float,
    lower_nm: int | None,
    upper_nm: int | None,
    guard_factor: float = GUARD_FACTOR,
    dof: float = math.inf,
) -> Decision:
    """Decide where a value lies against its limits.

    Args:
        value_nm: the value, whole nm.
        u_nm: its standard uncertainty, nm; 0 gives the plain exact comparison.
        lower_nm: least value allowed, or None.
        upper_nm: greatest value allowed, or None.
        guard_factor: guard band in units of u, 0 to 10; 0 is simple acceptance.
        dof: effective degrees of freedom of u. When they are few, the factor grows so that it keeps
            its one-sided probability (Student's t in place of the normal distribution).

    Raises:
        ValueError: no limit at all, a lower limit above the upper, or a number that is none.
    """
    _check(value_nm, u_nm, lower_nm, upper_nm, guard_factor)
    guard_nm = guard_band_nm(u_nm, guard_factor, dof)
    return Decision(
        zone=_zone(value_nm, lower_nm, upper_nm, guard_nm),
        value_nm=value_nm,
        u_nm=u_nm,
        lower_nm=lower_nm,
        upper_nm=upper_nm,
        guard_factor=guard_factor,
        guard_nm=guard_nm,
        p_conform=p_conform(value_nm, u_nm, lower_nm, upper_nm, dof),
    )


@lru_cache(maxsize=4096)  # each size is judged again whenever another one comes
def guard_band_nm(u_nm: float, guard_factor: float = GUARD_FACTOR, dof: float = math.inf) -> int:
    """The guard band factor·u in nm, rounded up to whole nm."""
    if math.isfinite(dof) and guard_factor > 0.0:
        guard_factor = -t_quantile(normal_tail(guard_factor), dof)
    # The factor is meant as the decimal it is written as, so that 1.65 x 100 nm is 165 nm, not 166.
    return math.ceil(Fraction(str(guard_factor)) * Fraction(u_nm))


def p_conform(
    value_nm: int,
    u_nm: float,
    lower_nm: int | None,
    upper_nm: int | None,
    dof: float = math.inf,
) -> float:
    """Probability that the true value is within the limits, both included, 0 to 1."""
    if u_nm == 0.0:
        return 1.0 if _within(value_nm, lower_nm, upper_nm) else 0.0
    # With one limit the wanted tail itself: one less a tail near one has lost all its digits.
    if lower_nm is None and upper_nm is not None:
        return t_tail((value_nm - upper_nm) / u_nm, dof)
    if upper_nm is None and lower_nm is not None:
        return t_tail((lower_nm - value_nm) / u_nm, dof)
    above = 0.0 if upper_nm is None else t_tail((upper_nm - value_nm) / u_nm, dof)
    below = 0.0 if lower_nm is None else t_tail((value_nm - lower_nm) / u_nm, dof)
    return min(1.0, max(0.0, 1.0 - above - below))


def _zone(value_nm: int, lower_nm: int | None, upper_nm: int | None, guard_nm: int) -> Zone:
    accept_low = None if lower_nm is None else lower_nm + guard_nm
    accept_high = None if upper_nm is None else upper_nm - guard_nm
    if _within(value_nm, accept_low, accept_high):
        return Zone.INSIDE
    reject_low = None if lower_nm is None else lower_nm - guard_nm
    reject_high = None if upper_nm is None else upper_nm + guard_nm
    return Zone.UNDECIDED if _within(value_nm, reject_low, reject_high) else Zone.OUTSIDE


def _within(value_nm: int, low_nm: int | None, high_nm: int | None) -> bool:
    return (low_nm is None or low_nm <= value_nm) and (high_nm is None or value_nm <= high_nm)


def _check(
    value_nm: int, u_nm: float, lower_nm: int | None, upper_nm: int | None, guard_factor: float
) -> None:
    lengths = [n for n in (value_nm, lower_nm, upper_nm) if n is not None]
    if any(not isinstance(n, int) for n in lengths):
        msg = f"lengths are whole nm, not {lengths}"
        raise ValueError(msg)
    if lower_nm is None and upper_nm is None:
        msg = "a decision needs a limit"
        raise ValueError(msg)
    if lower_nm is not None and upper_nm is not None and lower_nm > upper_nm:
        msg = f"the lower limit {lower_nm} nm is above the upper limit {upper_nm} nm"
        raise ValueError(msg)
    if not (math.isfinite(u_nm) and u_nm >= 0.0):
        msg = f"a standard uncertainty is a number from 0 up, not {u_nm}"
        raise ValueError(msg)
    if not 0.0 <= guard_factor <= GUARD_FACTOR_MAX:
        msg = f"a guard-band factor is a number from 0 to {GUARD_FACTOR_MAX:g}, not {guard_factor}"
        raise ValueError(msg)
