"""Simple pictures, drawn as SVG text: the part with the feature marked, and a verdict's shape.

The shapes are of this project: a whole piston crown, a ring with its gap, a crown broken in two,
a crown only dotted out. They differ in outline, so that they are told apart without any colour.
"""

from collections.abc import Sequence
from html import escape
from math import cos, pi, sin
from typing import Final

from barrelfit.dashboard.view.bench import Level
from barrelfit.dashboard.words import say, say_or_raw
from barrelfit.rules.engine.catalogue import feature
from barrelfit.rules.engine.catalogue.nouns import Picture
from barrelfit.rules.model import FeatureId

_DISC: Final = '<circle cx="50" cy="50" r="45" fill="currentColor"/>'
_RING: Final = (
    '<path d="M 62 14 A 38 38 0 1 1 38 14" fill="none" stroke="currentColor" stroke-width="17"/>'
)
_BROKEN: Final = (
    '<path d="M 52 3 A 43 43 0 0 0 26 84 L 41 60 L 29 50 Z" fill="currentColor"/>'
    '<path d="M 50 97 A 43 43 0 0 0 74 16 L 59 40 L 71 50 Z" fill="currentColor"/>'
)
_HOLLOW: Final = (
    '<circle cx="50" cy="50" r="42" fill="none" stroke="currentColor" stroke-width="3"'
    ' opacity=".5"/>'
)


def _dotted() -> str:
    spots = ((50 + 38 * cos(i * pi / 4), 50 + 38 * sin(i * pi / 4)) for i in range(8))
    return "".join(
        f'<circle cx="{x:.1f}" cy="{y:.1f}" r="9" fill="currentColor"/>' for x, y in spots
    )


SHAPES: Final = {
    "serviceable": _DISC,
    "rework": _RING,
    "discard": _BROKEN,
    "undecided": _dotted(),
    "none": _HOLLOW,
}


def shape(verdict: str) -> str:
    """The verdict's shape; it takes the colour of the text around it."""
    label = escape(say_or_raw(verdict), quote=True)
    body = SHAPES.get(verdict, _HOLLOW)
    return f'<svg class="shape" viewBox="0 0 100 100" role="img" aria-label="{label}">{body}</svg>'


def tone(verdict: str) -> str:
    """The verdict's style class; a word this board doesn't know has no tone."""
    return verdict if verdict in SHAPES else "none"


MARKS: Final = {
    "online": '<path d="M 20 10 L 90 50 L 20 90 Z" fill="currentColor"/>',
    "answering": '<path d="M 20 10 L 90 50 L 20 90 Z" fill="currentColor"/>',
    "present": '<path d="M 20 10 L 90 50 L 20 90 Z" fill="none" stroke="currentColor"'
    ' stroke-width="9"/>',
    "offline": '<path d="M 15 15 h 70 v 70 h -70 Z" fill="none" stroke="currentColor"'
    ' stroke-width="12"/>',
    "lost": '<path d="M 16 16 L 84 84 M 84 16 L 16 84" stroke="currentColor" stroke-width="20"/>',
}
_MARK_UNKNOWN: Final = (
    '<path d="M 50 8 L 92 50 L 50 92 L 8 50 Z" fill="none" stroke="currentColor"'
    ' stroke-width="10" stroke-dasharray="16 12"/>'
)


def state_class(state: str) -> str:
    """A state's style class; a word this board doesn't know is "unknown", never markup."""
    return state if state in MARKS else "unknown"


def mark(state: str) -> str:
    """A small mark for a state: running, waiting, off, lost, unknown."""
    body = MARKS.get(state, _MARK_UNKNOWN)
    return f'<svg class="mark" viewBox="0 0 100 100" aria-hidden="true">{body}</svg>'


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
        return _barrel(place, levels, directions)
    return _ring() if picture == "ring" else _piston(picture, edge)


def _svg(width: int, height: int, label: str, body: str) -> str:
    return (
        f'<svg class="part" viewBox="0 0 {width} {height}" role="img"'
        f' aria-label="{escape(label, quote=True)}">{body}</svg>'
    )


