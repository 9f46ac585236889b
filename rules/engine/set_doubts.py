"""Doubts about a set file: how it was measured, what was weighed, tried and overridden.

Lengths that were measured are held one by one (see `rules.judge.expected`); what stands here would
spoil many verdicts at once, or is no length of a feature.
"""

import unicodedata
from collections.abc import Iterator, Mapping, Sequence
from decimal import Decimal
from fractions import Fraction
from statistics import median

from barrelfit.rules.engine.doubts import (
    DIGIT,
    GAUGE_U,
    HAND_U,
    STANDARD_U,
    UM,
    Usual,
    as_written,
    asked,
    length_doubt,
    number_doubt,
    temperature_doubt,
    temperature_out_of_reason,
    unanswered,
)
from barrelfit.rules.engine.form import Filled, Path, Problem, fill
from barrelfit.rules.engine.parts import KIND_SAID
from barrelfit.rules.engine.set_form import SET
from barrelfit.rules.engine.sheet import Sheet
from barrelfit.rules.engine.slips import length_slip, number_slip
from barrelfit.rules.engine.tables.rings import RingLimits
from barrelfit.rules.said import length, said

_KINDS = ("piston", "barrel", "pin")
_GAUGES = {
    "outside_u": GAUGE_U,
    "bore_u": GAUGE_U,
    "hand_u": HAND_U,
    "standard_u": STANDARD_U,
    "digit": DIGIT,
}
_MASS = Usual(120, 3000, said("usual_mass"))
_WIDTH = Usual(500 * UM, 8_000 * UM, said("usual_ring_width"))
_MASS_SPREADS = 3  # a piston that is further from the others than this many spreads was mistyped?
_LEAF = (Fraction(1, 8), Fraction(24, 10))  # a leaf against the smallest and largest clearance
_LEAF_MOST = 6
_OVERRIDE = 8  # an override this many times as large as the sheet's value, or as small
_OF_BARRELS = ("bore", "taper", "out_of_round")
_SIZE = Fraction(1, 100)  # an original size further than this share from the sheet's


def set_doubts(table: Mapping[str, object], sheet: Sheet) -> list[Problem]:
    """Every doubt about a set that is sound by its keys.

    Args:
        table: the parsed file, one that `set_from` takes.
        sheet: the engine's sheet.

    Returns:
        The doubts that its `confirmed` does not answer, and what can't be told apart.
    """
    return doubts_of(fill(SET, table, str(table["unit"])).filled, sheet)


def doubts_of(filled: Filled, sheet: Sheet) -> list[Problem]:
    """The same of a set whose keys were read already."""
    unit = filled.text("unit")
    return [
        *_alike(filled),
        *_out_of_reason(filled),
        *_overridden(filled),
        *unanswered(_doubts(filled, sheet, unit), filled.texts("confirmed")),
    ]


def _doubts(filled: Filled, sheet: Sheet, unit: str) -> Iterator[Problem | None]:
    measuring = filled.table("measuring")
    for key, usual in _GAUGES.items():
        length_nm = measuring.number(key)
        if length_nm is not None:
            yield length_doubt((*measuring.path, key), length_nm, unit, usual)
    for path, milli in _temperatures(filled):
        out = temperature_out_of_reason(path, milli)
        yield None if out is not None else temperature_doubt(path, milli)
    yield from _masses(filled.tables("piston"), sheet)
    for piston in filled.tables("piston"):
        yield from _stamped_clearance(piston, sheet, unit)
        for ring in piston.tables("ring"):
            yield from _ring(ring, sheet.ring(ring.text("id")), unit)
    for override in filled.tables("override"):
        yield _override(override, sheet, unit)


# ---------------------------------------------------------------- names and temperatures


def _alike(filled: Filled) -> Iterator[Problem]:
    seen: dict[str, str] = {}
    for kind in _KINDS:
        for part in filled.tables(kind):
            name = part.text("id")
            plain = unicodedata.normalize("NFKC", name).casefold()
            if seen.get(plain, name) != name:
                sentence = said("looks_like_another", name=name, other=seen[plain])
                yield Problem((*part.path, "id"), sentence)
            seen.setdefault(plain, name)


def _temperatures(filled: Filled) -> Iterator[tuple[Path, int]]:
    measuring = filled.table("measuring")
    keys = [(measuring, key) for key in ("gauge_temp_c", "part_temp_c", "room_temp_c")]
    keys += [(part, "temp_c") for kind in ("piston", "barrel") for part in filled.tables(kind)]
    for table, key in keys:
        milli = table.number(key)
        if milli is not None:
            yield (*table.path, key), milli


def _out_of_reason(filled: Filled) -> Iterator[Problem]:
    problems = (temperature_out_of_reason(path, milli) for path, milli in _temperatures(filled))
    yield from (p for p in problems if p is not None)


# ---------------------------------------------------------------- pistons


def _masses(pistons: Sequence[Filled], sheet: Sheet) -> Iterator[Problem | None]:
    weighed = [(p, Decimal(mg) / 1000) for p in pistons if (mg := p.number("mass_g")) is not None]
    for number, (piston, grams) in enumerate(weighed):
        path = (*piston.path, "mass_g")
        alone = number_doubt(path, grams, "g", _MASS)
        others = [g for n, (_, g) in enumerate(weighed) if n != number]
        yield alone or (_mass_among(path, grams, others, sheet) if len(others) > 1 else None)


