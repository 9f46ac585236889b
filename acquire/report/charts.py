"""The report's drawings: a verdict's shape, the bore's wear by depth."""

from collections.abc import Callable, Mapping, Sequence
from decimal import Decimal
from math import cos, pi, sin
from typing import Any

from barrelfit.acquire.report.blocks import (
    FAINT,
    TONES,
    Box,
    Dot,
    Drawing,
    Label,
    Path,
    Point,
    Stroke,
)
from barrelfit.acquire.report.figures import microns, short, small_text
from barrelfit.acquire.report.words import say
from barrelfit.rules.manner import Manner

_Axis = Callable[[Decimal], float]
_SERIES = ("#0b57a4", "#955700", "#00695c", "#7a1fa2")


def verdict_shape(word: str, size: float = 10.0) -> Drawing:
    """The shape that stands beside a verdict's word: told apart by outline, not by colour alone.

    A whole crown for serviceable, a ring with its gap for rework, a crown broken in two for
    discard, a crown only dotted out for undecided.
    """
    tone, scale = TONES.get(word, FAINT), size / 100
    return Drawing(size, size, tuple(_shape(word, tone, scale)), word)


def _shape(word: str, tone: str, scale: float) -> list[Stroke]:
    def at(x: float, y: float) -> Point:
        return x * scale, y * scale

    if word == "serviceable":
        return [Dot(at(50, 50), 45 * scale, tone)]
    if word == "rework":
        arc = tuple(at(50 + 38 * sin(a), 50 - 38 * cos(a)) for a in _angles(0.4, 2 * pi - 0.4))
        return [Path(arc, tone, 17 * scale)]
    if word == "discard":
        left = [at(44 + 43 * sin(a), 48 - 43 * cos(a)) for a in _angles(pi, 2 * pi + 0.15)]
        right = [at(56 + 43 * sin(a), 52 - 43 * cos(a)) for a in _angles(0.0, pi + 0.15)]
        halves = ((*left, at(34, 50)), (*right, at(66, 50)))
        return [Path(half, tone, 0.5 * scale, fill=tone) for half in halves]
    spots = [at(50 + 38 * cos(i * pi / 4), 50 + 38 * sin(i * pi / 4)) for i in range(8)]
    return [Dot(spot, 9 * scale, tone) for spot in spots]


def _angles(start: float, end: float) -> list[float]:
    return [start + (end - start) * n / 24 for n in range(25)]


# ---------------------------------------------------------------- the bore by depth


def bore_map(
    sizes: Sequence[Mapping[str, Any]],
    sheet: Mapping[str, Any],
    original: str,
    limit: str,
    manner: Manner,
) -> Drawing:
    """Wear of a bore by depth, one line a direction, against the largest allowed.

    Args:
        sizes: the size lines of one barrel's bore.
        sheet: the sheet line, with depths and directions.
        original: original bore in mm.
        limit: largest bore allowed in mm.
        manner: how lengths are written.
    """
    width, height, left, top = 250.0, 150.0, 62.0, 26.0
    depths = {d["id"]: Decimal(d["below_top_mm"]) for d in sheet["depths"]}
    wears = {(s["depth"], s["direction"]): microns(s["size_mm"], original) for s in sizes}
    most = max([microns(limit, original), *wears.values()], default=Decimal(1)) * Decimal("1.1")
    least = min([Decimal(0), *wears.values()])
    deepest = max(depths.values(), default=Decimal(1)) * Decimal("1.08")

    def x(wear_um: Decimal) -> float:
        return left + float((wear_um - least) / (most - least)) * (width - left - 12)

    def y(depth_mm: Decimal) -> float:
        return top + float(depth_mm / deepest) * (height - top - 22)

    strokes: list[Stroke] = [
        *_bore_frame((x, y), sheet["depths"], (deepest, microns(limit, original)), manner)
    ]
    for number, direction in enumerate(sheet["directions"]):
        colour = _SERIES[number % len(_SERIES)]
        points = [
            (x(wears[d, direction]), y(below))
            for d, below in depths.items()
            if (d, direction) in wears
        ]
        key = (left + 4 + number * 70, height - 4)
        strokes += [Path(tuple(points), colour, 1.4, dashed=number % 2 == 1)]
        strokes += [_marker(number, p, colour) for p in (*points, key)]
        strokes += [Label((key[0] + 6, height - 1), direction, 7.5)]
    return Drawing(width, height, tuple(strokes), say("wear_drawing"))


def _marker(number: int, at: Point, colour: str) -> Stroke:
    """Dots and squares by turns, so that lines are told apart without colour."""
    if number % 2 == 0:
        return Dot(at, 2.2, colour)
    return Box((at[0] - 2, at[1] - 2), 4, 4, colour)


def _bore_frame(
    axes: tuple[_Axis, _Axis],
    depths: Sequence[Mapping[str, Any]],
    ends: tuple[Decimal, Decimal],
    manner: Manner,
) -> list[Stroke]:
    (x, y), (deepest, limit_um) = axes, ends
    zero, bottom, top = x(Decimal(0)), y(deepest), y(Decimal(0))
    strokes: list[Stroke] = [
        Path(((zero, top), (zero, bottom)), FAINT),
        Path(((x(limit_um), top), (x(limit_um), bottom)), TONES["discard"], 1.2, dashed=True),
        Label((zero, top - 5), say("new"), 7.5, "middle"),
        Label(
            (x(limit_um), top - 5),
            say("largest_allowed", wear=small_text(limit_um, manner)),
            7.5,
            "end",
        ),
    ]
    for depth in depths:
        below = Decimal(depth["below_top_mm"])
        words = short(depth["below_top_mm"], manner)
        strokes.append(Label((zero - 6, y(below) + 1), depth["id"], 7.5, "end"))
        strokes.append(Label((zero - 6, y(below) + 9), words, 6.5, "end", FAINT))
        strokes.append(Path(((zero, y(below)), (x(limit_um), y(below))), "#e3e6ea", 0.6))
    return strokes
