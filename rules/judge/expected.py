"""Where a length should lie before it is taken, typed or swept: by the limits that apply to it.

A value far beside them is another unit, another feature or a slipped decimal, and is held (see
`rules.judge.entry`). Where nothing limits a side, what the length is about closes it.
"""

from barrelfit.rules.engine.limits import (
    Limit,
    bore_limit,
    original_size,
    pin_limit,
    skirt_limit,
)
from barrelfit.rules.engine.parts import EngineSet, Part
from barrelfit.rules.engine.sheet import RingLimits, Sheet
from barrelfit.rules.judge.entry import Expected
from barrelfit.rules.judge.evidence import Evidence
from barrelfit.rules.length import shown
from barrelfit.rules.model import FeatureId

ANYTHING = Expected(None, None, "no limit")
_BY = "the limits that apply"


def expected_at(evidence: Evidence, at: FeatureId, ring_nm: int | None = None) -> Expected:
    """Where the length of a feature should lie, typed or swept.

    Args:
        evidence: the engine and its sheet.
        at: the feature.
        ring_nm: width of the ring of a groove, in nm; a groove's follows from it.
    """
    sheet, engine = evidence.sheet, evidence.engine
    part = engine.part(at.part)
    match at.feature:
        case "skirt":
            return _about(skirt_limit(sheet, engine, part), _original_nm(sheet, engine, part))
        case "bore":
            return _about(bore_limit(sheet, engine, part), _original_nm(sheet, engine, part))
        case "diameter":
            return _about(pin_limit(sheet), sheet.pin.diameter_nm)
        case "wall":
            return _wall(sheet, part)
        case _:
            ring = sheet.ring(at.depth)
            return ANYTHING if ring is None else _of_ring(sheet, ring, at.feature, ring_nm)


def _about(limit: Limit | None, near_nm: int | None) -> Expected:
    limit = limit or Limit()
    return Expected(limit.lower_nm, limit.upper_nm, _BY, near_nm)


def _original_nm(sheet: Sheet, engine: EngineSet, part: Part) -> int:
    """Original diameter of a piston or barrel; where nobody knows it, the sheet's first."""
    size = original_size(sheet, engine, part).size
    if size is not None:
        return size.nm
    first = sheet.variants[0].groups[0]
    return first.piston_nm if part.kind == "piston" else first.bore_nm


def _wall(sheet: Sheet, barrel: Part) -> Expected:
    """A used wall is no thicker than a new one."""
    kind = sheet.barrel.kind(barrel.barrel_kind)
    if kind is None or kind.wall_nm is None:
        return ANYTHING
    by = f"wall of a new barrel {shown(kind.wall_nm)}"
    return Expected(kind.wall_min_nm, kind.wall_nm, by)


def _of_ring(sheet: Sheet, ring: RingLimits, feature: str, ring_nm: int | None) -> Expected:
    match feature:
        case "gap":
            by = f"closed gap of the {ring.id} ring"
            return Expected(ring.gap_min_nm, ring.gap_max_nm, by)
        case "side" | "side-all":
            by = f"side clearance of the {ring.id} ring"
            return Expected(ring.side_min_nm, ring.side_max_nm, by)
        case "groove" if ring_nm is not None:
            by = f"ring width {shown(ring_nm)} and its side clearance"
            return Expected(ring_nm, ring_nm + ring.side_max_nm, by)
        case "gap-bore":
            bore_nm = sheet.variants[0].groups[0].bore_nm
            return Expected(None, None, f"a bore of about {shown(bore_nm)}", bore_nm)
        case _:
            return ANYTHING
