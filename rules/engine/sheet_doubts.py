"""Doubts about a sheet: limits that no such engine has, and limits that no new part would meet.

What is usual follows from the sheet's own bore, since all of an engine grows with it; a few things
(grooves, pins' wear, masses) are about as large in any engine. The shares are this project's own.
"""

from collections.abc import Iterator, Mapping
from decimal import Decimal
from fractions import Fraction
from statistics import median_low

from barrelfit.rules.engine.doubts import (
    MM,
    Usual,
    as_written,
    asked,
    length_doubt,
    number_doubt,
    unanswered,
)
from barrelfit.rules.engine.form import Filled, Problem, fill
from barrelfit.rules.engine.sheet_form import SHEET
from barrelfit.rules.engine.slips import swaps
from barrelfit.rules.engine.tables import barrels, pins, pistons, rings
from barrelfit.rules.length import NM_PER_UNIT
from barrelfit.rules.said import Said, decimal, length, said

BORE = Usual(30 * MM, 200 * MM, said("usual_bore"))
_APART = Fraction(1, 20)  # groups of one engine differ by less than this share of the bore

# Key of a table: least and greatest as shares of the bore; nought says that there is none.
_SHARES: dict[str, dict[str, tuple[str, str]]] = {
    "piston": pistons.SHARES,
    "barrel": barrels.SHARES,
    "depth": barrels.DEPTH_SHARES,
    "kind": barrels.KIND_SHARES,
    "ring": rings.SHARES,
    "pin": pins.SHARES,
    "clearance": {"min": ("0.0001", "0.003"), "max": ("0.0004", "0.006")},
    "variant": {"clearance_min": ("0.0001", "0.003")},
}
# Key of a table: least and greatest, about as large in any engine, in nm.
_LENGTHS: dict[str, dict[str, tuple[int, int]]] = {"ring": rings.LENGTHS, "pin": pins.LENGTHS}
_RATIOS = {"wear_ratio_max": ("0.00015", "0.003"), "taper_ratio_max": ("0.00015", "0.003")}
_OVERSIZES = (Fraction("0.001"), Fraction("0.0245"))
_ALLOWANCES = {
    "boring_allowance": ("0.0001", "0.004"),
    "honing_allowance": ("0.00003", "0.0015"),
    "honing_max": ("0.00003", "0.003"),
}
_MASSES = {
    "mass_spread_max_g": Usual(1, 30, said("usual_mass_spread")),
    "mass_off_max_g": Usual(Fraction(1, 2), 30, said("usual_mass_off")),
}
_WEAR_TO_CLEARANCE = (Fraction(1, 10), Fraction(2))  # wear against the largest clearance


def sheet_doubts(table: Mapping[str, object]) -> list[Problem]:
    """Every doubt about a sheet that is sound by its keys.

    Args:
        table: the parsed file, one that `sheet_from` takes.

    Returns:
        The doubts that its `confirmed` does not answer.
    """
    unit = str(table["unit"])
    filled = fill(SHEET, table, unit).filled
    return unanswered(_doubts(filled, unit), filled.texts("confirmed"))


def _doubts(sheet: Filled, unit: str) -> Iterator[Problem | None]:
    bores_nm = [g.number("bore") or 0 for v in sheet.tables("variant") for g in v.tables("group")]
    middle_nm = median_low(bores_nm)
    wrong_unit = _whole_unit(middle_nm, unit)
    if wrong_unit is not None:
        yield wrong_unit
        return
    yield from _groups(sheet, unit, middle_nm)
    yield from _new_pairs(sheet, unit)
    for table in _tables(sheet):
        yield from _table(table, unit, (middle_nm, sheet.table("clearance").number("max") or 0))
    yield from _rework(sheet.table("rework"), unit, middle_nm)
    yield _unhoned(sheet, middle_nm)
    piston = sheet.table("piston")
    for key, usual in _MASSES.items():
        if key in piston.values:
            grams = Decimal(piston.number(key) or 0) / 1000
            yield number_doubt((*piston.path, key), grams, "g", usual)


