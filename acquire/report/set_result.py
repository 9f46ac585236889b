"""A judged set as plain lines: what `judge --json` prints and a report is made of.

Each line is a JSON object with its `kind`, but for what is said in it (`acquire.said_json` writes
that down). Lengths are decimal texts in mm, exact to the nanometre; standard uncertainties are
numbers in µm.
"""

import hashlib
from collections.abc import Collection, Iterator

from barrelfit.acquire.inputs.set_file import Loaded
from barrelfit.rules.compare import Value
from barrelfit.rules.engine.limits import bore_limit, clearance_limit, original_size
from barrelfit.rules.engine.parts import EngineSet, Marks, Part
from barrelfit.rules.engine.sheet import Sheet
from barrelfit.rules.judge import Outcome, SetJudgement
from barrelfit.rules.judge.docket import PASSED
from barrelfit.rules.judge.evidence import Evidence
from barrelfit.rules.judge.pair import clearances_of
from barrelfit.rules.length import exact_mm as mm
from barrelfit.rules.model import Finding, Judgement, Size, Verdict
from barrelfit.rules.said import written
from barrelfit.rules.uncertainty.decide import guard_band_nm
from barrelfit.rules.uncertainty.size_budget import budget_lines

Line = dict[str, object]
FORMAT = 1
SAID_KEYS = frozenset(
    (
        *("sentence", "sentences", "advice", "todo", "limit_from", "notes"),
        *("reasons", "steps", "how", "name"),
    )
)
"""Under which keys of the lines something is said."""


def result_lines(loaded: Loaded, judged: SetJudgement) -> Iterator[Line]:
    """Write a judged set down, line by line, in the order of a report."""
    evidence = loaded.evidence
    yield _set_line(loaded, judged)
    yield _sheet_line(evidence.sheet)
    for override in evidence.engine.overrides:
        yield {
            "kind": "override",
            "quantity": override.quantity,
            "part": override.part or None,
            "value_mm": mm(override.value_nm),
            "signed_by": override.signed_by,
            "why": override.why,
        }
    for part, judgement in zip(evidence.engine.parts, judged.parts, strict=True):
        yield {**_part_line(part, judgement), **_bore_limits(evidence, part)}
    for size in evidence.sizes.values():
        yield _size_line(size)
    for pair in judged.pairs:
        clearance = _clearance(evidence, pair.about)
        yield {"kind": "pair", "pair": pair.about, "clearance": clearance, **_verdict(pair)}
    yield _pairing_line(judged, evidence.engine)
    yield _rework_line(judged)
    yield {
        "kind": "remaining",
        "measure": [
            {"at": str(p.at), "gauge": p.gauge_kind, "sentence": p.sentence}
            for p in judged.to_measure
        ],
    }
    yield _summary(judged)


def mm_or_none(length_nm: int | None) -> str | None:
    """A length as an exact decimal in mm, None for None."""
    return None if length_nm is None else mm(length_nm)


def _sha256(text: str) -> str:
    return hashlib.sha256(text.encode()).hexdigest()


def _set_line(loaded: Loaded, judged: SetJudgement) -> Line:
    engine, evidence = loaded.evidence.engine, loaded.evidence
    return {
        "kind": "set",
        "format": FORMAT,
        "job": engine.job,
        "sheet": evidence.sheet.id,
        "sheet_revision": evidence.sheet.revision,
        "sheet_sha256": _sha256(loaded.sheet_text),
        "set_sha256": _sha256(loaded.set_text),
        "variant": engine.variant,
        "group": engine.group or None,
        "oversize_mm": mm(engine.oversize_nm),
        "head_seal": engine.head_seal or None,
        "measured_by": engine.measured_by or None,
        "guard_factor": evidence.guard_factor,
        "notes": [*judged.notes, *loaded.notes],
    }


def _sheet_line(sheet: Sheet) -> Line:
    return {
        "kind": "sheet",
        "engine": sheet.engine,
        "source": sheet.source,
        "cylinders": sheet.cylinders,
        "skirt_height_mm": mm(sheet.piston.skirt_height_nm),
        "depths": [{"id": d.id, "below_top_mm": mm(d.below_top_nm)} for d in sheet.barrel.depths],
        "directions": list(sheet.barrel.directions),
        "clearance_mm": [mm(sheet.clearance_min_nm), mm(sheet.clearance_max_nm)],
    }


def _part_line(part: Part, judgement: Judgement) -> Line:
    return {
        "kind": "part",
        "part": part.id,
        "is": part.kind,
        "serial": part.serial or None,
        "marks": _marks(part.marks),
        "looked": None if part.looked is None else list(part.looked),
        "mass_g": None if part.mass_mg is None else part.mass_mg / 1000,
        "barrel_kind": part.barrel_kind or None,
        "seal": part.seal or None,
        "height_group": part.height_group or None,
        "photos": [{"file": p.name, "sha256": p.sha256} for p in part.photos],
        **_verdict(judgement),
    }


def _bore_limits(evidence: Evidence, part: Part) -> Line:
    """A barrel's original bore and the largest allowed; nothing for other parts."""
    if part.kind != "barrel":
        return {}
    size = original_size(evidence.sheet, evidence.engine, part).size
    limit = bore_limit(evidence.sheet, evidence.engine, part)
    return {
        "original_mm": None if size is None else mm(size.nm),
        "largest_allowed_mm": None if limit is None else mm_or_none(limit.upper_nm),
    }


