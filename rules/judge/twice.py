"""A discard is measured twice, in two separate sweeps: the second bears it out, or nobody knows.

A hand that turns a little before the crest, slowing down as if it were there, reads 20 to 140 µm
too small, and its passes agree. It rarely does so by the same amount in another sweep. So one sweep
alone discards nothing; a second one, at the place that decides, is asked for once a part. The same
holds where a first sweep was too near a limit to tell: two sweeps that do not agree decide nothing.
"""

import math
from collections.abc import Callable
from dataclasses import replace

from barrelfit.rules.checks import entries
from barrelfit.rules.compare import Found
from barrelfit.rules.engine.parts import Part
from barrelfit.rules.judge.bore import bore_of
from barrelfit.rules.judge.docket import drawn, finding_of
from barrelfit.rules.judge.evidence import Evidence
from barrelfit.rules.model import FeatureId, Finding, Judgement, Severity, Size, Verdict

AGREE = 2.58  # two sweeps of one part differ by more in one of a hundred cases (normal, 99 %)
SWEPT = "sweep"
_OWN = frozenset({"sweep", "digit", "repeatability, assumed"})  # what another sweep draws anew


def own_u_nm(size: Size) -> float:
    """What of a size's uncertainty is the sweep's own: the rest is alike in the next sweep."""
    return math.hypot(*(c.u_nm for c in size.budget.components if c.name in _OWN))


def doubt_nm(one: Size, other: Size) -> int:
    """How far two sweeps of one part by one gauge may differ and still agree, in nm."""
    return math.ceil(AGREE * math.hypot(own_u_nm(one), own_u_nm(other)))


def agree(one: Size, other: Size) -> bool:
    """Whether two sweeps of one part agree within what both leave open."""
    return abs(other.size_nm - one.size_nm) <= doubt_nm(one, other)


def weighed(
    evidence: Evidence, part: Part, judged: Judgement, judge: Callable[[Evidence], Judgement]
) -> Judgement:
    """A verdict, undecided where it is a discard by one sweep or where two sweeps don't agree.

    Args:
        evidence: with the sizes that stand, and the first ones of what was measured twice.
        part: the part.
        judged: the verdict by the sizes that stand.
        judge: judges the part by any evidence.
    """
    found = _apart(evidence, part, judged, judge)
    place = awaits_second(evidence, part, judged, judge)
    if place is not None:
        found.append(entries.once_more(str(place), twice=False))
    return softened(judged, tuple(f for f in found if f is not None))


def softened(judged: Judgement, doubts: tuple[Found, ...]) -> Judgement:
    """A verdict that decides nothing while there are doubts: they are told before its findings."""
    if not doubts:
        return judged
    told = (finding_of(judged.about, f) for f in doubts)
    return drawn(judged.about, (*told, *(_softened(f) for f in judged.findings)))


def awaits_second(
    evidence: Evidence, part: Part, judged: Judgement, judge: Callable[[Evidence], Judgement]
) -> FeatureId | None:
    """The place whose second sweep is to bear out a discard; None where nothing waits for one."""
    firsts = _firsts(evidence, part)
    place = _deciding(evidence, part, judged)
    if place is None or place in firsts:
        return None
    discarded = firsts and _by_firsts(evidence, firsts, judge).verdict is Verdict.DISCARD
    return None if discarded else place


def _apart(
    evidence: Evidence, part: Part, judged: Judgement, judge: Callable[[Evidence], Judgement]
) -> list[Found | None]:
    """What two sweeps of one place say against one another."""
    firsts = _firsts(evidence, part)
    if not firsts:
        return []
    pairs = [(first, evidence.sizes[at]) for at, first in firsts.items()]
    before = _by_firsts(evidence, firsts, judge).verdict
    return [
        *(entries.measured_apart(a.size_nm, b.size_nm, doubt_nm(a, b)) for a, b in pairs),
        entries.on_both_sides(before, judged.verdict),
    ]


def _firsts(evidence: Evidence, part: Part) -> dict[FeatureId, Size]:
    """The first sizes of the part's places that were measured twice."""
    firsts = evidence.firsts or {}
    return {at: s for at, s in firsts.items() if at.part == part.id and at in evidence.sizes}


def _by_firsts(
    evidence: Evidence, firsts: dict[FeatureId, Size], judge: Callable[[Evidence], Judgement]
) -> Judgement:
    return judge(replace(evidence, sizes={**evidence.sizes, **firsts}))


def _deciding(evidence: Evidence, part: Part, judged: Judgement) -> FeatureId | None:
    """The swept place that a discard rests on; None where it rests on anything else as well."""
    if judged.verdict is not Verdict.DISCARD:
        return None
    beyond = [f for f in judged.findings if f.severity is Severity.DISCARD]
    places = [_place_of(evidence, part, judged, f) for f in beyond]
    return None if None in places else places[0]


def _place_of(
    evidence: Evidence, part: Part, judged: Judgement, finding: Finding
) -> FeatureId | None:
    swept = [s for s in evidence.sizes.values() if s.at.part == part.id and s.source == SWEPT]
    if finding.value_nm is not None:
        return next((s.at for s in swept if s.size_nm == finding.value_nm), None)
    worn = any(f.severity is Severity.REWORK and f.value_nm is not None for f in judged.findings)
    largest = bore_of(evidence, part.id).largest if part.kind == "barrel" and worn else None
    return largest.at if largest in swept and largest is not None else None


def _softened(finding: Finding) -> Finding:
    return replace(finding, severity=min(finding.severity, Severity.UNDECIDED))
