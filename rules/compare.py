"""What every rule is made of: a value with its uncertainty, what a rule found, and comparing.

A rule is one small function in a family file of `rules.checks`. It takes plain values, returns None
when all is well or `Found`, and its docstring begins with its code and holds its cases: lines of
`Okay:` and `Found <severity>:` with the arguments by name, run as tests.
"""

import math
from dataclasses import dataclass, replace

from barrelfit.rules.engine.limits import Limit
from barrelfit.rules.length import shown
from barrelfit.rules.model import Severity, Size
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
    def words(self) -> str:
        """The value with half its 95 % interval: `84.915 ± 0.0016 mm`."""
        if not self.u_nm:
            return shown(self.nm)
        half_nm = -(-self.expanded_nm // 100) * 100  # up to the last decimal shown
        return f"{shown(self.nm).removesuffix(' mm')} ± {shown(half_nm)}"

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
    """What a rule found: its code, weight and sentence; lengths in nm where it is about one.

    `limit_from` is the origin of the limit in words.
    """

    code: str
    severity: Severity
    sentence: str
    advice: str = ""
    value_nm: int | None = None
    limit_nm: int | None = None
    limit_from: str = ""


def above(value: Value, limit: Limit) -> Zone:
    """Where a value lies against the upper limit alone; inside when there is none."""
    return Zone.INSIDE if limit.upper_nm is None else _decided(value, None, limit.upper_nm).zone


def below(value: Value, limit: Limit) -> Zone:
    """Where a value lies against the lower limit alone; inside when there is none."""
    return Zone.INSIDE if limit.lower_nm is None else _decided(value, limit.lower_nm, None).zone


def _decided(value: Value, lower_nm: int | None, upper_nm: int | None) -> Decision:
    return decide(value.nm, value.u_nm, lower_nm, upper_nm, value.guard, value.dof)


def over(code: str, severity: Severity, what: str, value: Value, limit: Limit) -> Found | None:
    """Found when a value is above its upper limit (`severity`), or too near it to tell."""
    zone = above(value, limit)
    if zone is Zone.INSIDE or limit.upper_nm is None:
        return None
    found = _found(code, severity, zone, (what, value, limit.upper_nm, limit.upper_from))
    p = p_conform(value.nm, value.u_nm, None, limit.upper_nm, value.dof)
    return _with_chance(found, p) if zone is Zone.UNDECIDED else found


def under(code: str, severity: Severity, what: str, value: Value, limit: Limit) -> Found | None:
    """Found when a value is below its lower limit (`severity`), or too near it to tell."""
    zone = below(value, limit)
    if zone is Zone.INSIDE or limit.lower_nm is None:
        return None
    found = _found(code, severity, zone, (what, value, limit.lower_nm, limit.lower_from))
    p = p_conform(value.nm, value.u_nm, limit.lower_nm, None, value.dof)
    return _with_chance(found, p) if zone is Zone.UNDECIDED else found


def advised(found: Found | None, advice: str) -> Found | None:
    """The same finding with the rule's own advice; an undecided one keeps `measure again`."""
    if found is None or found.severity is Severity.UNDECIDED:
        return found
    return replace(found, advice=advice)


def _found(code: str, severity: Severity, zone: Zone, about: tuple[str, Value, int, str]) -> Found:
    what, value, limit_nm, origin = about
    gap_nm = value.nm - limit_nm
    side = "above" if gap_nm > 0 else "below" if gap_nm < 0 else "on"
    sentence = f"{what} {value.words} is {shown(abs(gap_nm))} {side} the limit {shown(limit_nm)}"
    if gap_nm == 0:
        sentence = f"{what} {value.words} is on the limit"
    if zone is Zone.OUTSIDE:
        return Found(code, severity, sentence, "", value.nm, limit_nm, origin)
    doubt = f"{sentence}: too near to tell"
    advice = "measure again, with a better gauge or at 20 °C"
    return Found(code, Severity.UNDECIDED, doubt, advice, value.nm, limit_nm, origin)


def _with_chance(found: Found, p: float) -> Found:
    """A finding too near its limit to tell, with JCGM 106's conformance probability in words.

    A value that is clearly beyond its limit gets none: it would say no more than the verdict does.
    """
    return replace(found, sentence=f"{found.sentence}, {chance_words(p)} likely to be within it")


def chance_words(p: float) -> str:
    """A probability in whole per cent; its ends as what they are: `less than 1 %`."""
    if p < _LEAST_CHANCE:
        return "less than 1 %"
    if p > 1 - _LEAST_CHANCE:
        return "more than 99 %"
    return f"{round(100 * p)} %"
