"""What must hold between the keys of a sheet: one limit not below another, names unique."""

from collections.abc import Iterable, Iterator, Sequence

from barrelfit.rules.engine.form import Filled, Path, Problem
from barrelfit.rules.said import length, said


def sheet_problems(sheet: Filled) -> list[Problem]:
    """Find every contradiction between keys; absent or wrong keys are passed over."""
    return [
        *_variants(sheet),
        *_banks(sheet),
        *_piston(sheet.table("piston")),
        *_rings(sheet.tables("ring")),
        *_pin(sheet.table("pin")),
        *_barrel(sheet.table("barrel")),
        *_not_below(sheet.table("clearance"), "min", "max"),
        *_rework(sheet),
    ]


def _not_below(table: Filled, lower: str, upper: str) -> Iterator[Problem]:
    low_nm, high_nm = table.number(lower), table.number(upper)
    if low_nm is not None and high_nm is not None and high_nm < low_nm:
        sentence = said("is_below_other", high=length(high_nm), lower=lower, low=length(low_nm))
        yield Problem((*table.path, upper), sentence)


def _unique(tables: Sequence[Filled], key: str) -> Iterator[Problem]:
    seen: dict[str, Path] = {}
    for table in tables:
        name = table.text(key)
        if name and name in seen:
            yield Problem((*table.path, key), said("there_twice", name=name))
        seen.setdefault(name, table.path)


def _one_of(table: Filled, key: str, ratio: str) -> Iterator[Problem]:
    given = [k for k in (key, ratio) if k in table.values]
    if len(given) != 1:
        trouble = said("both_are_given") if given else said("neither_is_given")
        yield Problem((*table.path, key), said("give_one", key=key, ratio=ratio, trouble=trouble))


def _variants(sheet: Filled) -> Iterator[Problem]:
    variants = sheet.tables("variant")
    yield from _unique(variants, "id")
    clearance_max_nm = sheet.table("clearance").number("max")
    for variant in variants:
        yield from _unique(variant.tables("group"), "id")
        own_min_nm = variant.number("clearance_min")
        if own_min_nm and clearance_max_nm and own_min_nm > clearance_max_nm:
            sentence = said("above_largest", size=length(own_min_nm), most=length(clearance_max_nm))
            yield Problem((*variant.path, "clearance_min"), sentence)
        for group in variant.tables("group"):
            yield from _group(group)


def _group(group: Filled) -> Iterator[Problem]:
    piston_nm, bore_nm = group.number("piston"), group.number("bore")
    if piston_nm and bore_nm and bore_nm <= piston_nm:
        sentence = said("bore_not_above", bore=length(bore_nm), piston=length(piston_nm))
        yield Problem((*group.path, "bore"), sentence)


def _banks(sheet: Filled) -> Iterator[Problem]:
    count, banks = sheet.number("cylinders"), sheet.tables("bank")
    yield from _unique(banks, "id")
    if count is None or not banks:
        return
    numbers = sorted(n for bank in banks for n in bank.numbers("cylinders"))
    if numbers != list(range(1, count + 1)):
        listed = tuple(numbers)
        sentence = said("banks_hold", count=count, listed=listed)
        yield Problem(("bank",), sentence)


def _piston(piston: Filled) -> Iterator[Problem]:
    if piston.values:
        yield from _one_of(piston, "wear_max", "wear_ratio_max")


def _rings(rings: Sequence[Filled]) -> Iterator[Problem]:
    yield from _unique(rings, "id")
    for ring in rings:
        yield from _not_below(ring, "side_clearance_min", "side_clearance_max")
        yield from _not_below(ring, "gap_min", "gap_max")


def _pin(pin: Filled) -> Iterator[Problem]:
    yield from _repeated(pin, "classes")
    if ("diameter" in pin.values) != ("wear_max" in pin.values):
        yield Problem((*pin.path, "diameter"), said("diameter_and_wear"))
    yield from _below_whole(pin, "wear_max", "diameter")


def _below_whole(table: Filled, part: str, whole: str) -> Iterator[Problem]:
    part_nm, whole_nm = table.number(part), table.number(whole)
    if part_nm is not None and whole_nm is not None and part_nm >= whole_nm:
        sentence = said("not_below_whole", part=length(part_nm), whole=whole, size=length(whole_nm))
        yield Problem((*table.path, part), sentence)


def _barrel(barrel: Filled) -> Iterator[Problem]:
    if barrel.values:
        yield from _one_of(barrel, "wear_max", "wear_ratio_max")
        yield from _one_of(barrel, "taper_max", "taper_ratio_max")
    if "taper_ratio_max" in barrel.values and "travel" not in barrel.values:
        yield Problem((*barrel.path, "travel"), said("travel_missing"))
    for key in ("directions", "height_groups"):
        yield from _repeated(barrel, key)
    yield from _unique(barrel.tables("depth"), "id")
    yield from _ascending(barrel.tables("depth"))
    yield from _unique(barrel.tables("kind"), "id")
    for kind in barrel.tables("kind"):
        yield from _kind(kind)


def _repeated(table: Filled, key: str) -> Iterator[Problem]:
    names = table.texts(key)
    for name in sorted({n for n in names if names.count(n) > 1}):
        yield Problem((*table.path, key), said("there_twice", name=name))


def _ascending(depths: Sequence[Filled]) -> Iterator[Problem]:
    above: Filled | None = None
    for depth in depths:
        here_nm = depth.number("below_top")
        above_nm = above.number("below_top") if above else None
        if here_nm is not None and above_nm is not None and here_nm <= above_nm:
            sentence = said("depth_not_below", here=length(here_nm), above=length(above_nm))
            yield Problem((*depth.path, "below_top"), sentence)
        above = depth


def _kind(kind: Filled) -> Iterator[Problem]:
    plated = kind.text("id") == "plated"
    if plated and "wall_min" in kind.values:
        yield Problem((*kind.path, "wall_min"), said("plated_never_bored"))
    if not plated and "replate" in kind.values:
        yield Problem((*kind.path, "replate"), said("only_plated_replated"))
    if not plated and kind.values:
        yield from _needed(kind, ("wall", "wall_min"))
    wall_nm, least_nm = kind.number("wall"), kind.number("wall_min")
    if wall_nm is not None and least_nm is not None and wall_nm < least_nm:
        sentence = said("wall_below_min", wall=length(wall_nm), least=length(least_nm))
        yield Problem((*kind.path, "wall"), sentence)


def _needed(table: Filled, keys: Iterable[str]) -> Iterator[Problem]:
    for key in keys:
        if key not in table.values:
            yield Problem((*table.path, key), said("needed_for_boring"))


def _rework(sheet: Filled) -> Iterator[Problem]:
    oversizes_nm = sheet.table("rework").numbers("oversizes")
    if list(oversizes_nm) != sorted(set(oversizes_nm)):
        yield Problem(("rework", "oversizes"), said("must_rise"))
    yield from _not_below(sheet.table("rework"), "honing_allowance", "honing_max")
