"""Gathers what a part's marks, the overrides and the sheet say of its original size."""

from barrelfit.rules.checks import marks
from barrelfit.rules.engine.limits import Identity, Sourced, group_words, original_size, said_group
from barrelfit.rules.engine.parts import Part
from barrelfit.rules.judge.docket import Docket
from barrelfit.rules.judge.evidence import Evidence


def add_identity(docket: Docket, evidence: Evidence, part: Part) -> Sourced | None:
    """Add what marks and sheet say of a piston's or barrel's size; returns the original size."""
    identity = original_size(evidence.sheet, evidence.engine, part)
    docket.add(*(marks.mark_unreadable(mark) for mark in part.marks.unreadable))
    docket.add(marks.size_unknown(known=identity.size is not None))
    if part.marks.size_nm is not None:
        _add_stamp(docket, evidence, part, identity)
        _add_beaten(docket, evidence, part)
    return identity.size


def _add_stamp(docket: Docket, evidence: Evidence, part: Part, identity: Identity) -> None:
    stamp_nm = part.marks.size_nm or 0
    docket.add(marks.stamp_fits_nothing(stamp_nm, identity.fits))
    said, engine = said_group(evidence.sheet, evidence.engine), evidence.engine
    variant = evidence.sheet.variant(engine.variant)
    if said is not None and variant is not None:
        said_nm = said.piston_nm if part.kind == "piston" else said.bore_nm
        words = group_words(variant, said, engine.oversize_nm)
        docket.add(
            marks.stamp_of_another_group(
                stamp_nm, said_nm + engine.oversize_nm, words, identity.fits
            )
        )
    else:
        docket.add(marks.stamp_of_another_variant(stamp_nm, engine.variant, identity.fits))
    if part.marks.group:
        sizes_nm = _sizes_of_mark(evidence, part)
        docket.add(marks.marks_contradict(stamp_nm, part.marks.group, sizes_nm))


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
