"""Which limit applies: a legible stamp on the part, then a signed override, then the sheet.

Every limit carries its origin. Diameters of original parts follow from the stamp or from
the size group; limits of wear follow from the original size.
"""

from dataclasses import dataclass

from barrelfit.rules.engine.parts import EngineSet, Part
from barrelfit.rules.engine.sheet import Group, Sheet, Variant
from barrelfit.rules.engine.tables.allowance import Allowance
from barrelfit.rules.said import NOTHING, Said, length, said

QUANTITIES = (
    "skirt.size",
    "skirt.wear_max",
    "bore.size",
    "bore.wear_max",
    "taper.max",
    "out_of_round.max",
    "clearance.min",
    "clearance.max",
)


@dataclass(frozen=True, slots=True)
class Sourced:
    """A length in nm with its origin: `stamp on P1`, `override by …`, `sheet … rev A`."""

    nm: int
    origin: Said


@dataclass(frozen=True, slots=True)
class Limit:
    """A lower and an upper limit in nm, either may be absent; each with its origin."""

    lower_nm: int | None = None
    upper_nm: int | None = None
    lower_from: Said = NOTHING
    upper_from: Said = NOTHING


@dataclass(frozen=True, slots=True)
class Identity:
    """What a piston or barrel is taken for: its original size, and the groups that size fits."""

    size: Sourced | None
    fits: tuple[Said, ...] = ()


def said_group(sheet: Sheet, engine: EngineSet) -> Group | None:
    """The size group the engine is said to have, None when nobody says."""
    variant = sheet.variant(engine.variant)
    return variant.group(engine.group) if variant else None


def groups_of_size(sheet: Sheet, part: Part, size_nm: int) -> tuple[Said, ...]:
    """All variants, groups and oversizes of the sheet whose original size is `size_nm`.

    A piston is compared with piston sizes, a barrel with bores.
    """
    over_nm = (0, *sheet.rework.oversizes_nm)
    every = ((v, g, o) for v in sheet.variants for g in v.groups for o in over_nm)
    return tuple(
        group_said(variant, group, oversize_nm)
        for variant, group, oversize_nm in every
        if _original_nm(group, part) + oversize_nm == size_nm
    )


def _original_nm(group: Group, part: Part) -> int:
    return group.piston_nm if part.kind == "piston" else group.bore_nm


def group_said(variant: Variant, group: Group, oversize_nm: int = 0) -> Said:
    """Name a size group: `variant late, group II`, with its oversize where it has one."""
    if not oversize_nm:
        return said("size_group", variant=variant.id, group=group.id)
    oversize = length(oversize_nm)
    return said("size_group_over", variant=variant.id, group=group.id, oversize=oversize)


def original_size(sheet: Sheet, engine: EngineSet, part: Part) -> Identity:
    """Original skirt or bore diameter of a part, by stamp, then override, then size group."""
    quantity = "skirt.size" if part.kind == "piston" else "bore.size"
    marks = part.marks
    if marks.size_nm is not None:
        size = Sourced(marks.size_nm, said("stamp_on", part=part.id))
        return Identity(size, groups_of_size(sheet, part, marks.size_nm))
    override = _override(engine, quantity, part.id)
    if override is not None:
        return Identity(override, groups_of_size(sheet, part, override.nm))
    return _by_group(sheet, engine, part)


def _by_group(sheet: Sheet, engine: EngineSet, part: Part) -> Identity:
    variant = sheet.variant(engine.variant)
    mark = part.marks.group or engine.group
    group = variant.group(mark) if variant else None
    if variant is None or group is None:
        return Identity(None)
    original_nm = _original_nm(group, part)
    fits = group_said(variant, group, engine.oversize_nm)
    origin = said("sheet_and", sheet=sheet.said, what=fits)
    if part.marks.group:
        origin = said("group_stamp_on", part=part.id, origin=origin)
    return Identity(Sourced(original_nm + engine.oversize_nm, origin), (fits,))


def skirt_limit(sheet: Sheet, engine: EngineSet, piston: Part) -> Limit | None:
    """Smallest and largest sound skirt of a piston, None when its original size is unknown."""
    size = original_size(sheet, engine, piston).size
    if size is None:
        return None
    wear = _wear(sheet, engine, piston, "skirt.wear_max", sheet.piston.wear, size)
    lower_nm = max(0, size.nm - wear.nm)
    over_nm, original = sheet.piston.over_nm, _original(size)
    lower_from = said("less_wear", original=original, wear=length(wear.nm), origin=wear.origin)
    upper_from = said("plus", original=original, more=length(over_nm), origin=sheet.said)
    return Limit(lower_nm, size.nm + over_nm, lower_from, upper_from)


def _original(size: Sourced) -> Said:
    return said("original", origin=size.origin, size=length(size.nm))


