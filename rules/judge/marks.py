"""Gathers what a part's marks, the overrides and the sheet say of its original size."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from decimal import Decimal

from barrelfit.rules.checks import marks
from barrelfit.rules.compare import Found
from barrelfit.rules.engine.limits import (
    Identity,
    Sourced,
    group_said,
    original_size,
    said_group,
    sheet_value,
)
from barrelfit.rules.engine.parts import Override, Part
from barrelfit.rules.engine.slips import length_slip
from barrelfit.rules.judge.docket import Docket
from barrelfit.rules.judge.evidence import Evidence
from barrelfit.rules.length import NM_PER_UNIT
from barrelfit.rules.said import said

_OF_KIND = {
    "piston": ("skirt.wear_max", "clearance.min", "clearance.max"),
    "barrel": ("bore.wear_max", "taper.max", "out_of_round.max"),
}


@dataclass(frozen=True, slots=True)
class KnownMarks:
    """The original size of a part, None when unknown; `doubtful` when marks speak against it."""

    size: Sourced | None
    doubtful: bool


def add_identity(docket: Docket, evidence: Evidence, part: Part) -> KnownMarks:
    """Add what marks and sheet say of a piston's or barrel's size; returns the original size."""
    identity = original_size(evidence.sheet, evidence.engine, part)
    add_unreadable(docket, part)
    docket.add(marks.size_unknown(known=identity.size is not None))
    doubts = list(_size_doubts(evidence, part, identity))
    docket.add(*doubts)
    if part.marks.size_nm is not None:
        _add_stamp(docket, evidence, part, identity)
        _add_beaten(docket, evidence, part)
    else:
        docket.add(marks.group_mark_of_another(part.marks.group, evidence.engine.group))
    _add_beaten_clearance(docket, evidence, part)
    docket.add(*(_beyond(evidence, part, o) for o in evidence.engine.overrides))
    mark = "size" if part.marks.size_nm is not None else "group"
    doubtful = any(doubts) or (bool(_given(part, mark)) and mark in part.marks.unreadable)
    return KnownMarks(identity.size, doubtful)


def add_unreadable(docket: Docket, part: Part) -> None:
    """Add the marks that can't be read, and those of them that are given all the same."""
    for mark in part.marks.unreadable:
        given = _given(part, mark)
        docket.add(marks.read_and_unreadable(mark, given=given))
        docket.add(None if given else marks.mark_unreadable(mark))


def _given(part: Part, mark: str) -> bool:
    found = part.marks
    values: dict[str, object] = {
        "size": found.size_nm,
        "group": found.group,
        "clearance": found.clearance_min_nm,
        "pin-class": found.pin_class,
        "weight-class": found.weight_class,
        "direction": found.direction,
        "height-group": part.height_group,
        "number": part.number,
    }
    return bool(values.get(mark))


def _size_doubts(evidence: Evidence, part: Part, identity: Identity) -> Iterator[Found]:
    """What speaks against the size that is stamped on a part."""
    stamp_nm = part.marks.size_nm
    if stamp_nm is None:
        return
    founds = [_with_slip(evidence, part, marks.stamp_fits_nothing(stamp_nm, identity.fits))]
    if part.marks.group:
        sizes_nm = _sizes_of_mark(evidence, part)
        founds.append(marks.marks_contradict(stamp_nm, part.marks.group, sizes_nm))
    yield from (f for f in founds if f is not None)


def _with_slip(evidence: Evidence, part: Part, found: Found | None) -> Found | None:
    """A stamp that fits no size, with what it would be if it was put down with a slip."""
    if found is None or found.value_nm is None:
        return found
    groups = [g for v in evidence.sheet.variants for g in v.groups]
    new_nm = {g.piston_nm if part.kind == "piston" else g.bore_nm for g in groups}
    overs_nm = (0, *evidence.sheet.rework.oversizes_nm)
    known_nm = {nm + over_nm for nm in new_nm for over_nm in overs_nm}
    text = format(Decimal(found.value_nm) / NM_PER_UNIT["mm"], "f")
    slip = length_slip(text, "mm", lambda nm: nm in known_nm, far=True)
    if slip is None:
        return found
    sentence = said("with_slip", what=found.sentence, slip=slip.question)
    return replace(found, sentence=sentence)


def _add_stamp(docket: Docket, evidence: Evidence, part: Part, identity: Identity) -> None:
    stamp_nm = part.marks.size_nm or 0
    group, engine = said_group(evidence.sheet, evidence.engine), evidence.engine
    variant = evidence.sheet.variant(engine.variant)
    if group is not None and variant is not None:
        new_nm = group.piston_nm if part.kind == "piston" else group.bore_nm
        named = group_said(variant, group, engine.oversize_nm)
        size_nm = new_nm + engine.oversize_nm
        docket.add(marks.stamp_of_another_group(stamp_nm, size_nm, named, identity.fits))
    else:
        docket.add(marks.stamp_of_another_variant(stamp_nm, engine.variant, identity.fits))


def _sizes_of_mark(evidence: Evidence, part: Part) -> tuple[int, ...]:
    sheet = evidence.sheet
    groups = (v.group(part.marks.group) for v in sheet.variants)
    sizes = [g.piston_nm if part.kind == "piston" else g.bore_nm for g in groups if g is not None]
    return tuple(s + over for s in sizes for over in (0, *sheet.rework.oversizes_nm))


def _add_beaten(docket: Docket, evidence: Evidence, part: Part) -> None:
    quantity = "skirt.size" if part.kind == "piston" else "bore.size"
    for override in evidence.engine.overrides:
        if override.quantity == quantity and override.part in {"", part.id}:
            docket.add(marks.override_beaten(quantity, override.signed_by, stamped=True))


def _add_beaten_clearance(docket: Docket, evidence: Evidence, piston: Part) -> None:
    """Add each signed smallest clearance that a stamped one comes before."""
    stamped_nm = piston.marks.clearance_min_nm
    if stamped_nm is None:
        return
    for o in evidence.engine.overrides:
        ours = o.quantity == "clearance.min" and o.part in {"", piston.id}
        if ours and o.value_nm != stamped_nm:
            docket.add(marks.override_beaten(o.quantity, o.signed_by, stamped=True))


def _beyond(evidence: Evidence, part: Part, override: Override) -> Found | None:
    """An override that holds for a part and allows more than the sheet does."""
    about_it = override.quantity in _OF_KIND.get(part.kind, ())
    if not about_it or override.part not in {"", part.id}:
        return None
    sheet_nm = sheet_value(evidence.sheet, evidence.engine, part, override.quantity)
    beaten = override.quantity == "clearance.min" and part.marks.clearance_min_nm is not None
    if sheet_nm is None or beaten:
        return None
    quantity, value_nm = override.quantity, override.value_nm
    return marks.override_beyond_sheet(quantity, value_nm, sheet_nm, override.signed_by)
