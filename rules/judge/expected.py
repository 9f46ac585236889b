"""Where a length should lie before it is taken, typed or swept: by the limits that apply to it.

A value far beside them is another unit, another feature or a slipped decimal, and is held (see
`rules.judge.entry`). Where nothing limits a side, what the length is about closes it.
"""

from dataclasses import replace

from barrelfit.rules.engine.features import ring_at
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
_OTHERS_LEAST = 3
_WIDTHS_NM = (500_000, 8_000_000)
_BORE_ROOM_NM = 100_000  # how far beside all bores of this engine a ring may lie for its gap


def expected_at(evidence: Evidence, at: FeatureId) -> Expected:
    """Where the length of a feature should lie, typed or swept.

    Args:
        evidence: the engine, its sheet, and what was measured beside: a groove's width follows from
            its ring's, and the places of one bore are not far apart.
        at: the feature.
    """
    expected = _expected(evidence, at, evidence.engine.part(at.part))
    return replace(expected, least_nm=max(0, expected.least_nm or 0))


def _expected(evidence: Evidence, at: FeatureId, part: Part) -> Expected:
    sheet, engine = evidence.sheet, evidence.engine
    match at.feature:
        case "skirt":
            return _about(skirt_limit(sheet, engine, part), _original_nm(sheet, engine, part))
        case "bore":
            about = _about(bore_limit(sheet, engine, part), _original_nm(sheet, engine, part))
            return replace(about, beside=_beside(evidence, at))
        case "diameter":
            return _pin(sheet)
        case "wall":
            return _wall(sheet, part)
        case _:
            ring = sheet.ring(at.depth)
            return ANYTHING if ring is None else _of_ring(evidence, ring, at)


def _about(limit: Limit | None, near_nm: int | None) -> Expected:
    limit = limit or Limit()
    return Expected(limit.lower_nm, limit.upper_nm, _BY, near_nm)


def _pin(sheet: Sheet) -> Expected:
    """A used pin is no thicker than a new one; pins of other classes differ by less than wear."""
    new_nm, wear_nm = sheet.pin.diameter_nm, sheet.pin.wear_nm
    most_nm = None if new_nm is None or wear_nm is None else new_nm + wear_nm
    return replace(_about(pin_limit(sheet), new_nm), most_nm=most_nm)


def _beside(evidence: Evidence, at: FeatureId) -> tuple[int, int] | None:
    """How large a place of a bore may be by its other places; None while too few are known.

    The outermost of the others may be wrong itself. From the rest a place differs by taper and
    out-of-round at most, and from those at its own depth by out-of-round, unless the bore is worn
    oddly, or the number is wrong.
    """
    others = {
        other: size.size_nm
        for other, size in evidence.sizes.items()
        if (other.part, other.feature) == (at.part, at.feature) and other != at
    }
    if len(others) < _OTHERS_LEAST:
        return None
    limits = evidence.sheet.barrel
    room_nm = limits.taper_max_nm + limits.out_of_round_max_nm
    second_nm, last_but_one_nm = sorted(others.values())[1], sorted(others.values())[-2]
    oval_nm = limits.out_of_round_max_nm
    level_nm = [nm for other, nm in others.items() if other.depth == at.depth]
    low_nm = min([second_nm - room_nm, *(nm - oval_nm for nm in level_nm)])
    high_nm = max([last_but_one_nm + room_nm, *(nm + oval_nm for nm in level_nm)])
    return low_nm, high_nm


def _original_nm(sheet: Sheet, engine: EngineSet, part: Part) -> int:
    """Original diameter of a piston or barrel; where nobody knows it, the sheet's first."""
    size = original_size(sheet, engine, part).size
    if size is not None:
        return size.nm
    first = sheet.variants[0].groups[0]
    return first.piston_nm if part.kind == "piston" else first.bore_nm


def _wall(sheet: Sheet, barrel: Part) -> Expected:
    """A used wall is no thicker than a new one, whose castings differ a little."""
    kind = sheet.barrel.kind(barrel.barrel_kind)
    if kind is None or kind.wall_nm is None:
        return ANYTHING
    by = f"wall of a new barrel {shown(kind.wall_nm)}"
    most_nm = kind.wall_nm + kind.wall_nm // 10
    return Expected(kind.wall_min_nm, kind.wall_nm, by, most_nm=most_nm)


def _of_ring(evidence: Evidence, ring: RingLimits, at: FeatureId) -> Expected:
    match at.feature:
        case "gap":
            by = f"closed gap of the {ring.id} ring"
            return Expected(ring.gap_min_nm, ring.gap_max_nm, by)
        case "side" | "side-all":
            by = f"side clearance of the {ring.id} ring"
            return Expected(ring.side_min_nm, ring.side_max_nm, by)
        case "groove" | "ring":
            return _width(evidence, ring, at)
        case "gap-bore":
            return _gap_bore(evidence.sheet, evidence.engine)
        case _:
            return ANYTHING


def _width(evidence: Evidence, ring: RingLimits, at: FeatureId) -> Expected:
    """A ring and its groove go together; of one alone only that it is a ring's or its groove's."""
    groove = evidence.sizes.get(ring_at(at.part, "groove", ring.id))
    width = evidence.sizes.get(ring_at(at.part, "ring", ring.id))
    if at.feature == "groove" and width is not None:
        by = f"ring width {shown(width.size_nm)} and its side clearance"
        return Expected(width.size_nm, width.size_nm + ring.side_max_nm, by)
    if at.feature == "ring" and groove is not None:
        by = f"groove width {shown(groove.size_nm)} and its side clearance"
        return Expected(groove.size_nm - ring.side_max_nm, groove.size_nm, by)
    return Expected(*_WIDTHS_NM, "the width of a ring or its groove")


def _gap_bore(sheet: Sheet, engine: EngineSet) -> Expected:
    """A ring's gap is measured in a bore of this engine, new or worn, at its oversize."""
    bores_nm = [g.bore_nm + engine.oversize_nm for v in sheet.variants for g in v.groups]
    bores_nm += [p.marks.size_nm for p in engine.of_kind("barrel") if p.marks.size_nm is not None]
    low_nm, most_nm = min(bores_nm) - sheet.barrel.under_nm, max(bores_nm)
    high_nm = most_nm + sheet.barrel.wear.of(most_nm)
    by = f"a bore of about {shown(bores_nm[0])}"
    least_nm, greatest_nm = low_nm - _BORE_ROOM_NM, high_nm + _BORE_ROOM_NM
    return Expected(low_nm, high_nm, by, bores_nm[0], greatest_nm, least_nm)
