"""Which sheets fit the parts at all, where nobody knows the engine, or parts of several are mixed.

A part speaks for a variant of a sheet, or against it, by what is stamped on it, read of it and
measured. A size speaks only against: a worn part of a larger engine may read like one of a smaller.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Final, Literal

from barrelfit.rules.engine.catalogue.barrels import BORE
from barrelfit.rules.engine.catalogue.pins import DIAMETER
from barrelfit.rules.engine.catalogue.pistons import SKIRT
from barrelfit.rules.engine.parts import EngineSet, Part
from barrelfit.rules.engine.sheet import Sheet, Variant
from barrelfit.rules.model import FeatureId
from barrelfit.rules.said import Said, length, said

Outcome = Literal["fits", "open", "not"]
WORN: Final = 2
"""A part that is worn by so many times what is allowed is an ordinary bad part of its engine."""


@dataclass(frozen=True, slots=True)
class SheetFit:
    """Whether a variant of a sheet fits the parts.

    `outcome`: `fits` (something speaks for it and nothing against), `open` (nothing speaks either
    way), `not`. `speaks_for` and `against` are the reasons, part by part; `parts` are those that
    fit, where others don't: an engine may be mixed.
    """

    sheet: str
    variant: str
    outcome: Outcome
    speaks_for: tuple[Said, ...]
    against: tuple[Said, ...]
    parts: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class _Sign:
    part: str
    agrees: bool
    sentence: Said


def sheets_that_fit(
    sheets: Sequence[Sheet], engine: EngineSet, sizes_nm: Mapping[FeatureId, int]
) -> tuple[SheetFit, ...]:
    """Every variant of every sheet, those that fit first.

    Args:
        sheets: the sheets.
        engine: the parts with what was told of them; what the engine is said to be counts nothing.
        sizes_nm: what was measured, in nm.
    """
    found = [
        _fit(sheet, variant, engine, sizes_nm) for sheet in sheets for variant in sheet.variants
    ]
    rank = {"fits": 0, "open": 1, "not": 2}
    return tuple(sorted(found, key=lambda fit: (rank[fit.outcome], len(fit.against))))


def _fit(
    sheet: Sheet, variant: Variant, engine: EngineSet, sizes_nm: Mapping[FeatureId, int]
) -> SheetFit:
    signs = list(_of_engine(sheet, engine))
    for part in engine.parts:
        signs += _of_marks(sheet, variant, part)
        signs += _of_sizes(sheet, variant, part, sizes_nm)
    against = tuple(sign.sentence for sign in signs if not sign.agrees)
    speaks_for = tuple(sign.sentence for sign in signs if sign.agrees)
    outcome: Outcome = "not" if against else "fits" if speaks_for else "open"
    bad = {sign.part for sign in signs if not sign.agrees}
    good = dict.fromkeys(sign.part for sign in signs if sign.agrees and sign.part not in bad)
    mixed = tuple(good) if against else ()
    return SheetFit(sheet.id, variant.id, outcome, speaks_for, against, mixed)


def _of_engine(sheet: Sheet, engine: EngineSet) -> Iterator[_Sign]:
    """How many pistons came in: no engine has more cylinders than it."""
    count = sum(not p.spare for p in engine.of_kind("piston"))
    if count and count != sheet.cylinders:
        there, wanted = str(count), str(sheet.cylinders)
        yield _Sign("", agrees=False, sentence=said("fit_count", there=there, wanted=wanted))


def _of_marks(sheet: Sheet, variant: Variant, part: Part) -> Iterator[_Sign]:
    """What is stamped on a part, and read of it, beside what the variant may have."""
    marks, kinds = part.marks, sheet.barrel.kinds
    is_piston, is_barrel = part.kind == "piston", part.kind == "barrel"
    if marks.size_nm is not None:
        overs = (0, *sheet.rework.oversizes_nm)
        new = {g.piston_nm if is_piston else g.bore_nm for g in variant.groups}
        known = marks.size_nm in {nm + over for nm in new for over in overs}
        yield _sign(part, length(marks.size_nm), known=known)
    seals = {seal for k in kinds if part.barrel_kind in {"", k.id} for seal in k.seals}
    words = (
        (marks.group, {g.id for g in variant.groups}),
        (part.crown if is_piston else "", {variant.crown} - {""}),
        (part.barrel_kind if is_barrel else "", {k.id for k in kinds}),
        (part.seal if is_barrel else "", seals),
        (part.height_group if is_barrel else "", set(sheet.barrel.height_groups)),
        (marks.pin_class, set(sheet.pin.classes)),
    )
    for word, allowed in words:
        if word and allowed:
            yield _sign(part, word, known=word in allowed)


def _sign(part: Part, what: Said | str, *, known: bool) -> _Sign:
    sentence = said("fit_has", part=part.id, what=what)
    if not known:
        sentence = said("fit_has_not", part=part.id, what=what)
    return _Sign(part.id, known, sentence)


def _of_sizes(
    sheet: Sheet, variant: Variant, part: Part, sizes_nm: Mapping[FeatureId, int]
) -> Iterator[_Sign]:
    """What was measured of a part that no such engine, new or worn, has."""
    entry = {"piston": SKIRT, "barrel": BORE, "pin": DIAMETER}[part.kind]
    span = _span_nm(sheet, variant, part)
    measured = [nm for at, nm in sizes_nm.items() if (at.part, at.feature) == (part.id, entry.name)]
    if span is None or not measured:
        return
    far = max(measured, key=lambda nm: max(span[0] - nm, nm - span[1]))
    if not span[0] <= far <= span[1]:
        low, high = length(span[0]), length(span[1])
        sentence = said("fit_far", part=part.id, size=length(far), low=low, high=high)
        yield _Sign(part.id, agrees=False, sentence=sentence)


def _span_nm(sheet: Sheet, variant: Variant, part: Part) -> tuple[int, int] | None:
    """Between which sizes a part of the variant lies, new or worn, as made or at an oversize."""
    over = max(sheet.rework.oversizes_nm, default=0)
    if part.kind == "pin":
        new, wear = sheet.pin.diameter_nm, sheet.pin.wear_nm
        return None if new is None or wear is None else (new - WORN * wear, new + wear)
    if part.kind == "piston":
        sizes = [g.piston_nm for g in variant.groups]
        low, high = min(sizes), max(sizes)
        return low - WORN * sheet.piston.wear.of(low), high + over + sheet.piston.over_nm
    sizes = [g.bore_nm for g in variant.groups]
    low, high = min(sizes), max(sizes)
    return low - sheet.barrel.under_nm, high + over + WORN * sheet.barrel.wear.of(high)
