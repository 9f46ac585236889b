"""Gathers what feelers, widths and gaps say of a piston's rings."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from barrelfit.rules.checks import clearances, rings
from barrelfit.rules.compare import Found, Value
from barrelfit.rules.engine.features import bore_places, ring_at
from barrelfit.rules.engine.limits import Limit
from barrelfit.rules.engine.parts import BESIDES, Beside, Feeler, Part
from barrelfit.rules.engine.tables.rings import RingLimits
from barrelfit.rules.judge.docket import Docket
from barrelfit.rules.judge.evidence import Evidence
from barrelfit.rules.judge.leaves import (
    beside_known_ring,
    contradicting,
    leaf_founds,
    leaves_tried,
    places_at_most,
    tried_least,
)
from barrelfit.rules.model import Severity, Size
from barrelfit.rules.said import Said, said
from barrelfit.rules.uncertainty.budget import Budget, Component, rectangular


def add_rings(docket: Docket, evidence: Evidence, piston: Part) -> None:
    """Add the findings about every ring of the sheet on a piston."""
    for ring in evidence.sheet.rings:
        _add_side(docket, evidence, piston, ring)
        _add_gap(docket, evidence, piston, ring)


def _add_side(docket: Docket, evidence: Evidence, piston: Part, ring: RingLimits) -> None:
    limit = _side_limit(evidence, ring)
    width = evidence.value(ring_at(piston.id, "ring", ring.id))
    if width is not None:
        new = Limit(upper_nm=ring.width_nm, upper_from=evidence.sheet.said)
        docket.add(rings.ring_wide(ring.id, width, new))
    put_down = leaves_tried(evidence, piston, ring)
    thin_nm, thick_nm = contradicting(put_down)
    docket.add(rings.side_contradicts(ring.id, thin_nm, thick_nm))
    tried = beside_known_ring(evidence, piston, ring, put_down)
    worn = [] if thick_nm else tried
    sides = _by_widths(evidence, piston, ring)
    if sides is None:
        docket.add(*leaf_founds(worn, ring, limit))
        if thick_nm:
            return
        docket.add(rings.side_untried(ring.id, places_at_most(tried, ring)))
        least = tried_least(tried, ring)
        docket.add(rings.side_least_untried(ring.id, ring.side_min_nm, tried=least))
        return
    if _add_contradictions(docket, ring, sides, put_down):
        return
    _add_widths(docket, ring, limit, sides)
    thin_ring = None if sides.now is None else rings.ring_thin(ring.id, sides.now, limit)
    if thin_ring is not None and thin_ring.severity is Severity.REWORK:
        # Beside a ring that is to be renewed anyway a leaf says nothing of the groove.
        worn = [f for f in worn if f.beside == "new"]
    docket.add(*leaf_founds(worn, ring, limit))


@dataclass(frozen=True, slots=True)
class _Sides:
    """Side clearance by the widths of groove and ring, and of a new ring where its width is known.

    Only a groove that is too wide for a new ring is worn out itself; it may be measured alone then.
    """

    now: Value | None
    with_new: Value | None

    def beside(self, ring: Beside) -> list[Value]:
        """The clearances that leaves beside a ring may have met, the narrowest first."""
        now = self.now if ring != "new" else None
        with_new = self.with_new if ring != "used" else None
        known = [side for side in (now, with_new) if side is not None]
        return sorted(known, key=lambda side: side.nm)


def _by_widths(evidence: Evidence, piston: Part, ring: RingLimits) -> _Sides | None:
    groove = evidence.sizes.get(ring_at(piston.id, "groove", ring.id))
    width = evidence.sizes.get(ring_at(piston.id, "ring", ring.id))
    if groove is None or (width is None and ring.width_nm is None):
        return None
    with_new = None
    if ring.width_nm is not None:
        side_nm = groove.size_nm - ring.width_nm
        with_new = Value.of_budget(side_nm, groove.budget, evidence.guard_factor)
    now = None if width is None else evidence.less(groove, width)
    return _Sides(now, with_new)


def _add_widths(docket: Docket, ring: RingLimits, limit: Limit, sides: _Sides) -> None:
    if sides.now is None:
        if sides.with_new is not None:
            large = rings.side_too_large(ring.id, sides.with_new, limit)
            small = rings.side_too_small(ring.id, sides.with_new, limit)
            what = said("side_of_new", ring=ring.id)
            docket.check(what, sides.with_new, limit, large, small)
        return
    thin = rings.ring_thin(ring.id, sides.now, limit)
    small = rings.side_too_small(ring.id, sides.now, limit)
    docket.check(said("side", ring=ring.id), sides.now, limit, thin, small)
    if thin is not None and sides.with_new is not None:
        docket.add(rings.side_too_large(ring.id, sides.with_new, limit))


def _add_contradictions(
    docket: Docket, ring: RingLimits, sides: _Sides, tried: Sequence[Feeler]
) -> bool:
    """Add what leaves and widths say against one another; such words decide nothing."""
    found = False
    for beside in BESIDES:
        both = sides.beside(beside)
        some = [f for f in tried if f.went_in and f.beside == beside]
        if not both or not some:
            continue
        out_nm = min((f.leaf_nm for f in some if not any(f.went_in)), default=0)
        in_nm = max((f.leaf_nm for f in some if all(f.went_in)), default=0)
        narrow, wide = both[0], both[-1]
        found |= docket.add(rings.widths_contradict(ring.id, narrow, out_nm))
        found |= docket.add(rings.widths_too_tight(ring.id, wide, in_nm))
    return found


def _side_limit(evidence: Evidence, ring: RingLimits) -> Limit:
    origin = _origin(evidence, ring)
    return Limit(ring.side_min_nm or None, ring.side_max_nm, origin, origin)


def _gap_limit(evidence: Evidence, ring: RingLimits) -> Limit:
    origin = _origin(evidence, ring)
    return Limit(ring.gap_min_nm, ring.gap_max_nm, origin, origin)


def _origin(evidence: Evidence, ring: RingLimits) -> Said:
    return said("sheet_ring", sheet=evidence.sheet.said, ring=ring.id)


def _add_gap(docket: Docket, evidence: Evidence, piston: Part, ring: RingLimits) -> None:
    gap = evidence.value(ring_at(piston.id, "gap", ring.id))
    docket.add(rings.gap_unmeasured(ring.id, measured=gap is not None))
    if gap is None:
        return
    limit = _gap_limit(evidence, ring)
    large, small = (
        rings.gap_too_large(ring.id, gap, limit),
        rings.gap_too_small(ring.id, gap, limit),
    )
    docket.check(said("gap", ring=ring.id), gap, limit, large, small)


@dataclass(frozen=True, slots=True)
class GapInBore:
    """A ring's closed gap in a bore: widest and narrowest, its limit, and what the rules found.

    `widest` and `narrowest` None: the bore in which the gap was measured is not known.
    """

    ring: str
    limit: Limit
    founds: tuple[Found, ...]
    widest: Value | None = None
    narrowest: Value | None = None


def gaps_in_bore(
    evidence: Evidence, piston: Part, smallest: Size, largest: Size
) -> tuple[GapInBore, ...]:
    """What the closed gaps of a piston's rings are in a bore, for each ring with a gap.

    A bore larger by D opens a gap by pi D, a smaller one closes it: a gap says nothing without the
    bore in which it was measured.
    """
    found = (_gap_in(evidence, piston, r, smallest, largest) for r in evidence.sheet.rings)
    return tuple(gap for gap in found if gap is not None)


def _gap_in(
    evidence: Evidence, piston: Part, ring: RingLimits, smallest: Size, largest: Size
) -> GapInBore | None:
    gap = evidence.sizes.get(ring_at(piston.id, "gap", ring.id))
    if gap is None:
        return None
    limit, bore = _gap_limit(evidence, ring), gap_bore(evidence, piston, ring.id)
    if bore is None:
        unknown = clearances.gap_bore_unknown(ring.id, known=False)
        return GapInBore(ring.id, limit, () if unknown is None else (unknown,))
    wide = gap_in_bore(evidence, gap, bore, largest)
    narrow = gap_in_bore(evidence, gap, bore, smallest)
    large = clearances.gap_in_bore_large(ring.id, wide, limit)
    small = clearances.gap_in_bore_small(ring.id, narrow, limit)
    founds = tuple(f for f in (large, small) if f is not None)
    return GapInBore(ring.id, limit, founds, wide, narrow)


def add_gaps_in_bore(
    docket: Docket, evidence: Evidence, piston: Part, smallest: Size, largest: Size
) -> None:
    """Add what the closed gaps of a piston's rings are in a bore."""
    for gap in gaps_in_bore(evidence, piston, smallest, largest):
        if gap.widest is None or gap.narrowest is None or gap.founds:
            docket.add(*gap.founds)
            continue
        upper = Limit(upper_nm=gap.limit.upper_nm, upper_from=gap.limit.upper_from)
        docket.check(said("widest_gap_in_bore", ring=gap.ring), gap.widest, upper)
        lower = Limit(lower_nm=gap.limit.lower_nm, lower_from=gap.limit.lower_from)
        docket.check(said("narrowest_gap_in_bore", ring=gap.ring), gap.narrowest, lower)


