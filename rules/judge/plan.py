"""What to measure, in the order that needs the fewest gauge changes and movements.

All skirts first with the outside gauge (pins with it), then all bores, each barrel from the top
down, then what is tried by hand on the rings of each piston, and the bores in which their gaps were
measured. Within a barrel the gauge is lowered
once and turned at each depth, the turn alternating so that the last direction of one depth is the
first of the next.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from barrelfit.rules.engine.features import pin_at, ring_at, skirt_at
from barrelfit.rules.engine.gate import stopped_at_gate
from barrelfit.rules.engine.parts import EngineSet, Part
from barrelfit.rules.engine.sheet import RingLimits, Sheet
from barrelfit.rules.length import shown
from barrelfit.rules.model import FeatureId

GaugeKind = Literal["outside", "bore", "hand", "eye", "scale"]


@dataclass(frozen=True, slots=True)
class PlannedFeature:
    """One feature to be measured: with which kind of gauge, and one line on how.

    What no gauge measures is tried by `hand`, seen by `eye`, or weighed on a `scale`.

    `about_nm` is roughly its size, for choosing a gauge by its range; None: not known.
    """

    at: FeatureId
    gauge_kind: GaugeKind
    sentence: str
    about_nm: int | None = None


def features(sheet: Sheet, engine: EngineSet) -> tuple[PlannedFeature, ...]:
    """Everything gauges must measure on a set, in order; parts that failed by eye are left out."""
    sound = [p for p in engine.parts if not stopped_at_gate(p)]
    plan = [_skirt(sheet, p) for p in sound if p.kind == "piston"]
    if engine.asks("pins") and sheet.pin.diameter_nm is not None:
        plan += [_pin(sheet, p) for p in sound if p.kind == "pin"]
    for part in sound:
        if part.kind == "barrel":
            plan += _bore(sheet, part)
    if engine.asks("rings"):
        pistons = [p for p in sound if p.kind == "piston"]
        plan += [planned for part in pistons for planned in _rings(sheet, part)]
        plan += [planned for part in pistons for planned in _gap_bores(sheet, engine, part)]
    return tuple(plan)


def _skirt(sheet: Sheet, piston: Part) -> PlannedFeature:
    height = shown(sheet.piston.skirt_height_nm)
    sentence = f"{piston.id} skirt, across the thrust faces, {height} above the lower edge"
    about_nm = piston.marks.size_nm or sheet.variants[0].groups[0].piston_nm
    return PlannedFeature(skirt_at(piston.id), "outside", sentence, about_nm)


def _pin(sheet: Sheet, pin: Part) -> PlannedFeature:
    sentence = f"{pin.id} wrist pin, where it is worn most"
    return PlannedFeature(pin_at(pin.id), "outside", sentence, sheet.pin.diameter_nm)


def _rings(sheet: Sheet, piston: Part) -> Iterable[PlannedFeature]:
    """Side clearance and closed gap of every ring; a groove with feelers put down is tried."""
    tried = {feeler.ring for feeler in piston.feelers}
    for ring in sheet.rings:
        name = f"{piston.id} {ring.id} ring"
        if ring.id not in tried:
            yield from _groove(piston, ring, name)
        sentence = f"{name}: closed gap, the ring pushed square into its bore"
        yield PlannedFeature(ring_at(piston.id, "gap", ring.id), "hand", sentence)


def _gap_bores(sheet: Sheet, engine: EngineSet, piston: Part) -> Iterable[PlannedFeature]:
    """The bore of each closed gap: without it nobody knows the gap in any other bore.

    A depth of its own barrel will do, unless that failed by eye and is not measured.
    """
    home = engine.home_of(piston.id)
    told = {} if home is None or stopped_at_gate(home) else dict(piston.gap_depths)
    for ring in sheet.rings:
        if ring.id not in told:
            sentence = (
                f"{piston.id} {ring.id} ring: the bore its gap was measured in, at that place"
            )
            about_nm = sheet.variants[0].groups[0].bore_nm
            at = ring_at(piston.id, "gap-bore", ring.id)
            yield PlannedFeature(at, "bore", sentence, about_nm)


def _groove(piston: Part, ring: RingLimits, name: str) -> Iterable[PlannedFeature]:
    where = f"{shown(ring.side_max_nm)} leaf too, in 3 or 4 places"
    name = f"{name}, a new one in the groove"
    sentence = f"{name}: thickest leaf that goes in anywhere; try the {where}"
    yield PlannedFeature(ring_at(piston.id, "side", ring.id), "hand", sentence)
    if ring.side_min_nm:
        sentence = f"{name}: thickest leaf that goes in all round"
        yield PlannedFeature(ring_at(piston.id, "side-all", ring.id), "hand", sentence)


def _bore(sheet: Sheet, barrel: Part) -> Iterable[PlannedFeature]:
    for number, depth in enumerate(sheet.barrel.depths):
        directions = sheet.barrel.directions
        for direction in directions if number % 2 == 0 else directions[::-1]:
            at = FeatureId(barrel.id, "bore", depth.id, direction)
            below = shown(depth.below_top_nm)
            sentence = f"{barrel.id} bore, {depth.id}, {below} below the top, {direction} direction"
            about_nm = barrel.marks.size_nm or sheet.variants[0].groups[0].bore_nm
            yield PlannedFeature(at, "bore", sentence, about_nm)
