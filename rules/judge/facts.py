"""What a set still lacks that no gauge measures: looks, marks, masses, fits by hand, walls.

Every finding that is undecided for want of a fact names it here, so that no part stays undecided
with nothing left to do.
"""

from collections.abc import Iterator, Sequence

from barrelfit.rules.engine.catalogue import MAIN, lacks
from barrelfit.rules.engine.catalogue.nouns import Lack
from barrelfit.rules.engine.features import wall_at
from barrelfit.rules.engine.parts import Part
from barrelfit.rules.judge.evidence import Evidence
from barrelfit.rules.judge.plan import PlannedFeature
from barrelfit.rules.judge.rework import Remedy, ReworkPlan
from barrelfit.rules.model import FeatureId, Finding, Judgement, Severity, Verdict
from barrelfit.rules.said import Said, said

_LACKS = lacks()
_WALL = said("do_measure_wall")


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
    found: dict[tuple[str, Said], PlannedFeature] = {}
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
        open_now = finding.severity is Severity.UNDECIDED or finding.code in {"Q103", "Q105"}
        if not open_now:
            continue
        name, lack = _LACKS.get(finding.code, ("", None))
        if lack is None:
            if not _is_measured(evidence, finding, planned):
                yield _to_find(part, MAIN[part.kind].name, Lack(finding.code, "hand"), finding)
        elif lack.by is not None and not _is_planned(name, lack, finding, planned):
            yield _to_find(part, name, lack, finding)
    asked = (q for q in evidence.questions if q.at.part == part.id and q.at not in planned)
    for question in asked:
        asked_there = said("of_place", at=str(question.at), what=question.sentence)
        yield PlannedFeature(question.at, "hand", asked_there)
    if to_bore and wall_at(part.id) not in evidence.sizes:
        yield PlannedFeature(wall_at(part.id), "hand", said("of_place", at=part.id, what=_WALL))


def _is_planned(name: str, lack: Lack, finding: Finding, planned: Sequence[FeatureId]) -> bool:
    """Whether the gauges' plan names it: a groove that nobody has tried, a pin without a size."""
    return lack.by == "hand" and any(
        at.feature.startswith(name)
        and (not at.depth or finding.sentence.mentions("ring", at.depth))
        for at in planned
    )


def _is_measured(evidence: Evidence, finding: Finding, planned: Sequence[FeatureId]) -> bool:
    """Whether the finding lacks a size that is planned, or will be answered with its question."""
    if finding.code.startswith("T"):
        return True
    sizes = (evidence.sizes[at].size_nm for at in planned if at in evidence.sizes)
    return finding.value_nm is not None and finding.value_nm in sizes


def _to_find(part: Part, name: str, lack: Lack, finding: Finding) -> PlannedFeature:
    how = lack.how
    if not how:
        do = finding.advice or finding.sentence
        how = said("lacking", what=finding.sentence, do=do)
    at = FeatureId(part.id, name)
    return PlannedFeature(at, lack.by or "hand", said("of_place", at=part.id, what=how))
