"""Collects what the rules found about one part or pair, and draws the verdict from it."""

from collections.abc import Sequence
from dataclasses import replace

from barrelfit.rules.compare import Found, Value
from barrelfit.rules.engine.limits import Limit
from barrelfit.rules.model import Finding, Judgement, Severity, Verdict
from barrelfit.rules.said import NOTHING, Said, length, said, written

_VERDICTS = {
    Severity.NOTE: Verdict.SERVICEABLE,
    Severity.UNDECIDED: Verdict.UNDECIDED,
    Severity.REWORK: Verdict.REWORK,
    Severity.DISCARD: Verdict.DISCARD,
}


_SAID: dict[str, Said] = {
    Verdict.SERVICEABLE: said("verdict_serviceable"),
    Verdict.REWORK: said("verdict_rework"),
    Verdict.DISCARD: said("verdict_discard"),
    Verdict.UNDECIDED: said("verdict_undecided"),
}


def verdict_said(verdict: str) -> Said:
    """A verdict's word; `verdict` is one of `Verdict`, or as a record has it."""
    return _SAID.get(verdict) or written(verdict)


PASSED = "V100"  # code of the note that a measured value is within its limits


class Docket:
    """The findings about one part (`P1`) or pair (`P1+B1`), in the order they were added."""

    def __init__(self, about: str) -> None:
        self.about = about
        self._findings: list[Finding] = []

    def add(self, *founds: Found | None) -> bool:
        """Add what rules found; returns whether any of them found something beyond a note."""
        found = [f for f in founds if f is not None]
        self._findings.extend(finding_of(self.about, f) for f in found)
        return any(f.severity > Severity.NOTE for f in found)

    def check(self, what: Said, value: Value, limit: Limit, *founds: Found | None) -> None:
        """Add what the rules about a measured value found; a note of what it met when nothing.

        A value that passes is put down with its limits and their origin, so that a verdict of
        serviceable shows what it stands on.
        """
        if any(f is not None for f in founds):
            self.add(*founds)
            return
        self.add(passed(what, value, limit))

    @property
    def undecided(self) -> frozenset[str]:
        """Codes of what is undecided so far."""
        return frozenset(f.code for f in self._findings if f.severity is Severity.UNDECIDED)

    @property
    def worst(self) -> Severity:
        """The heaviest weight so far."""
        return max((f.severity for f in self._findings), default=Severity.NOTE)

    def judgement(self) -> Judgement:
        """Draw the verdict: the worst finding's, with its advice as what to do."""
        return drawn(self.about, self._findings)


def drawn(about: str, findings: Sequence[Finding]) -> Judgement:
    """The verdict that findings make: the worst one's, with its advice as what to do."""
    worst = max((f.severity for f in findings), default=Severity.NOTE)
    todo = next((f.advice for f in findings if f.severity is worst and f.advice), NOTHING)
    ordered = sorted(findings, key=lambda f: -f.severity)
    return Judgement(about, _VERDICTS[worst], tuple(ordered), todo)


def finding_of(about: str, found: Found) -> Finding:
    """What a rule found, as a finding about a part or pair."""
    return Finding(
        code=found.code,
        severity=found.severity,
        about=about,
        sentence=found.sentence,
        value_nm=found.value_nm,
        limit_nm=found.limit_nm,
        limit_from=found.limit_from,
        advice=found.advice,
    )


ORIGINAL = (said("an_original_size"), said("do_find_original_size"))


def doubted(
    found: Found | None, *, doubtful: bool, by: tuple[Said, Said] = ORIGINAL
) -> Found | None:
    """A finding by a size or limit that is itself in doubt decides nothing yet.

    Args:
        found: the finding.
        doubtful: whether what it stands on is in doubt.
        by: what that is, and what to do about it.
    """
    if found is None or not doubtful or found.severity <= Severity.UNDECIDED:
        return found
    what, advice = by
    sentence = said("by_doubtful", found=found.sentence, what=what)
    return replace(found, severity=Severity.UNDECIDED, sentence=sentence, advice=advice)


def passed(what: Said, value: Value, limit: Limit) -> Found:
    """V100: the note that a measured value is within its limits, with the nearer limit."""
    nearer_nm, origin = _nearer(value.nm, limit)
    room = length(abs(value.nm - nearer_nm))
    sentence = said("passed", what=what, value=value.said, allowed=_range(limit), room=room)
    return Found(PASSED, Severity.NOTE, sentence, NOTHING, value.nm, nearer_nm, origin)


def _nearer(value_nm: int, limit: Limit) -> tuple[int, Said]:
    sides = [(limit.lower_nm, limit.lower_from), (limit.upper_nm, limit.upper_from)]
    given = [(nm, origin) for nm, origin in sides if nm is not None]
    return min(given, key=lambda side: abs(value_nm - side[0]))


def _range(limit: Limit) -> Said:
    if limit.lower_nm is None:
        return said("at_most", most=length(limit.upper_nm or 0))
    if limit.upper_nm is None:
        return said("at_least", least=length(limit.lower_nm))
    return said("span", low=length(limit.lower_nm), high=length(limit.upper_nm))
