"""An engine from above: its cylinders by bank, each with what runs in it and its verdict. Pure.

Two banks lie on both sides of the crankcase, as in a flat engine; one alone lies beside it. A
verdict is told by word, shape and tone.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

from barrelfit.acquire.report.blocks import FAINT, INK, TONES, Box, Drawing, Label, Path, Stroke
from barrelfit.acquire.report.charts import verdict_shape

CASE, WIDE, TALL, GAP = 56.0, 236.0, 92.0, 14.0
WORST: Final = ("discard", "undecided", "rework", "serviceable")
"""Verdicts, the one that counts first."""
FINS: Final = 9
SHAPE: Final = 40.0
CHAR: Final = 0.56  # of a letter's size: its width, about


@dataclass(frozen=True, slots=True)
class CylinderDrawn:
    """One cylinder: its number and bank, what runs in it, its verdict's key and word.

    `verdict` is no verdict's key where a part is missing: it is drawn empty.
    """

    cylinder: str
    bank: str
    parts: str
    verdict: str
    word: str


def engine_drawing(cylinders: Sequence[CylinderDrawn], says: str) -> Drawing:
    """Draw the engine.

    Args:
        cylinders: in the engine's order; those of the first bank lie on the left.
        says: the drawing in a sentence, for those who can't see it.
    """
    banks = list(dict.fromkeys(one.bank for one in cylinders))
    sides = {bank: [one for one in cylinders if one.bank == bank] for bank in banks}
    rows = max((len(side) for side in sides.values()), default=0)
    height = rows * (TALL + GAP) + GAP
    strokes: list[Stroke] = [Box((WIDE + GAP, 0), CASE, height, FAINT)]
    for number, bank in enumerate(banks):
        left = GAP if number % 2 == 0 else WIDE + GAP + CASE
        for row, one in enumerate(sides[bank]):
            strokes += _cylinder(one, left, GAP + row * (TALL + GAP))
    width = 2 * (WIDE + GAP) + CASE if len(banks) > 1 else WIDE + 2 * GAP + CASE
    return Drawing(width, height, tuple(strokes), says)


def _cylinder(one: CylinderDrawn, left: float, top: float) -> list[Stroke]:
    right, bottom, middle = left + WIDE, top + TALL, top + TALL / 2
    missing = one.verdict not in TONES
    corners = ((left, top), (right, top), (right, bottom), (left, bottom), (left, top))
    strokes: list[Stroke] = [Path(corners, INK, 2.0, dashed=missing)]
    for fin in range(1, FINS + 1):
        x = left + WIDE * fin / (FINS + 1)
        strokes.append(Path(((x, top - 4), (x, top)), INK, 1.2))
        strokes.append(Path(((x, bottom), (x, bottom + 4)), INK, 1.2))
    strokes.append(Label((left + 8, middle + 12), one.cylinder, 34))
    begin = left + 40
    if not missing:
        shape = verdict_shape(one.verdict, SHAPE)
        strokes += [moved(s, begin, middle - SHAPE / 2) for s in shape.strokes]
        begin += SHAPE + 8
    room = right - begin - 6
    strokes.append(Label((begin, middle - 6), one.word, fitting(one.word, 21, room)))
    strokes.append(Label((begin, middle + 24), one.parts, fitting(one.parts, 21, room)))
    return strokes


def fitting(text: str, most: float, room: float) -> float:
    """A size at which a text surely fits: letters are drawn by whoever prints it."""
    return min(most, room / (CHAR * 1.25 * max(len(text), 1)))


def moved(stroke: Stroke, dx: float, dy: float) -> Stroke:
    """The same stroke elsewhere."""
    if isinstance(stroke, Path):
        return replace(stroke, points=tuple((x + dx, y + dy) for x, y in stroke.points))
    return replace(stroke, at=(stroke.at[0] + dx, stroke.at[1] + dy))
