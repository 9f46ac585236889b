"""What viewers are told of a session's plan: features, gauges, where on the part. Pure."""

import msgspec

from barrelfit.rules.bench.setup import Setup
from barrelfit.rules.engine.sheet import Sheet
from barrelfit.rules.judge.plan import features
from barrelfit.rules.model import FeatureId


class Planned(msgspec.Struct, frozen=True, gc=False):
    """A feature of the plan, and the gauge that will measure it (empty: none does).

    `from_edge_nm` is how far from an edge it is measured: a skirt's height above the lower edge, a
    bore's depth below the top; None for what is measured at no set place.
    """

    at: FeatureId
    gauge: str
    from_edge_nm: int | None = None


def planned_features(setup: Setup) -> list[Planned]:
    """Every feature in the plan's order."""
    planned = []
    for feature in features(setup.sheet, setup.engine):
        gauge = setup.gauge_for(feature.gauge_kind, feature.about_nm)
        name = gauge.name if gauge is not None else ""
        planned.append(Planned(feature.at, name, _from_edge_nm(setup.sheet, feature.at)))
    return planned


def _from_edge_nm(sheet: Sheet, at: FeatureId) -> int | None:
    if at.feature == "skirt":
        return sheet.piston.skirt_height_nm or None
    depths = {depth.id: depth.below_top_nm for depth in sheet.barrel.depths}
    return depths.get(at.depth) if at.feature == "bore" else None