def gap_bore(evidence: Evidence, piston: Part, ring: str) -> Size | None:
    """The bore in which a ring's gap was measured, None while nobody says.

    Either measured there, or a depth of the piston's own barrel: a ring lies along the whole bore,
    so its size there is the mean of the directions, open by half their difference.
    """
    measured = evidence.sizes.get(ring_at(piston.id, "gap-bore", ring))
    depth = dict(piston.gap_depths).get(ring)
    own = evidence.engine.home_of(piston.id)
    if measured is not None or depth is None or own is None:
        return measured
    places = [p for p in bore_places(evidence.sheet, own.id) if p.depth == depth]
    there = [evidence.sizes[p] for p in places if p in evidence.sizes]
    if len(there) < len(places):
        return None
    sizes_nm = [size.size_nm for size in there]
    half_nm = (max(sizes_nm) - min(sizes_nm)) / 2
    widest = max(there, key=lambda s: s.budget.u_nm)
    u_nm, told = rectangular(half_nm), said("directions_of_bore")
    shape = Component("directions of the bore", u_nm, "B", "rectangular", said=told)
    budget = Budget((*widest.budget.components, shape))
    mean_nm = round(sum(sizes_nm) / len(sizes_nm))
    return Size(widest.at, mean_nm, mean_nm, budget, widest.source)


def gap_in_bore(evidence: Evidence, gap: Size, measured_in: Size, bore: Size) -> Value:
    """Closed gap of a ring in `bore`, where it was `gap` in the bore `measured_in`."""
    growth = evidence.less(bore, measured_in)
    gap_nm = gap.size_nm + round(math.pi * growth.nm)
    u_nm = math.hypot(gap.budget.u_nm, math.pi * growth.u_nm)
    return Value(gap_nm, u_nm, guard=evidence.guard_factor)
