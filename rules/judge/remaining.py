"""What is still to be measured: without a size yet, or too near a limit to decide."""

from barrelfit.rules.engine.features import ring_at
from barrelfit.rules.engine.parts import Part
from barrelfit.rules.judge.evidence import Evidence
from barrelfit.rules.judge.part import judge_part
from barrelfit.rules.judge.plan import PlannedFeature, features
from barrelfit.rules.model import FeatureId, Severity


def still_to_measure(evidence: Evidence) -> tuple[PlannedFeature, ...]:
    """The part of the plan that is still open: without a size, or too near a limit to decide.

    A feature that has a size is asked again only when a finding about it is undecided for its
    value's sake.
    """
    sized = {at.part for at in evidence.sizes}
    again = {p.id: _doubtful(evidence, p) for p in evidence.engine.parts if p.id in sized}
    return tuple(
        planned
        for planned in features(evidence.sheet, evidence.engine)
        if not _known(evidence, planned.at)
        or (
            planned.at in evidence.sizes
            and evidence.sizes[planned.at].size_nm in again[planned.at.part]
        )
    )


def _known(evidence: Evidence, at: FeatureId) -> bool:
    """Whether a feature has its size; a groove and its ring with widths need no leaf."""
    if at in evidence.sizes:
        return True
    widths = (ring_at(at.part, what, at.depth) for what in ("groove", "ring"))
    return at.feature in {"side", "side-all"} and all(w in evidence.sizes for w in widths)


def _doubtful(evidence: Evidence, part: Part) -> set[int]:
    """The values (nm) about which a part's verdict is undecided."""
    findings = judge_part(evidence, part.id).findings
    undecided = (f for f in findings if f.severity is Severity.UNDECIDED)
    return {f.value_nm for f in undecided if f.value_nm is not None}
