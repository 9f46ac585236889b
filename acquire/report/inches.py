"""Shows lengths in inches where a text gives them in mm: for reading, never for judging.

Every length in a sentence of the rules is an exact decimal in mm (three decimals or more) with its
unit, so it can be written in inches without knowing what the sentence says. Five decimals of an
inch are a quarter of a micrometre; an interval is rounded up.
"""

import re
from dataclasses import replace
from decimal import ROUND_CEILING, ROUND_HALF_EVEN, Decimal

from barrelfit.acquire.report.blocks import (
    Block,
    Cautions,
    Cell,
    Drawing,
    Heading,
    Items,
    Label,
    NewPage,
    Picture,
    Report,
    StandingBlock,
    Stroke,
    TableBlock,
    Text,
    VerdictBlock,
)

_MM_PER_INCH = Decimal("25.4")
_PLACES = Decimal("0.00001")
_FINE = Decimal("0.0000001")
_NUMBER = r"\d+\.\d{3,6}"
_LENGTH = re.compile(rf"(?<![\d.])({_NUMBER})(?:( ± | to )({_NUMBER}))? mm\b")
_IN_DRAWING = re.compile(r"(?<![\d.])(\d+(?:\.\d+)?) (mm|µm)\b")


def in_inches(text: str) -> str:
    """The text with every length of three decimals or more in mm written in inches."""
    return _LENGTH.sub(_written, text)


def _written(found: re.Match[str]) -> str:
    first, link, second = found.groups()
    if second is None:
        return f"{_inch(first)} in"
    rounding = ROUND_CEILING if "±" in link else ROUND_HALF_EVEN
    return f"{_inch(first)}{link}{_inch(second, rounding)} in"


def _inch(mm: str, rounding: str = ROUND_HALF_EVEN) -> str:
    inches = Decimal(mm) / _MM_PER_INCH
    shown = inches.quantize(_PLACES, rounding=rounding)
    if not shown and inches:  # a difference that decides something is never shown as zero
        shown = inches.quantize(_FINE, rounding=ROUND_CEILING)
    return f"{shown:f}"


def report_in_inches(report: Report) -> Report:
    """The report with its lengths in inches; budgets stay in µm."""
    blocks = tuple(_block(block) for block in report.blocks)
    return Report(in_inches(report.title), blocks)


def _block(block: Block) -> Block:  # noqa: C901, PLR0911  one case a kind of block
    match block:
        case Heading(text, level):
            return Heading(in_inches(text), level)
        case Text(text, small):
            return Text(in_inches(text), small)
        case Items(sentences):
            return Items(tuple(in_inches(s) for s in sentences))
        case Cautions(sentences):
            return Cautions(tuple(in_inches(s) for s in sentences))
        case TableBlock():
            return _table(block)
        case Drawing():
            return replace(block, strokes=tuple(_stroke(s) for s in block.strokes))
        case StandingBlock(name, verdict, facts):
            return StandingBlock(name, verdict, in_inches(facts))
        case Picture() | NewPage():
            return block


def _table(table: TableBlock) -> TableBlock:
    head = tuple(in_inches(h) for h in table.head)
    rows = tuple(tuple(_cell(c) for c in row) for row in table.rows)
    return replace(table, head=head, rows=rows)


def _cell(cell: Cell) -> Cell:
    return cell if isinstance(cell, VerdictBlock) else in_inches(cell)


def _stroke(stroke: Stroke) -> Stroke:
    """A drawing's labels are short: whole numbers of mm and µm are lengths there too."""
    if not isinstance(stroke, Label):
        return stroke
    return replace(stroke, text=_IN_DRAWING.sub(_drawn, stroke.text))


def _drawn(found: re.Match[str]) -> str:
    number, unit = found.groups()
    mm = Decimal(number) / (1000 if unit == "µm" else 1)
    return f"{_inch(str(mm))} in"
