"""Lengths without a gauge on the wire: feelers, scales, calipers; typed in, guarded against slips.

A feeler, a scale or a caliper is good to ± 0.01 mm where nobody says better (this project's own
figure), and is not corrected for temperature. What a value should be by the sheet, or by another
value, is what a slip is held against (see `rules.judge.entry`).
"""

from collections.abc import Mapping

from barrelfit.rules.engine.features import ring_at
from barrelfit.rules.engine.sheet import RingLimits, Sheet
from barrelfit.rules.judge.entry import Expected
from barrelfit.rules.length import shown
from barrelfit.rules.model import FeatureId, Size
from barrelfit.rules.uncertainty.budget import Budget, Component, rectangular

HALF_WIDTH_NM = 10_000
ASSUMED = f"feelers, scales and calipers: ± {shown(HALF_WIDTH_NM)} assumed"


def size_by_hand(at: FeatureId, length_nm: int, u_nm: int | None = None) -> Size:
    """A typed length as a size; `u_nm` is the tool's standard uncertainty, None: assumed."""
    if u_nm is None:
        half = rectangular(HALF_WIDTH_NM)
        component = Component("by hand, assumed", half, "B", "rectangular")
    else:
        component = Component("by hand, as stated", float(u_nm))
    return Size(at, length_nm, length_nm, Budget((component,)), "hand")


def expected_by_hand(sheet: Sheet, at: FeatureId, read: Mapping[FeatureId, int]) -> Expected | None:
    """Where a length typed for a ring should lie, None where nothing says.

    Args:
        sheet: the engine's sheet.
        at: the feature.
        read: other lengths typed for the same part, in nm.
    """
    ring = sheet.ring(at.depth)
    if ring is None:
        return None
    if at.feature == "gap":
        return Expected(ring.gap_min_nm, ring.gap_max_nm, f"closed gap of the {ring.id} ring")
    if at.feature in {"side", "side-all"}:
        by = f"side clearance of the {ring.id} ring"
        return Expected(ring.side_min_nm, ring.side_max_nm, by)
    return _groove(ring, at, read)


def _groove(ring: RingLimits, at: FeatureId, read: Mapping[FeatureId, int]) -> Expected | None:
    width_nm = read.get(ring_at(at.part, "ring", ring.id))
    if at.feature != "groove" or width_nm is None:
        return None
    by = f"ring width {shown(width_nm)} and its side clearance"
    return Expected(width_nm, width_nm + ring.side_max_nm, by)
