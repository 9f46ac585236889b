"""Judges a piston and a wrist pin."""

from barrelfit.rules.checks import clearances, pins, pistons
from barrelfit.rules.compare import Value
from barrelfit.rules.engine.catalogue.pins import DIAMETER
from barrelfit.rules.engine.catalogue.pistons import SKIRT
from barrelfit.rules.engine.features import pin_at, skirt_at
from barrelfit.rules.engine.limits import (
    Limit,
    clearance_limit,
    original_size,
)
from barrelfit.rules.engine.parts import Part
from barrelfit.rules.judge.docket import Docket, doubted
from barrelfit.rules.judge.evidence import Evidence
from barrelfit.rules.judge.marks import add_identity, add_unreadable
from barrelfit.rules.judge.rings import add_rings
from barrelfit.rules.said import Said, length, said


def add_piston(docket: Docket, evidence: Evidence, piston: Part) -> None:
    """Add every finding about a piston itself."""
    known = add_identity(docket, evidence, piston)
    skirt = evidence.value(skirt_at(piston.id))
    limit = SKIRT.limit(evidence.sheet, evidence.engine, piston)
    height_nm = evidence.sheet.piston.skirt_height_nm
    docket.add(pistons.skirt_unmeasured(height_nm, measured=skirt is not None))
    if skirt is not None and limit is not None:
        least = Limit(lower_nm=limit.lower_nm, lower_from=limit.lower_from)
        what = _skirt_said(evidence, piston, skirt)
        worn = doubted(pistons.skirt_worn(skirt, least), doubtful=known.doubtful)
        docket.check(what, skirt, least, worn)
        docket.add(pistons.skirt_over_size(skirt, limit))
    limit = clearance_limit(evidence.sheet, evidence.engine, piston)
    docket.add(clearances.limits_contradict(limit))
    directions = tuple(p.marks.direction for p in evidence.engine.of_kind("piston"))
    docket.add(pistons.direction_apart(piston.marks.direction, directions))
    crowns = tuple(p.crown for p in evidence.engine.of_kind("piston"))
    variant = evidence.sheet.variant(evidence.engine.variant)
    wanted = "" if variant is None else variant.crown
    docket.add(pistons.crown_apart(piston.crown, wanted, crowns))
    if evidence.engine.asks("mass"):
        docket.add(pistons.mass_missing(weighed=piston.mass_mg is not None))
        classes = tuple(p.marks.weight_class for p in evidence.engine.of_kind("piston"))
        docket.add(pistons.weight_class_apart(piston.marks.weight_class, classes))
    if evidence.engine.asks("rings"):
        add_rings(docket, evidence, piston)
    if evidence.engine.asks("pins"):
        _add_fit(docket, evidence, piston)


def _skirt_said(evidence: Evidence, piston: Part, skirt: Value) -> Said:
    size = original_size(evidence.sheet, evidence.engine, piston).size
    if size is None:
        return said("skirt")
    apart, original = length(abs(size.nm - skirt.nm)), length(size.nm)
    if skirt.nm <= size.nm:
        return said("skirt_below_original", apart=apart, original=original)
    return said("skirt_above_original", apart=apart, original=original)


def _add_fit(docket: Docket, evidence: Evidence, piston: Part) -> None:
    """Add what the fit of a piston's own pin says about the piston."""
    pin = evidence.engine.pin_of(piston.id)
    docket.add(pins.pin_missing(has_pin=pin is not None))
    if pin is not None:
        docket.add(pins.play_perceptible(pin.play, pin_sound=_pin_sound(evidence, pin)))


def _pin_sound(evidence: Evidence, pin: Part) -> bool:
    value = evidence.value(pin_at(pin.id))
    limit = DIAMETER.limit(evidence.sheet, evidence.engine, pin)
    return value is not None and limit is not None and pins.pin_worn(value, limit) is None


def add_pin(docket: Docket, evidence: Evidence, pin: Part) -> None:
    """Add every finding about a wrist pin."""
    add_unreadable(docket, pin)
    classes = evidence.sheet.pin.classes
    docket.add(pins.class_unknown(pin.marks.pin_class, classes))
    mate = next((p for p in evidence.engine.of_kind("piston") if p.id == pin.mate), None)
    if mate is not None:
        mark = mate.marks.pin_class
        docket.add(pins.class_of_another(pin.marks.pin_class, mark, mate.id))
    docket.add(pins.play_untried(pin.play))
    value = evidence.value(pin_at(pin.id))
    limit = DIAMETER.limit(evidence.sheet, evidence.engine, pin)
    sound = _pin_sound(evidence, pin)
    if pin.play == "perceptible" and not sound:
        docket.add(pins.play_perceptible(pin.play, pin_sound=sound))
    if limit is None:
        return
    docket.add(pins.pin_unmeasured(measured=value is not None))
    if value is not None:
        docket.check(said("pin_diameter"), value, limit, pins.pin_worn(value, limit))
