"""What viewers are told of a session's plan: features, gauges, where on the part. Pure."""

from typing import Any

from barrelfit.rules.bench.state import Setup
from barrelfit.rules.engine.sheet import Sheet
from barrelfit.rules.judge.plan import features
from barrelfit.rules.model import FeatureId

Planned = dict[str, Any]


def planned_features(setup: Setup) -> list[Planned]:
    """Every feature in the plan's order: `at`, `gauge` (empty: none measures it), `from_edge_nm`.

    `from_edge_nm` is how far from an edge it is measured: a skirt's height above the lower edge, a
    bore's depth below the top; None for what is measured at no set place.
    """
    planned = []
    for feature in features(setup.sheet, setup.engine):
        gauge = setup.gauge_for(feature.gauge_kind, feature.about_nm)
        planned.append(
            {
                "at": feature.at,
                "gauge": gauge.name if gauge is not None else "",
                "from_edge_nm": _from_edge_nm(setup.sheet, feature.at),
            }
        )
    return planned


def _from_edge_nm(sheet: Sheet, at: FeatureId) -> int | None:
    if at.feature == "skirt":
        return sheet.piston.skirt_height_nm or None
    depths = {depth.id: depth.below_top_nm for depth in sheet.barrel.depths}
    return depths.get(at.depth) if at.feature == "bore" else None
