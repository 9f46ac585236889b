"""What entries of diameters have in common: the limits that apply, and sizes of new parts."""

from typing import Final

from barrelfit.rules.engine.expectation import Expected
from barrelfit.rules.engine.limits import Limit, original_size
from barrelfit.rules.engine.parts import EngineSet, Part
from barrelfit.rules.engine.sheet import Sheet
from barrelfit.rules.said import said

_BY = said("limits_that_apply")


def about(limit: Limit | None, near_nm: int | None) -> Expected:
    """Within a limit, and about a size (nm) where the limit leaves a side open."""
    limit = limit or Limit()
    return Expected(limit.lower_nm, limit.upper_nm, _BY, near_nm)


def original_nm(sheet: Sheet, engine: EngineSet, part: Part) -> int:
    """Original diameter of a piston or barrel; where nobody knows it, the sheet's first."""
    size = original_size(sheet, engine, part).size
    if size is not None:
        return size.nm
    first = sheet.variants[0].groups[0]
    return first.piston_nm if part.kind == "piston" else first.bore_nm


def pistons_nm(sheet: Sheet) -> list[int]:
    """The skirts of new pistons, of every group."""
    return [g.piston_nm for v in sheet.variants for g in v.groups]


def bores_nm(sheet: Sheet) -> list[int]:
    """The bores of new barrels, of every group."""
    return [g.bore_nm for v in sheet.variants for g in v.groups]


WORDS: Final[dict[str, str]] = {
    "limits_that_apply": "the limits that apply",
}