def _marks(marks: Marks) -> Line:
    return {
        "size_mm": mm_or_none(marks.size_nm),
        "group": marks.group or None,
        "clearance_min_mm": mm_or_none(marks.clearance_min_nm),
        "pin_class": marks.pin_class or None,
        "weight_class": marks.weight_class or None,
        "direction": marks.direction or None,
        "unreadable": list(marks.unreadable),
    }


def _verdict(judgement: Judgement) -> Line:
    return {
        "verdict": judgement.verdict.value,
        "todo": judgement.todo,
        "findings": [_finding(f) for f in judgement.findings],
    }


def _finding(finding: Finding) -> Line:
    return {
        "code": finding.code,
        "severity": finding.severity.name.lower(),
        "sentence": finding.sentence,
        "value_mm": mm_or_none(finding.value_nm),
        "limit_mm": mm_or_none(finding.limit_nm),
        "limit_from": finding.limit_from,
        "advice": finding.advice,
    }


def _size_line(size: Size) -> Line:
    low_nm, high_nm = size.budget.interval_nm(size.size_nm)
    return {
        "kind": "size",
        "at": str(size.at),
        "part": size.at.part,
        "feature": size.at.feature,
        "depth": size.at.depth or None,
        "direction": size.at.direction or None,
        "size_mm": mm(size.size_nm),
        "read_mm": mm(size.read_nm),
        "standard_uncertainty_um": um(size.budget.u_nm),
        "interval95_mm": [mm(low_nm), mm(high_nm)],
        "source": size.source,
        "budget": [
            {
                "name": line.said or written(line.name),
                "type": line.kind,
                "distribution": line.distribution,
                "u_um": um(line.u_nm),
                "dof": None if line.dof is None else round(line.dof, 1),
                "shared": line.shared or None,
            }
            for line in budget_lines(size.budget)
        ],
    }


def um(u_nm: float) -> float:
    """A standard uncertainty in µm, to the nanometre."""
    return round(u_nm / 1000, 3)


def _pairing_line(judged: SetJudgement, engine: EngineSet) -> Line:
    pairing, trouble = judged.pairing, judged.pairing.trouble
    lost = {j.about for j in judged.parts if j.verdict is Verdict.DISCARD}
    mend = None if trouble is None else trouble.mend
    return {
        "kind": "pairing",
        "outcome": pairing.outcome.value,
        "spread_mm": mm_or_none(pairing.spread_nm),
        "seats": [
            {
                "cylinder": s.cylinder,
                "bank": s.bank,
                "barrel": s.barrel or None,
                "piston": s.piston or None,
                "pin": _pin(engine, s.piston, lost),
                "smallest_clearance_mm": mm_or_none(s.tight_nm),
                "largest_clearance_mm": mm_or_none(s.loose_nm),
                "standard_uncertainty_um": um(s.u_nm),
                "interval95_mm": _clearance_interval(s.tight_nm, s.expanded_nm),
                "largest_interval95_mm": _clearance_interval(s.loose_nm, s.loose_expanded_nm),
            }
            for s in pairing.seats
        ],
        "sentences": list(pairing.sentences),
        "reasons": [] if trouble is None else list(trouble.reasons),
        "mend": None if mend is None else {"steps": list(mend.steps), "cost": mend.cost},
    }


def _clearance(evidence: Evidence, about: str) -> Line | None:
    """A pair's smallest and largest clearance, each beside its limit; None while it has none."""
    piston, barrel = (evidence.engine.part(name) for name in about.split("+"))
    found = clearances_of(evidence, piston, barrel)
    if found is None:
        return None
    limit = clearance_limit(evidence.sheet, evidence.engine, piston)
    ends = zip(("smallest", "largest"), found, (limit.lower_nm, limit.upper_nm), strict=True)
    return {which: _held_against(value, limit_nm) for which, value, limit_nm in ends}


def _held_against(value: Value, limit_nm: int | None) -> Line:
    return {
        "value_mm": mm(value.nm),
        "interval95_mm": _clearance_interval(value.nm, value.expanded_nm),
        "limit_mm": mm_or_none(limit_nm),
        "guard_band_mm": mm(guard_band_nm(value.u_nm, value.guard, value.dof)),
    }


def _pin(engine: EngineSet, piston: str, lost: Collection[str]) -> str | None:
    """The pin that goes with a piston, whatever the barrel; None where it is lost itself."""
    pin = engine.pin_of(piston) if piston else None
    return None if pin is None or pin.id in lost else pin.id


def _clearance_interval(clearance_nm: int | None, expanded_nm: int) -> list[str] | None:
    if clearance_nm is None:
        return None
    return [mm(clearance_nm - expanded_nm), mm(clearance_nm + expanded_nm)]


def _rework_line(judged: SetJudgement) -> Line:
    return {
        "kind": "rework",
        "oversize_mm": mm_or_none(judged.rework.oversize_nm),
        "barrels": [
            {
                "part": r.part,
                "work": r.work.value,
                "to_mm": mm_or_none(r.to_nm),
                "how": r.sentence,
            }
            for r in judged.rework.remedies
        ],
        "sentences": list(judged.rework.sentences),
    }


def _summary(judged: SetJudgement) -> Line:
    counts = {v.value: judged.count(v) for v in Verdict}
    return {"kind": "summary", **counts, "pairing": judged.pairing.outcome.value}


def all_well(evidence: Evidence, judged: SetJudgement) -> bool:
    """Whether nothing was found (passed limits aside) and every cylinder has its pair."""
    serviceable = judged.count(Verdict.SERVICEABLE) == len(evidence.engine.parts)
    findings = (f for j in (*judged.parts, *judged.pairs) for f in j.findings)
    nothing = all(f.code == PASSED for f in findings)
    return serviceable and nothing and judged.pairing.outcome is Outcome.MATCHED
