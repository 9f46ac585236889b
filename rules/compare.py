"""What every rule is made of: a value with its uncertainty, what a rule found, and comparing.

A rule is one small function in a family file of `rules.checks`. It takes plain values, returns None
when all is well or `Found`, and its docstring begins with its code and holds its cases: lines of
`Okay:` and `Found <severity>:` with the arguments by name, run as tests.
"""

import math
from dataclasses import dataclass, replace

from barrelfit.rules.engine.limits import Limit
from barrelfit.rules.model import Severity, Size
from barrelfit.rules.said import NOTHING, Said, length, length_doubted, percent, said
from barrelfit.rules.uncertainty.budget import CONFIDENCE, Budget
from barrelfit.rules.uncertainty.decide import GUARD_FACTOR, Decision, Zone, decide, p_conform
from barrelfit.rules.uncertainty.student import t_quantile

_LEAST_CHANCE = 0.01  # below it a chance is said as `less than`, not as a number


@dataclass(frozen=True, slots=True)
class Value:
    """A length at 20 °C in nm with its standard uncertainty (nm) and degrees of freedom.

    `guard` is the guard band's factor that decisions about it use.
    """

    nm: int
    u_nm: float
    dof: float = math.inf
    guard: float = GUARD_FACTOR

    @property
    def expanded_nm(self) -> int:
        """Half-width of the 95 % interval, in whole nm, rounded up."""
        whole = math.floor(self.dof) if 1 <= self.dof < math.inf else self.dof
        return math.ceil(t_quantile((1 + CONFIDENCE) / 2, float(whole)) * self.u_nm)

    @property
    def said(self) -> Said:
        """The value with half its 95 % interval: `84.915 ± 0.0016 mm`."""
        return length_doubted(self.nm, self.expanded_nm) if self.u_nm else length(self.nm)

    @classmethod
    def of_budget(cls, length_nm: int, budget: Budget, guard: float) -> "Value":
        """Take the uncertainty of a length from its budget."""
        return cls(length_nm, budget.u_nm, budget.dof, guard)

    @classmethod
    def of_size(cls, size: Size, guard: float) -> "Value":
        """Take a size with its budget."""
        return cls.of_budget(size.size_nm, size.budget, guard)


@dataclass(frozen=True, slots=True)
class Found:
    """What a rule found: its code, weight and what it says; lengths in nm where it is about one.

    `limit_from` is the origin of the limit.
    """

    code: str
    severity: Severity
    sentence: Said
    advice: Said = NOTHING
    value_nm: int | None = None
    limit_nm: int | None = None
    limit_from: Said = NOTHING


def above(value: Value, limit: Limit) -> Zone:
    """Where a value lies against the upper limit alone; inside when there is none."""
    return Zone.INSIDE if limit.upper_nm is None else _decided(value, None, limit.upper_nm).zone


def below(value: Value, limit: Limit) -> Zone:
    """Where a value lies against the lower limit alone; inside when there is none."""
    return Zone.INSIDE if limit.lower_nm is None else _decided(value, limit.lower_nm, None).zone


def _decided(value: Value, lower_nm: int | None, upper_nm: int | None) -> Decision:
    return decide(value.nm, value.u_nm, lower_nm, upper_nm, value.guard, value.dof)


def over(code: str, severity: Severity, what: Said, value: Value, limit: Limit) -> Found | None:
    """Found when a value is above its upper limit (`severity`), or too near it to tell."""
    zone = above(value, limit)
    if zone is Zone.INSIDE or limit.upper_nm is None:
        return None
    found = _found(code, severity, zone, (what, value, limit.upper_nm, limit.upper_from))
    p = p_conform(value.nm, value.u_nm, None, limit.upper_nm, value.dof)
    return _with_chance(found, p) if zone is Zone.UNDECIDED else found


def under(code: str, severity: Severity, what: Said, value: Value, limit: Limit) -> Found | None:
    """Found when a value is below its lower limit (`severity`), or too near it to tell."""
    zone = below(value, limit)
    if zone is Zone.INSIDE or limit.lower_nm is None:
        return None
    found = _found(code, severity, zone, (what, value, limit.lower_nm, limit.lower_from))
    p = p_conform(value.nm, value.u_nm, limit.lower_nm, None, value.dof)
    return _with_chance(found, p) if zone is Zone.UNDECIDED else found


def advised(found: Found | None, advice: Said) -> Found | None:
    """The same finding with the rule's own advice; an undecided one keeps `measure again`."""
    if found is None or found.severity is Severity.UNDECIDED:
        return found
    return replace(found, advice=advice)


def _found(
    code: str, severity: Severity, zone: Zone, about: tuple[Said, Value, int, Said]
) -> Found:
    what, value, limit_nm, origin = about
    gap_nm = value.nm - limit_nm
    gap, at = length(abs(gap_nm)), length(limit_nm)
    if gap_nm > 0:
        sentence = said("is_above", what=what, value=value.said, gap=gap, limit=at)
    elif gap_nm < 0:
        sentence = said("is_below", what=what, value=value.said, gap=gap, limit=at)
    else:
        sentence = said("is_on", what=what, value=value.said)
    if zone is Zone.OUTSIDE:
        return Found(code, severity, sentence, NOTHING, value.nm, limit_nm, origin)
    advice = said("measure_better")
    return Found(code, Severity.UNDECIDED, sentence, advice, value.nm, limit_nm, origin)


def _with_chance(found: Found, p: float) -> Found:
    """A finding too near its limit to tell, with JCGM 106's conformance probability.

    A value that is clearly beyond its limit gets none: it would say no more than the verdict does.
    """
    return replace(found, sentence=said("too_near", found=found.sentence, chance=chance(p)))


def chance(p: float) -> Said:
    """A probability in whole per cent; its ends as what they are: `less than 1 %`."""
    if p < _LEAST_CHANCE:
        return said("less_than", share=percent(round(100 * _LEAST_CHANCE)))
    if p > 1 - _LEAST_CHANCE:
        return said("more_than", share=percent(round(100 * (1 - _LEAST_CHANCE))))
    return percent(round(100 * p))
