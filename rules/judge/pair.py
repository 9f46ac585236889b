"""Judges a piston in a barrel: clearance at 20 °C, and what the bore does to the rings' gaps."""

from barrelfit.rules.checks import clearances
from barrelfit.rules.compare import Value
from barrelfit.rules.engine.features import skirt_at
from barrelfit.rules.engine.gate import stopped_at_gate
from barrelfit.rules.engine.limits import Limit, clearance_limit
from barrelfit.rules.engine.parts import Part
from barrelfit.rules.judge.bore import BoreSizes, bore_of, place
from barrelfit.rules.judge.docket import Docket
from barrelfit.rules.judge.evidence import Evidence
from barrelfit.rules.judge.rings import add_gaps_in_bore
from barrelfit.rules.judge.size_doubts import size_doubts
from barrelfit.rules.judge.twice import softened
from barrelfit.rules.model import Judgement, Size
from barrelfit.rules.said import said


def judge_pair(evidence: Evidence, piston_id: str, barrel_id: str) -> Judgement:
    """Judge a piston in a barrel; raises KeyError when the set has no such part.

    What rests on a size that is itself in doubt decides nothing.
    """
    judged = _judge_once(evidence, piston_id, barrel_id)
    doubts = (*size_doubts(evidence, piston_id), *size_doubts(evidence, barrel_id))
    return softened(judged, doubts)


def _judge_once(evidence: Evidence, piston_id: str, barrel_id: str) -> Judgement:
    piston, barrel = evidence.engine.part(piston_id), evidence.engine.part(barrel_id)
    docket = Docket(f"{piston_id}+{barrel_id}")
    out = tuple(p.id for p in (piston, barrel) if stopped_at_gate(p))
    docket.add(clearances.part_out(out))
    if out:
        return docket.judgement()
    skirt, bore = evidence.sizes.get(skirt_at(piston_id)), bore_of(evidence, barrel_id)
    docket.add(clearances.sizes_missing(_missing(skirt, bore, piston_id, barrel_id)))
    limit = clearance_limit(evidence.sheet, evidence.engine, piston)
    docket.add(clearances.limits_contradict(limit))
    if skirt is not None and bore.smallest is not None and bore.largest is not None:
        _add_clearance(docket, evidence, skirt, bore, limit)
        if evidence.engine.asks("rings"):
            add_gaps_in_bore(docket, evidence, piston, bore.smallest, bore.largest)
    return docket.judgement()


def _missing(
    skirt: Size | None, bore: BoreSizes, piston_id: str, barrel_id: str
) -> tuple[str, ...]:
    missing = [] if skirt is not None else [str(skirt_at(piston_id))]
    if not bore.sizes:
        return (*missing, f"{barrel_id}/bore")
    return (*missing, *(str(at) for at in bore.missing))


def clearances_of(evidence: Evidence, piston: Part, barrel: Part) -> tuple[Value, Value] | None:
    """Smallest and largest clearance of a pair, None while skirt or bore has no size."""
    skirt, bore = evidence.sizes.get(skirt_at(piston.id)), bore_of(evidence, barrel.id)
    if skirt is None or bore.smallest is None or bore.largest is None:
        return None
    return evidence.less(bore.smallest, skirt), evidence.less(bore.largest, skirt)


def _add_clearance(
    docket: Docket, evidence: Evidence, skirt: Size, bore: BoreSizes, limit: Limit
) -> None:
    if bore.smallest is None or bore.largest is None:
        return
    tight, loose = evidence.less(bore.smallest, skirt), evidence.less(bore.largest, skirt)
    low = Limit(lower_nm=limit.lower_nm, lower_from=limit.lower_from)
    high = Limit(upper_nm=limit.upper_nm, upper_from=limit.upper_from)
    what = said("smallest_clearance_at", where=place(bore.smallest.at))
    docket.check(what, tight, low, clearances.clearance_small(tight, low))
    what = said("largest_clearance_at", where=place(bore.largest.at))
    docket.check(what, loose, high, clearances.clearance_large(loose, high))
