"""What a report is made of, whatever it is printed as: blocks of text, tables and drawings.

Drawings are in points (1/72 inch), x to the right, y downwards.
"""

from dataclasses import dataclass
from typing import Literal

Anchor = Literal["start", "middle", "end"]
Point = tuple[float, float]

INK, FAINT, PAPER = "#1b1f23", "#9aa2ab", "#ffffff"
TONES = {
    "serviceable": "#0b57a4",
    "rework": "#955700",
    "discard": "#b00a34",
    "undecided": "#525960",
}


@dataclass(frozen=True, slots=True)
class Box:
    """A filled rectangle."""

    at: Point
    width: float
    height: float
    fill: str


@dataclass(frozen=True, slots=True)
class Path:
    """A line through points; closed and filled when `fill` is given."""

    points: tuple[Point, ...]
    stroke: str = INK
    width: float = 1.0
    fill: str = ""
    dashed: bool = False


@dataclass(frozen=True, slots=True)
class Dot:
    """A filled circle."""

    at: Point
    radius: float
    fill: str


@dataclass(frozen=True, slots=True)
class Label:
    """A short text; `at` is on its base line."""

    at: Point
    text: str
    size: float = 8.0
    anchor: Anchor = "start"
    fill: str = INK


Stroke = Box | Path | Dot | Label


@dataclass(frozen=True, slots=True)
class Drawing:
    """A drawing of some width and height, with a sentence for those who can't see it."""

    width: float
    height: float
    strokes: tuple[Stroke, ...]
    says: str


@dataclass(frozen=True, slots=True)
class Heading:
    """A heading of level 1 (the report), 2 (a chapter) or 3 (a part)."""

    text: str
    level: int


@dataclass(frozen=True, slots=True)
class Text:
    """A paragraph."""

    text: str
    small: bool = False


@dataclass(frozen=True, slots=True)
class Items:
    """A list of sentences."""

    sentences: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Cautions:
    """Cautions, set apart."""

    sentences: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class VerdictBlock:
    """A verdict in a table's cell or beside a heading: its word with its shape."""

    word: str


Cell = str | VerdictBlock


@dataclass(frozen=True, slots=True)
class TableBlock:
    """A table; `shares` are the columns' shares of the width, `small` sets it in small print."""

    head: tuple[str, ...]
    rows: tuple[tuple[Cell, ...], ...]
    shares: tuple[float, ...]
    small: bool = False


@dataclass(frozen=True, slots=True)
class Picture:
    """A photo: the file's bytes, its media type (`image/jpeg`, `image/png`), and its caption."""

    data: bytes
    media: str
    caption: str


@dataclass(frozen=True, slots=True)
class StandingBlock:
    """A part's name with its verdict, as a heading of level 3, and what is known of it."""

    name: str
    verdict: str
    facts: str = ""


@dataclass(frozen=True, slots=True)
class NewPage:
    """What follows begins on a new page in print."""


Block = Heading | Text | Items | Cautions | TableBlock | Drawing | Picture | StandingBlock | NewPage


@dataclass(frozen=True, slots=True)
class Report:
    """A whole report: its title and its blocks."""

    title: str
    blocks: tuple[Block, ...]
