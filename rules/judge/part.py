"""Judges a part: the look first; a part that fails by eye is judged no further."""

from dataclasses import replace
from functools import partial

from barrelfit.rules.checks import barrels, entries, eyes
from barrelfit.rules.engine.catalogue import lacks
from barrelfit.rules.engine.gate import belongs_to_kind, stopped_at_gate
from barrelfit.rules.engine.parts import Part
from barrelfit.rules.judge.barrel import add_barrel
from barrelfit.rules.judge.bore import apart
from barrelfit.rules.judge.docket import Docket
from barrelfit.rules.judge.evidence import Evidence
from barrelfit.rules.judge.piston import add_pin, add_piston
from barrelfit.rules.judge.twice import awaits_second, softened, weighed
from barrelfit.rules.model import FeatureId, Judgement, Verdict

# Findings that only say what nobody has looked at, weighed, tried or measured yet.
_MISSING = {code for code, (_, lack) in lacks().items() if lack.merely}


def judge_part(evidence: Evidence, part_id: str) -> Judgement:
    """Judge a piston, barrel or pin by its id; raises KeyError when the set has no such part."""
    part = evidence.engine.part(part_id)
    judged = _judge_once(evidence, part)
    if evidence.firsts is not None:
        judged = weighed(evidence, part, judged, partial(_judge_once, part=part))
        if part.kind == "barrel" and not stopped_at_gate(part):
            judged = softened(judged, apart(evidence, part_id))
    return _asked_no_more(judged)


def _asked_no_more(judged: Judgement) -> Judgement:
    """Of a part that is discarded nothing more is asked: what is merely missing is left out."""
    if judged.verdict is not Verdict.DISCARD:
        return judged
    told = tuple(f for f in judged.findings if f.code not in _MISSING)
    return replace(judged, findings=told)


def second_place(evidence: Evidence, part_id: str) -> FeatureId | None:
    """Where a part is to be measured once more before it is discarded; None: nowhere."""
    part = evidence.engine.part(part_id)
    judged = _judge_once(evidence, part)
    return awaits_second(evidence, part, judged, partial(_judge_once, part=part))


def _judge_once(evidence: Evidence, part: Part) -> Judgement:
    """Judge a part by its sizes, however often they were measured."""
    known = evidence.judged_once.get(part.id)
    if known is None:
        known = evidence.judged_once[part.id] = _judged_by_sizes(evidence, part)
    return known


def _judged_by_sizes(evidence: Evidence, part: Part) -> Judgement:
    docket = Docket(part.id)
    _add_look(docket, evidence, part)
    if stopped_at_gate(part):
        return docket.judgement()
    if part.kind == "piston":
        add_piston(docket, evidence, part)
    elif part.kind == "barrel":
        add_barrel(docket, evidence, part)
    else:
        add_pin(docket, evidence, part)
    asked = (q for q in evidence.questions if q.at.part == part.id)
    docket.add(*(entries.left_open(str(q.at), q.sentence) for q in asked))
    return docket.judgement()


def _add_look(docket: Docket, evidence: Evidence, part: Part) -> None:
    if part.looked is None:
        if evidence.engine.asks("looked-at"):
            docket.add(eyes.not_looked_at(looked=False))
        return
    for code in part.looked:
        belongs = belongs_to_kind(code, part.barrel_kind)
        docket.add(barrels.look_not_of_kind(code, part.barrel_kind, belongs=belongs))
        if belongs:
            docket.add(eyes.failed_by_eye(code), eyes.doubtful_by_eye(code))
