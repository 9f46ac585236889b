"""Names of what can be measured: the feature of a part, and every place of a bore."""

from barrelfit.rules.engine.catalogue.barrels import BORE, WALL
from barrelfit.rules.engine.catalogue.pins import DIAMETER
from barrelfit.rules.engine.catalogue.pistons import SKIRT
from barrelfit.rules.engine.sheet import Sheet
from barrelfit.rules.model import FeatureId


def skirt_at(piston_id: str) -> FeatureId:
    """The skirt of a piston."""
    return FeatureId(piston_id, SKIRT.name)


def pin_at(pin_id: str) -> FeatureId:
    """The diameter of a wrist pin."""
    return FeatureId(pin_id, DIAMETER.name)


def bore_places(sheet: Sheet, barrel_id: str) -> tuple[FeatureId, ...]:
    """Every place of a barrel's bore, from the top down, each depth in all directions."""
    return tuple(
        FeatureId(barrel_id, BORE.name, depth.id, direction)
        for depth in sheet.barrel.depths
        for direction in sheet.barrel.directions
    )


def wall_at(barrel_id: str) -> FeatureId:
    """The thinnest wall of a barrel or liner."""
    return FeatureId(barrel_id, WALL.name)


def ring_at(piston_id: str, what: str, ring: str) -> FeatureId:
    """A feature of a ring in its groove: `what` is the name of one of the catalogue's rings."""
    return FeatureId(piston_id, what, ring)
