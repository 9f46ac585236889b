"""What a piston or barrel may have been made for: variant, size group and oversize, by its size."""

from dataclasses import dataclass

from barrelfit.rules.engine.limits import clearance_limit, original_size
from barrelfit.rules.engine.parts import EngineSet, Part
from barrelfit.rules.engine.sheet import Group, Sheet, Variant


@dataclass(frozen=True, slots=True)
class Origin:
    """A variant's size group at an oversize (0: standard)."""

    variant: Variant
    group: Group
    oversize_nm: int


def origins(sheet: Sheet, engine: EngineSet, part: Part) -> tuple[Origin, ...]:
    """Everything on the sheet that has a part's original size; none when no size is known.

    A bore that two variants share belongs to both.
    """
    size = original_size(sheet, engine, part).size
    if size is None:
        return ()
    over_nm = (0, *sheet.rework.oversizes_nm)
    every = (Origin(v, g, o) for v in sheet.variants for g in v.groups for o in over_nm)
    piston = part.kind == "piston"
    return tuple(
        origin
        for origin in every
        if (origin.group.piston_nm if piston else origin.group.bore_nm) + origin.oversize_nm
        == size.nm
    )


def variants_of(sheet: Sheet, engine: EngineSet, part: Part) -> frozenset[str]:
    """The variants a part may belong to, empty when its size says nothing."""
    return frozenset(o.variant.id for o in origins(sheet, engine, part))


def sorts_of(sheet: Sheet, engine: EngineSet, part: Part) -> frozenset[str]:
    """What must be alike in one engine: how the barrels are made, and the oversize.

    Each sort is a kind of barrel and an oversize; a piston runs in every kind, and a barrel whose
    kind nobody knows may turn out to be of any.
    """
    kinds = [k.id for k in sheet.barrel.kinds]
    if part.kind == "barrel" and part.barrel_kind in kinds:
        kinds = [part.barrel_kind]
    over_nm = {o.oversize_nm for o in origins(sheet, engine, part)}
    every_nm = over_nm or {0, *sheet.rework.oversizes_nm}
    return frozenset(sort_of(kind, nm) for kind in kinds for nm in every_nm)


def sort_of(kind: str, oversize_nm: int) -> str:
    """A sort in one word: kind of barrel, and oversize in nm."""
    return f"{kind}+{oversize_nm}"


def new_piston(sheet: Sheet, engine: EngineSet, variant: str) -> tuple[int, int]:
    """Least and largest clearance (nm) that a piston to be bought must have, of a variant.

    Signed overrides for the whole engine hold for it; a stamp or override of another piston does
    not.
    """
    said = EngineSet(engine.job, variant, overrides=engine.overrides)
    limit = clearance_limit(sheet, said, Part("", "piston"))
    return limit.lower_nm or 0, limit.upper_nm or 0
