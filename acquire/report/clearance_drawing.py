"""Clearances of a set's pairs, each against its limits: drawn for report and board alike. Pure.

A pair has a row: what it is, its clearances in figures, and its verdict by word and shape; below
that its smallest clearance (a dot) against the smallest allowed, and its largest (a square)
against the largest allowed. A whisker is a 95 % interval, a dashed line a limit. Where it is
hatched, at both sides of a limit, a clearance decides nothing (ISO 14253-1): it is the guard band,
worked out of that very clearance's uncertainty.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

from barrelfit.acquire.report.blocks import (
    FAINT,
    INK,
    TONES,
    Box,
    Dot,
    Drawing,
    Label,
    Path,
    Stroke,
)
from barrelfit.acquire.report.charts import verdict_shape
from barrelfit.acquire.report.engine_drawing import fitting, moved
from barrelfit.acquire.report.words import say
from barrelfit.rules.length import NM_PER_UNIT
from barrelfit.rules.manner import Manner, told
from barrelfit.rules.said import small

WIDTH: Final = 420.0
EDGE: Final = 6.0
LINE, BAND, GAP, AXIS, LIMITS = 16.0, 13.0, 6.0, 20.0, 25.0
LETTER, SMALL_LETTER = 12.0, 9.5
ROWS_MOST: Final = 6
"""So many rows a drawing, so that it fits on a page."""
LONG_NAME: Final = 20
HATCH: Final = 4.0
TICKS_MOST: Final = 5
LETTER_WIDE: Final = 0.7
"""Of a letter's size: its width at most, about; letters are drawn by whoever prints them."""
_LINE_GREY: Final = "#e3e6ea"


@dataclass(frozen=True, slots=True)
class ClearanceDrawn:
    """A clearance and what it is held against, in nm.

    `half_nm` is half its 95 % interval, `guard_nm` the guard band of its uncertainty; `limit_nm` is
    None where none applies.
    """

    nm: int
    half_nm: int
    limit_nm: int | None
    guard_nm: int


@dataclass(frozen=True, slots=True)
class PairDrawn:
    """A pair: its name, its clearances in figures, its verdict's key and word.

    `ends` are its smallest and largest clearance; None while there is none, and `figures` says so.
    """

    name: str
    figures: str
    ends: tuple[ClearanceDrawn, ClearanceDrawn] | None
    verdict: str
    word: str


@dataclass(frozen=True, slots=True)
class Scale:
    """Where a length stands on the drawing: from `start_nm` at the left to `end_nm`."""

    start_nm: float
    end_nm: float

    def x(self, nm: float) -> float:
        """The place of a length in nm."""
        share = (nm - self.start_nm) / (self.end_nm - self.start_nm)
        return EDGE + share * (WIDTH - 2 * EDGE)


def clearance_drawings(pairs: Sequence[PairDrawn], manner: Manner) -> list[Drawing]:
    """Draw the pairs, on as many drawings of one scale as it takes.

    Args:
        pairs: in the order of their rows.
        manner: how lengths are written.
    """
    scale = scale_of(pairs)
    pieces = [pairs[n : n + ROWS_MOST] for n in range(0, len(pairs), ROWS_MOST)]
    return [_drawing(piece, scale, manner) for piece in pieces]


def scale_of(pairs: Sequence[PairDrawn]) -> Scale:
    """A scale on which every clearance, interval, limit and guard band has its place; and zero."""
    reached = [0]
    for end in (end for pair in pairs if pair.ends for end in pair.ends):
        reached += [end.nm - end.half_nm, end.nm + end.half_nm]
        if end.limit_nm is not None:
            reached += [end.limit_nm - end.guard_nm, end.limit_nm + end.guard_nm]
    low, high = min(reached), max(reached)
    room = max((high - low) * 0.04, 500.0)
    return Scale(low - room, high + room)


def _drawing(pairs: Sequence[PairDrawn], scale: Scale, manner: Manner) -> Drawing:
    strokes: list[Stroke] = []
    top, before = 0.0, None
    for pair in pairs:
        limits = _limits(pair)
        if pair.ends and limits != before:
            strokes += _limit_words(limits, scale, top, manner)
            top, before = top + LIMITS, limits
        row, tall = _row(pair, scale, top)
        strokes += row
        top += tall
    strokes += _axis(scale, top, manner)
    says = "; ".join(say("pair_is", pair=p.name, figures=p.figures, verdict=p.word) for p in pairs)
    return Drawing(WIDTH, top + AXIS, tuple(strokes), f"{say('clearance_drawing')}: {says}")


def _limits(pair: PairDrawn) -> tuple[int | None, ...]:
    return tuple(end.limit_nm for end in pair.ends or ())


def _limit_words(
    limits: Sequence[int | None], scale: Scale, top: float, manner: Manner
) -> Iterator[Stroke]:
    """Which limits hold for the rows below, each in a line of its own, beside where it is."""
    for number, (limit_nm, word) in enumerate(
        zip(limits, ("smallest_is", "largest_is"), strict=True)
    ):
        if limit_nm is None:
            continue
        text = say(word, limit=told(small(limit_nm), manner))
        at = scale.x(limit_nm)
        is_left = at < WIDTH / 2
        room = WIDTH - EDGE - at if is_left else at - EDGE
        size = fitting(text, SMALL_LETTER, room)
        base = top + 10 + 11 * number
        yield Label((at, base), text, size, "start" if is_left else "end")