def _mass_among(path: Path, grams: Decimal, others: list[Decimal], sheet: Sheet) -> Problem | None:
    """A mass unlike the others', if a slip explains it or it is out of all proportion."""
    room = Fraction(_MASS_SPREADS * sheet.piston.mass_spread_mg, 1000)
    low, high = Fraction(min(others)) - room, Fraction(max(others)) + room
    near = Usual(low, high, said("usual_mass_of_others"))
    middle = Fraction(median(others))
    if near.holds(Fraction(grams)):
        return None
    explained = number_slip(format(grams.normalize(), "f"), near.holds, "g") is not None
    if explained or not middle / 2 <= Fraction(grams) <= 2 * middle:
        return number_doubt(path, grams, "g", near)
    return None


def _stamped_clearance(piston: Filled, sheet: Sheet, unit: str) -> Iterator[Problem | None]:
    stamp_nm = piston.number("clearance_stamp")
    if stamp_nm is not None:
        low_nm, high_nm = Fraction(sheet.clearance_min_nm, 3), 2 * sheet.clearance_max_nm
        usual = Usual(low_nm, high_nm, said("usual_clearance"))
        yield length_doubt((*piston.path, "clearance_stamp"), stamp_nm, unit, usual)


def _ring(ring: Filled, limits: RingLimits | None, unit: str) -> Iterator[Problem | None]:
    for key in ("groove_width", "ring_width"):
        width_nm = ring.number(key)
        if width_nm is not None:
            yield length_doubt((*ring.path, key), width_nm, unit, _WIDTH)
    if limits is None:
        return
    for feeler in ring.tables("feeler"):
        yield _leaf((*feeler.path, "leaf"), feeler.number("leaf") or 0, limits, unit)


def _leaf(path: Path, leaf_nm: int, limits: RingLimits, unit: str) -> Problem | None:
    """A leaf much thicker than the largest clearance, if a slip explains it or nobody has such."""
    low, high = _LEAF[0] * limits.side_min_nm, _LEAF[1] * limits.side_max_nm
    if low <= leaf_nm <= high:
        return None
    usual = Usual(limits.side_min_nm, limits.side_max_nm, said("usual_leaf"))
    slip = length_slip(as_written(leaf_nm, unit), unit, usual.holds, far=False)
    if slip is None and leaf_nm <= _LEAF_MOST * limits.side_max_nm:
        return None
    return length_doubt(path, leaf_nm, unit, usual)


# ---------------------------------------------------------------- overrides


def _overridden(filled: Filled) -> Iterator[Problem]:
    """Overrides that say two things at once, or that can't hold for the part they name."""
    kinds = {p.text("id"): kind for kind in _KINDS for p in filled.tables(kind)}
    seen: dict[tuple[str, str], int] = {}
    for override in filled.tables("override"):
        quantity, part = override.text("quantity"), override.text("part")
        about = "barrel" if quantity.startswith(_OF_BARRELS) else "piston"
        if kinds.get(part, about) != about:
            sentence = said(
                "of_another_kind",
                quantity=quantity,
                about=KIND_SAID[about],
                part=part,
                kind=KIND_SAID[kinds[part]],
            )
            yield Problem((*override.path, "part"), sentence)
        value_nm = override.number("value") or 0
        before_nm = seen.setdefault((quantity, part), value_nm)
        if before_nm != value_nm:
            sentence = said("set_twice", quantity=quantity, other=length(before_nm))
            yield Problem((*override.path, "value"), sentence)


def _override(override: Filled, sheet: Sheet, unit: str) -> Problem | None:
    value_nm, path = override.number("value") or 0, (*override.path, "value")
    quantity = override.text("quantity")
    if quantity.endswith(".size"):
        return length_doubt(path, value_nm, unit, _sizes(sheet, quantity))
    sheet_nm = _sheet_nm(sheet, quantity)
    if not sheet_nm:
        return None
    low = Fraction(sheet_nm, _OVERRIDE)
    usual = Usual(low, sheet_nm * _OVERRIDE, said("usual_by_sheets_value"))
    if value_nm == 0:
        return asked(path, said("is_nought", quantity=quantity))
    return length_doubt(path, value_nm, unit, usual)


def _sizes(sheet: Sheet, quantity: str) -> Usual:
    groups = [g for v in sheet.variants for g in v.groups]
    sizes_nm = [g.piston_nm if quantity == "skirt.size" else g.bore_nm for g in groups]
    most_nm = max(sizes_nm) + max(sheet.rework.oversizes_nm, default=0)
    return Usual((1 - _SIZE) * min(sizes_nm), (1 + _SIZE) * most_nm, said("usual_by_sheet"))


def _sheet_nm(sheet: Sheet, quantity: str) -> int | None:
    group = sheet.variants[0].groups[0]
    return {
        "skirt.wear_max": sheet.piston.wear.of(group.piston_nm),
        "bore.wear_max": sheet.barrel.wear.of(group.bore_nm),
        "taper.max": sheet.barrel.taper_max_nm,
        "out_of_round.max": sheet.barrel.out_of_round_max_nm,
        "clearance.min": sheet.clearance_min_nm,
        "clearance.max": sheet.clearance_max_nm,
    }.get(quantity)
