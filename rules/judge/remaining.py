"""What is still to be measured: without a size yet, or too near a limit to decide."""

from rules.evidence import Evidence
from rules.judge.part import judge_part
from rules.model import Severity
from rules.parts import Part
from rules.plan import PlannedFeature, features


def still_to_measure(evidence: Evidence) -> tuple[PlannedFeature, ...]:
    """The part of the plan that is still open: without a size, or too near a limit to decide.

    A feature that has a size is asked again only when a finding about it is undecided for its
    value's sake.
    """
    again = {p.id: _doubtful(evidence, p) for p in evidence.engine.parts}
    return tuple(
        planned
        for planned in features(evidence.sheet, evidence.engine)
        if planned.at not in evidence.sizes
        or evidence.sizes[planned.at].size_nm in again[planned.at.part]
    )


def _doubtful(evidence: Evidence, part: Part) -> set[int]:
    """The values (nm) about which a part's verdict is undecided."""
    findings = judge_part(evidence, part.id).findings
    undecided = (f for f in findings if f.severity is Severity.UNDECIDED)
    return {f.value_nm for f in undecided if f.value_nm is not None}
