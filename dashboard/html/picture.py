"""Simple pictures: the part with the feature to be measured marked (`templates/part.html`).

The shapes of verdicts (`templates/marks.html`) are of this project: a whole piston crown, a ring
with its gap, a crown broken in two, a crown only dotted out. They differ in outline, so that they
are told apart without any colour.
"""

from collections.abc import Sequence
from math import cos, pi, sin
from typing import Final

from barrelfit.dashboard.html.templates import made
from barrelfit.dashboard.view.where import Level
from barrelfit.rules.engine.catalogue import feature
from barrelfit.rules.model import FeatureId

_TOP, _BOTTOM = 30.0, 236.0
_CENTRE: Final = (430.0, 120.0)
_RADIUS: Final = 50.0


def part_picture(
    place: FeatureId, edge: str, levels: Sequence[Level], directions: Sequence[str]
) -> str:
    """The part with the feature to be measured marked.

    Args:
        place: part, feature, depth (or the ring), direction.
        edge: how far from its edge it is measured, as text; empty where that is not set.
        levels: a bore's depths, from the top down.
        directions: its directions in the plan's order; the first lies across the pin.
    """
    entry = feature(place.feature)
    picture = "piston" if entry is None else entry.picture
    if picture == "bore":
        heights = [(one.name, one.text, _TOP + (_BOTTOM - _TOP) * one.down) for one in levels]
        return made("part", "barrel", place, heights, _across(directions))
    return made("part", "ring") if picture == "ring" else made("part", "piston", picture, edge)


def _across(directions: Sequence[str]) -> list[tuple[str, str, str, str, str]]:
    """The bore seen from the head: each direction with the ends of its line."""
    (cx, cy), lines = _CENTRE, []
    for index, direction in enumerate(directions):
        angle = pi * index / max(len(directions), 1)
        dx, dy = _RADIUS * cos(angle), _RADIUS * sin(angle)
        ends = (cx - dx, cy - dy, cx + dx, cy + dy)
        x1, y1, x2, y2 = (f"{end:.1f}" for end in ends)
        lines.append((direction, x1, y1, x2, y2))
    return lines
