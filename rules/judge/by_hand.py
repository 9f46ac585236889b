"""Lengths without a gauge on the wire: feelers, scales, calipers; typed in.

A feeler, a scale or a caliper is good to ± 0.01 mm where nobody says better (this project's own
figure), and is not corrected for temperature.
"""

from barrelfit.rules.model import FeatureId, Size
from barrelfit.rules.said import length, said
from barrelfit.rules.uncertainty.budget import Budget, Component, rectangular

HALF_WIDTH_NM = 10_000
ASSUMED = said("hand_assumed", half=length(HALF_WIDTH_NM))


def size_by_hand(at: FeatureId, length_nm: int, u_nm: int | None = None) -> Size:
    """A typed length as a size; `u_nm` is the tool's standard uncertainty, None: assumed."""
    if u_nm is None:
        half = rectangular(HALF_WIDTH_NM)
        component = Component(
            "by hand, assumed", half, "B", "rectangular", said=said("hand_line_assumed")
        )
    else:
        component = Component("by hand, as stated", float(u_nm), said=said("hand_line_stated"))
    return Size(at, length_nm, length_nm, Budget((component,)), "hand")
