"""The limits of rings on a sheet: the keys, their values, and what their lengths usually are."""

from dataclasses import dataclass
from typing import Final

from barrelfit.rules.engine.doubts import MM, UM
from barrelfit.rules.engine.form import Filled, Form, Key

RING = Form(
    (
        Key("id", "text", "name of the ring, from the crown down: top, second, oil"),
        Key("width", "size", "width of a new ring", required=False),
        Key("side_clearance_min", "length", "smallest clearance in the groove", required=False),
        Key("side_clearance_max", "size", "largest clearance in the groove"),
        Key(
            "places",
            "count",
            "places around the piston at which its groove is tried; left out: 4",
            required=False,
        ),
        Key("gap_min", "size", "smallest closed gap"),
        Key("gap_max", "size", "largest closed gap"),
    )
)

SHARES: Final = {"gap_min": ("0.001", "0.008"), "gap_max": ("0.003", "0.03")}
"""Least and greatest of a key as shares of the bore; nought says that there is none."""
LENGTHS: Final = {
    "width": (500 * UM, 8 * MM),
    "side_clearance_min": (8 * UM, 150 * UM),
    "side_clearance_max": (20 * UM, 300 * UM),
}
"""Least and greatest of a key that is about as large in any engine, in nm."""

PLACES: Final = 4


@dataclass(frozen=True, slots=True)
class RingLimits:
    """Side clearance in the groove and closed gap of one ring, in nm; a new ring's width.

    `places` is at how many places around the piston a leaf is tried.
    """

    id: str
    side_min_nm: int
    side_max_nm: int
    gap_min_nm: int
    gap_max_nm: int
    width_nm: int | None = None
    places: int = PLACES


def ring_limits(filled: Filled) -> RingLimits:
    """One ring's limits of a filled form."""
    return RingLimits(
        id=filled.text("id"),
        side_min_nm=filled.number("side_clearance_min") or 0,
        side_max_nm=filled.number("side_clearance_max") or 0,
        gap_min_nm=filled.number("gap_min") or 0,
        gap_max_nm=filled.number("gap_max") or 0,
        width_nm=filled.number("width"),
        places=filled.number("places") or PLACES,
    )