def _row(pair: PairDrawn, scale: Scale, top: float) -> tuple[list[Stroke], float]:
    """A pair's row, and how tall it is."""
    long = len(pair.name) > LONG_NAME
    verdict_left, base = WIDTH * 0.68, top + LINE - 4
    figures_left = EDGE if long else WIDTH * 0.33
    name_room = (verdict_left if long else figures_left) - EDGE - 6
    strokes: list[Stroke] = [
        Label((EDGE, base), pair.name, fitting(pair.name, LETTER, name_room)),
        *_verdict(pair, verdict_left, top),
    ]
    if long:
        top, base = top + LINE, base + LINE
    room = (WIDTH - EDGE if long else verdict_left - 6) - figures_left
    strokes.append(Label((figures_left, base), pair.figures, fitting(pair.figures, 11.0, room)))
    begin = top + LINE
    if pair.ends is None:
        return strokes, begin + GAP - top + (LINE if long else 0)
    strokes.append(Box((EDGE, begin + BAND - 0.3), WIDTH - 2 * EDGE, 0.6, _LINE_GREY))
    for number, end in enumerate(pair.ends):
        strokes += _end(end, scale, begin + BAND * number, is_largest=number == 1)
    return strokes, LINE * (2 if long else 1) + 2 * BAND + GAP


def _verdict(pair: PairDrawn, left: float, top: float) -> Iterator[Stroke]:
    if not pair.word:
        return
    shape = verdict_shape(pair.verdict, LETTER)
    yield from (moved(stroke, left, top + 1.5) for stroke in shape.strokes)
    begin = left + LETTER + 5
    room = WIDTH - EDGE - begin
    yield Label((begin, top + LINE - 4), pair.word, fitting(pair.word, LETTER, room))


def _end(end: ClearanceDrawn, scale: Scale, top: float, *, is_largest: bool) -> Iterator[Stroke]:
    middle = top + BAND / 2
    if end.limit_nm is not None:
        left, right = scale.x(end.limit_nm - end.guard_nm), scale.x(end.limit_nm + end.guard_nm)
        yield from _hatched(left, right, top + 1, BAND - 2)
        at = scale.x(end.limit_nm)
        yield Path(((at, top), (at, top + BAND)), TONES["discard"], 2.0, dashed=True)
    low, high = scale.x(end.nm - end.half_nm), scale.x(end.nm + end.half_nm)
    yield Path(((low, middle), (high, middle)), INK, 1.4)
    for x in (low, high):
        yield Path(((x, middle - 3.5), (x, middle + 3.5)), INK, 1.4)
    x = scale.x(end.nm)
    yield Box((x - 3, middle - 3), 6, 6, INK) if is_largest else Dot((x, middle), 3.4, INK)


def _hatched(left: float, right: float, top: float, tall: float) -> Iterator[Stroke]:
    """Lines that rise to the right, cut at the frame of a band."""
    start = left - tall
    for n in range(int((right - start) / HATCH) + 1):
        foot = start + HATCH * n
        x0, x1 = max(foot, left), min(foot + tall, right)
        if x1 > x0:
            ends = ((x0, top + tall - (x0 - foot)), (x1, top + tall - (x1 - foot)))
            yield Path(ends, FAINT, 0.8)
    for x in (left, right):
        yield Path(((x, top), (x, top + tall)), FAINT, 0.8)


def _axis(scale: Scale, top: float, manner: Manner) -> Iterator[Stroke]:
    yield Path(((EDGE, top), (WIDTH - EDGE, top)), INK, 0.8)
    told_at = [(scale.x(nm), told(small(nm), manner)) for nm in ticks_of(scale, manner)]
    size = SMALL_LETTER
    while size > 1.0 and not _apart(told_at, size):
        size -= 0.5
    for x, text in told_at:
        yield Path(((x, top), (x, top + 4)), INK, 0.8)
        yield Label((_within(x, text, size), top + 15), text, size, "middle")


def _within(x: float, text: str, size: float) -> float:
    """The middle of a word below a place, which must not leave the drawing."""
    half = len(text) * size * LETTER_WIDE / 2
    return min(max(x, half), WIDTH - half)


def _apart(told_at: Sequence[tuple[float, str]], size: float) -> bool:
    """Whether words of a size have a gap between them."""
    halves = [len(text) * size * LETTER_WIDE / 2 for _, text in told_at]
    middles = [_within(x, text, size) for x, text in told_at]
    pairs = pairwise(zip(middles, halves, strict=True))
    return all(left + a + SMALL_LETTER / 2 <= right - b for (left, a), (right, b) in pairs)


def ticks_of(scale: Scale, manner: Manner) -> list[int]:
    """Round lengths along the axis, in nm: by 1, 2 or 5, in the unit that they are shown in."""
    unit_nm = 1_000 if manner.unit == "mm" else NM_PER_UNIT["inch"] // 10_000
    span = scale.end_nm - scale.start_nm
    steps = (unit_nm * n * 10**power for power in range(9) for n in (1, 2, 5))
    step = next(s for s in steps if span / s <= TICKS_MOST)
    first = -int(-scale.start_nm // step) * step
    ticks = list(range(first, int(scale.end_nm) + 1, step))
    return [nm for nm in ticks if scale.start_nm <= nm <= scale.end_nm]