def _piston(marked: Picture, edge: str) -> str:
    """A piston seen along its pin: skirt, pin or ring grooves are marked."""
    groove = "mark" if marked == "grooves" else "line"
    grooves = "".join(
        f'<path class="{groove}" d="M 92 {y} h 10 v 8 h -10 M 228 {y} h -10'
        f' v 8 h 10"/><path class="thin" d="M 102 {y + 4} H 218"/>'
        for y in (42, 62, 82)
    )
    body = (
        '<path class="body" d="M 92 24 Q 160 14 228 24 V 100 L 231 216 Q 232 232 218 232'
        ' H 102 Q 88 232 89 216 L 92 100 Z"/>'
        f'{grooves}<circle class="hole" cx="160" cy="128" r="23"/>'
    )
    if marked == "pin":
        body += '<circle class="mark" cx="160" cy="128" r="20"/>' + _arrows(140, 180, 128)
        return _svg(320, 250, say("pin_picture"), body)
    body += '<path class="thin" d="M 130 128 H 190 M 160 98 V 158"/>'
    if marked != "skirt":
        return _svg(320, 250, say("part_picture"), body)
    body += _arrows(89, 231, 198) + '<path class="mark" d="M 60 198 H 260"/>'
    if edge:
        body += (
            '<path class="line" d="M 250 232 H 300 M 288 202 V 228"/>'
            '<path class="tip" d="M 288 199 l -5 10 h 10 Z M 288 231 l -5 -10 h 10 Z"/>'
            f'<text x="300" y="222" class="strong">{escape(edge)}</text>'
        )
    body += f'<text x="160" y="262" class="words">{escape(say("across_pin"))}</text>'
    return _svg(400 if edge else 320, 274, say("skirt_picture"), body)


def _ring() -> str:
    """A ring in its bore, seen from above: the closed gap is marked."""
    body = (
        '<circle class="body" cx="160" cy="130" r="112"/><circle class="hole" cx="160" cy="130"'
        ' r="98"/><path class="line" d="M 170 36 A 94 94 0 1 1 150 36 L 152 56 A 74 74 0 1 0 168 56'
        ' Z"/>' + _arrows(150, 170, 46)
    )
    return _svg(320, 260, say("ring_picture"), body)


def _arrows(left: float, right: float, y: float) -> str:
    """Two arrow heads pressing inwards on a width."""
    return (
        f'<path class="arrow" d="M {left} {y} l -22 -11 v 22 Z M {left - 22} {y} h -34'
        f' M {right} {y} l 22 -11 v 22 Z M {right + 22} {y} h 34"/>'
    )


def _barrel(place: FeatureId, levels: Sequence[Level], directions: Sequence[str]) -> str:
    top, bottom, left, right = 30.0, 236.0, 92.0, 200.0
    fins = "".join(
        f'<path class="line" d="M 72 {y} h -34 M 220 {y} h 34"/>' for y in range(52, 190, 17)
    )
    body = (
        f'<path class="body" d="M 72 {top} H {left} V {bottom} H 72 Z'
        f' M 220 {top} H {right} V {bottom} H 220 Z"/>{fins}'
        f'<path class="thin" d="M 146 {top - 12} V {bottom + 10}"/>'
    )
    for level in levels:
        y = top + (bottom - top) * level.down
        now = level.name == place.depth
        body += f'<path class="{"mark" if now else "thin"}" d="M {left} {y:.0f} H {right}"/>'
        style = "strong" if now else "side"
        body += f'<text x="262" y="{y + 6:.0f}" class="{style}">{escape(level.name)}</text>'
        if now:
            body += _outward(left, right, y)
            body += f'<text x="262" y="{y + 27:.0f}" class="side">{escape(level.text)}</text>'
    return _svg(500, 274, say("bore_picture"), body + _from_head(place, directions))


def _outward(left: float, right: float, y: float) -> str:
    return (
        f'<path class="arrow" d="M {left} {y:.0f} l 18 -9 v 18 Z'
        f' M {right} {y:.0f} l -18 -9 v 18 Z"/>'
    )


def _from_head(place: FeatureId, directions: Sequence[str]) -> str:
    """The bore seen from the head: the direction to measure as a double arrow."""
    cx, cy, r = 430.0, 120.0, 50.0
    body = f'<circle class="body" cx="{cx}" cy="{cy}" r="{r + 12}"/>'
    body += f'<circle class="hole" cx="{cx}" cy="{cy}" r="{r}"/>'
    for index, direction in enumerate(directions):
        angle = pi * index / max(len(directions), 1)
        dx, dy = r * cos(angle), r * sin(angle)
        now = direction == place.direction
        body += (
            f'<path class="{"mark" if now else "thin"}" d="M {cx - dx:.1f} {cy - dy:.1f}'
            f' L {cx + dx:.1f} {cy + dy:.1f}"/>'
        )
        if now:
            body += f'<circle class="dot" cx="{cx - dx:.1f}" cy="{cy - dy:.1f}" r="7"/>'
            body += f'<circle class="dot" cx="{cx + dx:.1f}" cy="{cy + dy:.1f}" r="7"/>'
    return body + f'<text x="{cx}" y="216" class="words">{escape(place.direction)}</text>'
