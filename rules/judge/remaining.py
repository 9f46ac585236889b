"""What is still to be done: measured, looked at, weighed, tried; of discarded parts nothing."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from barrelfit.rules.engine.catalogue import feature
from barrelfit.rules.engine.catalogue.barrels import BORE
from barrelfit.rules.engine.catalogue.nouns import GaugeKind
from barrelfit.rules.engine.catalogue.pistons import SKIRT
from barrelfit.rules.engine.catalogue.rings import GAP, GAP_BORE
from barrelfit.rules.engine.features import ring_at, skirt_at
from barrelfit.rules.judge.bore import bore_of
from barrelfit.rules.judge.evidence import Evidence
from barrelfit.rules.judge.facts import facts_to_find
from barrelfit.rules.judge.part import judge_part
from barrelfit.rules.judge.plan import PlannedFeature, features
from barrelfit.rules.judge.rework import Remedy
from barrelfit.rules.judge.rings import gap_bore
from barrelfit.rules.model import FeatureId, Finding, Judgement, Severity, Verdict
from barrelfit.rules.said import said

# Findings about a pair, and the end of the bore that each is about.
_ENDS = {"C101": "smallest", "C102": "largest", "C105": "largest", "C106": "smallest"}


def still_to_do(
    evidence: Evidence, judgements: Sequence[Judgement], remedies: Sequence[Remedy]
) -> tuple[PlannedFeature, ...]:
    """Everything a set still lacks: what the eye sees, then what gauges measure, then by hand.

    Args:
        evidence: the set.
        judgements: every part's.
        remedies: the rework that is planned; before boring a wall must be known.
    """
    asked = {q.at: q.sentence for q in evidence.questions}
    measured = [
        replace(p, sentence=said("with_question", what=p.sentence, question=asked[p.at]))
        if p.at in asked
        else p
        for p in still_to_measure(evidence)
    ]
    facts = facts_to_find(evidence, judgements, remedies, measured)
    seen = tuple(f for f in facts if f.gauge_kind == "eye")
    return (*seen, *measured, *(f for f in facts if f.gauge_kind != "eye"))


def pairs_to_settle(
    evidence: Evidence, pairs: Sequence[tuple[str, str, Judgement]], planned: Sequence[FeatureId]
) -> tuple[PlannedFeature, ...]:
    """What is measured again since a pair of two sound parts is too near a limit to tell.

    Args:
        evidence: the set.
        pairs: piston, barrel and judgement of each pair.
        planned: what is to be measured anyway.
    """
    found: dict[FeatureId, PlannedFeature] = {}
    for piston, barrel, judgement in pairs:
        for finding in judgement.findings:
            if finding.severity is not Severity.UNDECIDED or finding.code not in _ENDS:
                continue
            for at, by in _ends(evidence, piston, barrel, finding):
                why = finding.sentence
                sentence = said("as_well_as_can_be", at=str(at), barrel=barrel, why=why)
                found.setdefault(at, PlannedFeature(at, by, sentence))
    return tuple(p for at, p in found.items() if at not in planned)


def _ends(
    evidence: Evidence, piston: str, barrel: str, finding: Finding
) -> Iterator[tuple[FeatureId, GaugeKind]]:
    """What a clearance, or a gap in a bore, is made of."""
    bore = bore_of(evidence, barrel)
    end = bore.smallest if _ENDS[finding.code] == "smallest" else bore.largest
    if finding.code in {"C105", "C106"}:
        rings = (ring.id for ring in evidence.sheet.rings)
        ours = (r for r in rings if finding.sentence.mentions("ring", r))
        yield from ((ring_at(piston, GAP.name, r), GAP.gauge) for r in ours)
    else:
        yield skirt_at(piston), SKIRT.gauge
    if end is not None:
        yield end.at, BORE.gauge


def still_to_measure(evidence: Evidence) -> tuple[PlannedFeature, ...]:
    """The part of the gauges' plan that is still open: without a size, or too near a limit.

    A feature that has a size is asked again only when a finding about it is undecided for its
    value's sake. Of a part that is discarded already nothing more is asked.
    """
    known = {at.part for at in evidence.sizes} | {q.at.part for q in evidence.questions}
    known |= {p.id for p in evidence.engine.parts if p.feelers}
    judged = {name: judge_part(evidence, name) for name in known}
    out = {name for name, j in judged.items() if j.verdict is Verdict.DISCARD}
    again = {name: _doubtful(judgement) for name, judgement in judged.items()}
    return tuple(
        planned
        for planned in features(evidence.sheet, evidence.engine)
        if planned.at.part not in out and _is_open(evidence, planned.at, again)
    )


def _is_open(evidence: Evidence, at: FeatureId, again: Mapping[str, set[int]]) -> bool:
    size = evidence.sizes.get(at)
    return not _known(evidence, at) if size is None else size.size_nm in again[at.part]


def _known(evidence: Evidence, at: FeatureId) -> bool:
    """Whether a feature has its size, or what tells as much."""
    if at in evidence.sizes:
        return True
    if at.feature == GAP_BORE.name:
        return gap_bore(evidence, evidence.engine.part(at.part), at.depth) is not None
    entry = feature(at.feature)
    told_by = () if entry is None else entry.told_by(evidence.sheet, at)
    return bool(told_by) and all(replace(at, feature=f) in evidence.sizes for f in told_by)


def _doubtful(judgement: Judgement) -> set[int]:
    """The values (nm) about which a part's verdict, or the choice of its rework, is undecided."""
    undecided = (
        f for f in judgement.findings if f.severity is Severity.UNDECIDED or f.code == "Q105"
    )
    return {f.value_nm for f in undecided if f.value_nm is not None}