def bore_limit(sheet: Sheet, engine: EngineSet, barrel: Part) -> Limit | None:
    """Smallest and largest sound bore of a barrel, None when its original size is unknown."""
    size = original_size(sheet, engine, barrel).size
    if size is None:
        return None
    wear = _wear(sheet, engine, barrel, "bore.wear_max", sheet.barrel.wear, size)
    under_nm = sheet.barrel.under_nm
    original = _original(size)
    lower_from = said("less", original=original, less=length(under_nm), origin=sheet.said)
    upper_from = said("plus_wear", original=original, wear=length(wear.nm), origin=wear.origin)
    return Limit(max(0, size.nm - under_nm), size.nm + wear.nm, lower_from, upper_from)


def pin_limit(sheet: Sheet) -> Limit | None:
    """Smallest sound wrist pin, None where the sheet gives no diameter."""
    pin = sheet.pin
    if pin.diameter_nm is None or pin.wear_nm is None:
        return None
    return Limit(lower_nm=pin.diameter_nm - pin.wear_nm, lower_from=sheet.said)


def clearance_limit(sheet: Sheet, engine: EngineSet, piston: Part) -> Limit:
    """Smallest and largest clearance of a piston in any barrel."""
    upper = _override(engine, "clearance.max", piston.id)
    upper = upper or Sourced(sheet.clearance_max_nm, sheet.said)
    lower = _clearance_min(sheet, engine, piston)
    return Limit(lower.nm, upper.nm, lower.origin, upper.origin)


def _clearance_min(sheet: Sheet, engine: EngineSet, piston: Part) -> Sourced:
    stamped_nm = piston.marks.clearance_min_nm
    if stamped_nm is not None:
        return Sourced(stamped_nm, said("stamp_on", part=piston.id))
    override = _override(engine, "clearance.min", piston.id)
    if override is not None:
        return override
    variant = sheet.variant(engine.variant)
    if variant is not None and variant.clearance_min_nm is not None:
        origin = said("sheet_variant", sheet=sheet.said, variant=variant.id)
        return Sourced(variant.clearance_min_nm, origin)
    return Sourced(sheet.clearance_min_nm, sheet.said)


def sheet_value(sheet: Sheet, engine: EngineSet, part: Part, quantity: str) -> int | None:
    """What the sheet alone gives for a quantity that an override may set, in nm.

    None for a size, and for wear while the original size is unknown.
    """
    variant = sheet.variant(engine.variant)
    own_min_nm = variant.clearance_min_nm if variant else None
    plain = {
        "taper.max": sheet.barrel.taper_max_nm,
        "out_of_round.max": sheet.barrel.out_of_round_max_nm,
        "clearance.min": sheet.clearance_min_nm if own_min_nm is None else own_min_nm,
        "clearance.max": sheet.clearance_max_nm,
    }
    if quantity in plain:
        return plain[quantity]
    wear = {"skirt.wear_max": sheet.piston.wear, "bore.wear_max": sheet.barrel.wear}.get(quantity)
    size = original_size(sheet, engine, part).size
    return None if wear is None or size is None else wear.of(size.nm)


def form_limit(sheet: Sheet, engine: EngineSet, barrel: Part, quantity: str) -> Limit:
    """Largest taper (`taper.max`) or out-of-round (`out_of_round.max`) of a bore."""
    override = _override(engine, quantity, barrel.id)
    if override is not None:
        return Limit(upper_nm=override.nm, upper_from=override.origin)
    if quantity == "taper.max":
        origin = _by_rule(sheet, sheet.barrel.taper_rule)
        return Limit(upper_nm=sheet.barrel.taper_max_nm, upper_from=origin)
    return Limit(upper_nm=sheet.barrel.out_of_round_max_nm, upper_from=sheet.said)


def _wear(
    sheet: Sheet,
    engine: EngineSet,
    part: Part,
    quantity: str,
    allowance: Allowance,
    size: Sourced,
) -> Sourced:
    override = _override(engine, quantity, part.id)
    if override is not None:
        return override
    return Sourced(allowance.of(size.nm), _by_rule(sheet, allowance.rule))


def _by_rule(sheet: Sheet, rule: Said) -> Said:
    return said("sheet_and", sheet=sheet.said, what=rule) if rule else sheet.said


def _override(engine: EngineSet, quantity: str, part_id: str) -> Sourced | None:
    """The last override of a quantity that holds for a part; one for the part beats one for all."""
    own = [o for o in engine.overrides if o.quantity == quantity and o.part == part_id]
    common = [o for o in engine.overrides if o.quantity == quantity and not o.part]
    for found in (own, common):
        if found:
            last = found[-1]
            return Sourced(last.value_nm, said("override_because", by=last.signed_by, why=last.why))
    return None