def _whole_unit(bore_nm: int, unit: str) -> Problem | None:
    """A sheet whose bores are like no engine's; in the other unit, perhaps, all of them are."""
    if BORE.holds(bore_nm):
        return None
    text = as_written(bore_nm, unit)
    other = next(name for name in NM_PER_UNIT if name != unit)
    if not BORE.holds(Fraction(Decimal(text)) * NM_PER_UNIT[other]):
        return length_doubt(("variant",), bore_nm, unit, BORE)
    slip = said("slip_unit", number=decimal(text), unit=other)
    question = said("unit_like_no_engine", unit=unit, bore=length(bore_nm), slip=slip)
    return asked(("unit",), question)


def _tables(sheet: Filled) -> Iterator[Filled]:
    barrel = sheet.table("barrel")
    yield from (sheet.table(name) for name in ("piston", "pin", "barrel", "clearance"))
    yield from (*sheet.tables("ring"), *sheet.tables("variant"))
    yield from (*barrel.tables("depth"), *barrel.tables("kind"))


def _table(table: Filled, unit: str, measures_nm: tuple[int, int]) -> Iterator[Problem | None]:
    """The table's own keys, by the engine's bore and its largest clearance."""
    names = [step for step in table.path if isinstance(step, str)]
    for key, shares in _SHARES.get(names[-1], {}).items():
        length_nm = table.number(key)
        if length_nm:
            low, high = _least_and_most(shares, key, *measures_nm)
            usual = Usual(low, high, said("usual_with_bore", bore=length(measures_nm[0])))
            yield length_doubt((*table.path, key), length_nm, unit, usual)
    for key, (least_nm, most_nm) in _LENGTHS.get(names[-1], {}).items():
        length_nm = table.number(key)
        if length_nm:
            yield length_doubt(
                (*table.path, key),
                length_nm,
                unit,
                Usual(least_nm, most_nm, said("usual_in_any_engine")),
            )
    for key, ends in _RATIOS.items():
        ratio = table.ratio(key)
        if ratio is not None:
            usual = Usual(Fraction(ends[0]), Fraction(ends[1]), said("usual_ratio"))
            yield number_doubt((*table.path, key), ratio, "", usual)


def _rework(rework: Filled, unit: str, bore_nm: int) -> Iterator[Problem | None]:
    low, high = (share * bore_nm for share in _OVERSIZES)
    for oversize_nm in rework.numbers("oversizes"):
        path = (*rework.path, "oversizes")
        yield length_doubt(path, oversize_nm, unit, Usual(low, high, said("usual_oversize")))
    for key, ends in _ALLOWANCES.items():
        length_nm = rework.number(key)
        if length_nm:  # none is right where nothing is bored, as in plated bores
            low, high = (Fraction(end) * bore_nm for end in ends)
            yield length_doubt(
                (*rework.path, key), length_nm, unit, Usual(low, high, said("usual_it"))
            )
    yield _unreachable(rework)


def _unreachable(rework: Filled) -> Problem | None:
    """An oversize to which no bore can be bored, since boring takes more than it is larger."""
    boring_nm = rework.number("boring_allowance") or 0
    smallest_nm = min(rework.numbers("oversizes"), default=None)
    if smallest_nm is None or boring_nm < smallest_nm:
        return None
    boring, smallest = length(boring_nm), length(smallest_nm)
    question = said("unreachable", boring=boring, smallest=smallest)
    return asked((*rework.path, "boring_allowance"), question)


def _unhoned(sheet: Filled, bore_nm: int) -> Problem | None:
    """A honing allowance that leaves no worn bore within its limit."""
    rework, barrel = sheet.table("rework"), sheet.table("barrel")
    honing_nm = rework.number("honing_allowance") or 0
    wear_nm: Fraction | int = barrel.number("wear_max") or 0
    ratio = barrel.ratio("wear_ratio_max")
    if ratio is not None:
        wear_nm = Fraction(ratio) * bore_nm
    if not wear_nm or honing_nm < wear_nm:
        return None
    question = said("unhoned", honing=length(honing_nm), wear=length(round(wear_nm)))
    return asked((*rework.path, "honing_allowance"), question)


