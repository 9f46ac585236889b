"""What a set still lacks that no gauge measures: looks, marks, masses, fits by hand, walls.

Every finding that is undecided for want of a fact names it here, so that no part stays undecided
with nothing left to do.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from barrelfit.rules.engine.features import wall_at
from barrelfit.rules.engine.parts import Part
from barrelfit.rules.judge.evidence import Evidence
from barrelfit.rules.judge.plan import GaugeKind, PlannedFeature
from barrelfit.rules.judge.rework import Remedy, ReworkPlan
from barrelfit.rules.model import FeatureId, Finding, Judgement, Severity, Verdict


@dataclass(frozen=True, slots=True)
class _Fact:
    """What a finding lacks: its name, with what it is found, and one line on how.

    Without a sentence the finding's own advice says how.
    """

    name: str
    by: GaugeKind
    sentence: str = ""


_LOOK = "look at it before cleaning: cracks, scoring, ring lands, pin area, fins and faces"
_FACTS = {
    "E101": _Fact("looked", "eye", _LOOK),
    "E103": _Fact("looked", "eye"),
    "K102": _Fact("stamp", "eye"),
    "K104": _Fact("stamp", "eye"),
    "K105": _Fact("stamp", "eye", "read its size or group stamp, or give the engine's group"),
    "K109": _Fact("stamp", "eye"),
    "C103": _Fact("clearance-stamp", "eye"),
    "H101": _Fact("kind", "eye"),
    "H102": _Fact("seal", "eye", "say which seal to the head it is made for, and the heads' own"),
    "H103": _Fact("seal", "eye"),
    "H104": _Fact("height-group", "eye", "read its height group, or measure the height"),
    "H105": _Fact("kind", "eye"),
    "W101": _Fact("class", "eye", "read its class mark, one of the sheet's"),
    "W102": _Fact("class", "eye"),
    "W107": _Fact("pin", "eye"),
    "S103": _Fact("mass", "scale", "weigh it without rings and pin"),
    "W103": _Fact("play", "hand", "try its fit in the piston, oiled, by hand"),
    "W104": _Fact("diameter", "hand"),
    "R102": _Fact("side", "hand"),
    "R103": _Fact("side", "hand"),
    "R104": _Fact("side", "hand"),
    "R105": _Fact("side", "hand"),
    "R109": _Fact("side", "hand"),
    "R110": _Fact("side", "hand"),
    "R111": _Fact("side", "hand"),
    "R112": _Fact("side", "hand"),
    "R113": _Fact("side", "hand"),
    "R115": _Fact("ring", "hand"),
    "B106": _Fact("wall", "hand"),
    "Q103": _Fact("wall", "hand"),
}
_MEASURED = {"B105", "R108", "S104", "W106"}  # no size yet: in the plan of the gauges
_WALL = "measure its thinnest wall before it is bored: so far it is taken as a new barrel's"


def facts_to_find(
    evidence: Evidence,
    judgements: Sequence[Judgement],
    remedies: Sequence[Remedy],
    planned: Sequence[PlannedFeature],
) -> tuple[PlannedFeature, ...]:
    """What is still to be looked at, read, weighed or tried, in the set's order.

    Args:
        evidence: the set.
        judgements: every part's.
        remedies: the rework that is planned.
        planned: what gauges are still to measure, which is not named again.
    """
    bored = {r.part for r in remedies if r.work is ReworkPlan.OVERSIZE}
    found: dict[tuple[str, str], PlannedFeature] = {}
    for judgement in judgements:
        if judgement.verdict is Verdict.DISCARD:
            continue
        part = evidence.engine.part(judgement.about)
        ours = [p.at for p in planned if p.at.part == part.id]
        for fact in _facts(evidence, part, judgement, ours, to_bore=part.id in bored):
            found.setdefault((str(fact.at), fact.sentence), fact)
    return tuple(found.values())


def _facts(
    evidence: Evidence,
    part: Part,
    judgement: Judgement,
    planned: Sequence[FeatureId],
    *,
    to_bore: bool,
) -> Iterator[PlannedFeature]:
    for finding in judgement.findings:
        fact = _FACTS.get(finding.code)
        open_now = finding.severity is Severity.UNDECIDED or finding.code in {"Q103", "Q105"}
        if fact is not None and open_now and not _is_planned(fact, finding, planned):
            yield _to_find(part, fact, finding)
        elif fact is None and open_now and not _is_measured(evidence, finding, planned):
            yield _to_find(part, _Fact(_about(part), "hand"), finding)
    asked = (q for q in evidence.questions if q.at.part == part.id and q.at not in planned)
    for question in asked:
        yield PlannedFeature(question.at, "hand", f"{question.at}: {question.sentence}")
    if to_bore and wall_at(part.id) not in evidence.sizes:
        yield PlannedFeature(wall_at(part.id), "hand", f"{part.id}: {_WALL}")


def _is_planned(fact: _Fact, finding: Finding, planned: Sequence[FeatureId]) -> bool:
    """Whether the gauges' plan names it: a groove that nobody has tried, a pin without a size."""
    return fact.by == "hand" and any(
        at.feature.startswith(fact.name) and (not at.depth or finding.sentence.startswith(at.depth))
        for at in planned
    )


def _is_measured(evidence: Evidence, finding: Finding, planned: Sequence[FeatureId]) -> bool:
    """Whether the finding lacks a size that is planned, or will be answered with its question."""
    if finding.code in _MEASURED or finding.code.startswith("T"):
        return True
    sizes = (evidence.sizes[at].size_nm for at in planned if at in evidence.sizes)
    return finding.value_nm is not None and finding.value_nm in sizes


def _about(part: Part) -> str:
    return {"piston": "skirt", "barrel": "bore", "pin": "diameter"}[part.kind]


def _to_find(part: Part, fact: _Fact, finding: Finding) -> PlannedFeature:
    how = fact.sentence or finding.advice or finding.sentence
    what = "" if fact.sentence else f"{finding.sentence}: "
    return PlannedFeature(FeatureId(part.id, fact.name), fact.by, f"{part.id}: {what}{how}")
