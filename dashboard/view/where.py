"""Where on the part it is measured: how far from which edge, and a bore's depths. Pure."""

from dataclasses import dataclass
from typing import Final

from barrelfit.dashboard.board.model import Board
from barrelfit.dashboard.shown import Shown

EDGE_DIGITS: Final = {"mm": 1, "inch": 3}  # a height is found by eye and scale
DEEPEST: Final = 0.86  # where the deepest place is drawn, 0 at the barrel's top, 1 at its foot


@dataclass(frozen=True, slots=True)
class Level:
    """A depth of the bore in hand: its name, its length as text, its place 0 (top) to 1."""

    name: str
    text: str
    down: float


def edge_text(board: Board, shown: Shown) -> str:
    """How far from its edge the feature in hand is measured, empty when it is at no set place."""
    nm = board.from_edge_nm(board.place)
    return shown.length(nm, EDGE_DIGITS[shown.unit]) if nm is not None else ""


def levels_of(board: Board, shown: Shown) -> tuple[tuple[Level, ...], tuple[str, ...]]:
    """Depths and directions the plan has for this feature, from the top down."""
    place = board.place
    if place is None:
        return (), ()
    planned = [f.at for f in board.features]
    same = [p for p in planned if (p.part, p.feature) == (place.part, place.feature)] or [place]
    first = {p.depth: p for p in reversed(same) if p.depth}
    names = list(dict.fromkeys(p.depth for p in same if p.depth))
    heights = [board.from_edge_nm(first[name]) for name in names]
    deepest = max((nm for nm in heights if nm is not None), default=0)
    levels = []
    for number, (name, nm) in enumerate(zip(names, heights, strict=True), start=1):
        known = nm is not None and deepest > 0
        down = nm / deepest * DEEPEST if nm is not None and known else number / (len(names) + 1)
        text = shown.length(nm, EDGE_DIGITS[shown.unit]) if nm is not None else ""
        levels.append(Level(name, text, down))
    return tuple(levels), tuple(dict.fromkeys(p.direction for p in same if p.direction))