def _least_and_most(
    shares: tuple[str, str], key: str, bore_nm: int, clearance_nm: int
) -> tuple[Fraction, Fraction]:
    """By the bore; wear is also of the order of the largest clearance."""
    low, high = (Fraction(share) * bore_nm for share in shares)
    if key != "wear_max":
        return low, high
    least, most = (share * clearance_nm for share in _WEAR_TO_CLEARANCE)
    return max(low, least), min(high, most)


# ---------------------------------------------------------------- new parts


def _groups(sheet: Filled, unit: str, bore_nm: int) -> Iterator[Problem | None]:
    """Sizes of the groups lie close together."""
    usual = Usual((1 - _APART) * bore_nm, (1 + _APART) * bore_nm, said("usual_with_others"))
    for variant in sheet.tables("variant"):
        for group in variant.tables("group"):
            for key in ("piston", "bore"):
                length_nm = group.number(key) or 0
                yield length_doubt((*group.path, key), length_nm, unit, usual)


def _new_pairs(sheet: Filled, unit: str) -> Iterator[Problem | None]:
    """A new piston in a new barrel of its group keeps the clearances, and is like other groups'."""
    clearance = sheet.table("clearance")
    for variant in sheet.tables("variant"):
        own_nm = variant.number("clearance_min")
        low_nm = clearance.number("min") if own_nm is None else own_nm
        low_path = clearance.path if own_nm is None else variant.path
        groups = variant.tables("group")
        new_nm = [(g.number("bore") or 0) - (g.number("piston") or 0) for g in groups]
        limits_nm = (low_nm or 0, clearance.number("max") or 0)
        low_key = (*low_path, "min" if own_nm is None else "clearance_min")
        if all(n < limits_nm[0] for n in new_nm):
            least = said("at_least", least=length(limits_nm[0]))
            yield asked(low_key, _none_meets(least, variant, max(new_nm)))
        elif all(n > limits_nm[1] for n in new_nm):
            most = said("at_most", most=length(limits_nm[1]))
            yield asked((*clearance.path, "max"), _none_meets(most, variant, min(new_nm)))
        else:
            for group, clearance_nm in zip(groups, new_nm, strict=True):
                yield _pair(group, clearance_nm, limits_nm)
                yield _unlike_others(group, clearance_nm, new_nm, unit)


def _none_meets(limit: Said, variant: Filled, nearest_nm: int) -> Said:
    nearest = length(nearest_nm)
    return said("none_meets", limit=limit, variant=variant.text("id"), nearest=nearest)


def _pair(group: Filled, clearance_nm: int, limits_nm: tuple[int, int]) -> Problem | None:
    low_nm, high_nm = limits_nm
    if low_nm <= clearance_nm <= high_nm:
        return None
    allowed = said("span", low=length(low_nm), high=length(high_nm))
    clearance, name = length(clearance_nm), group.text("id")
    question = said("new_pair_beyond", group=name, clearance=clearance, allowed=allowed)
    return asked(group.path, question)


def _unlike_others(
    group: Filled, clearance_nm: int, new_nm: list[int], unit: str
) -> Problem | None:
    """A group whose new clearance is unlike the others', and would be alike with digits swapped."""
    others_nm = list(new_nm)
    others_nm.remove(clearance_nm)
    if not others_nm or min(others_nm) <= clearance_nm <= max(others_nm):
        return None
    sizes = {key: as_written(group.number(key) or 0, unit) for key in ("piston", "bore")}
    for key, sign in (("piston", -1), ("bore", 1)):
        for swapped in swaps(sizes[key], unit):
            moved_nm = int((Decimal(swapped) - Decimal(sizes[key])) * NM_PER_UNIT[unit])
            if clearance_nm + sign * moved_nm in others_nm:
                question = said(
                    "unlike_others",
                    size=said("number_in", number=decimal(sizes[key]), unit=unit),
                    clearance=length(clearance_nm),
                    swapped=said("number_in", number=decimal(swapped), unit=unit),
                )
                return asked((*group.path, key), question)
    return None
