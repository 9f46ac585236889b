"""Where in the frames the shown number stands, and how it is written there.

A place is one span in each sample's text that says exactly what the display showed, at one and the
same place by some measure: from the frame's start, from its end, or counted in numbers.
"""

import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from barrelfit.drivers.layout import nibble_text
from barrelfit.drivers.teaching.samples import Shown

TIMES: Final = (1, 2, 5, 10, 20, 25, 50, 100)
_NIBBLES_MAX: Final = 10
_NIBBLES_MIN: Final = 3
_NUMBER: Final = re.compile(r"\d+(?:[.,]\d+)?")
_HEX: Final = re.compile(r"[0-9A-F]+|[0-9a-f]+")

Span = tuple[int, int]


@dataclass(frozen=True, slots=True)
class View:
    """Frames as text: packed nibbles by `order` (empty: the characters), perhaps backwards."""

    order: str = ""
    backwards: bool = False

    def text(self, payload: bytes) -> str:
        """A frame's text, one character a byte of it."""
        text = nibble_text(payload, self.order).decode("latin-1")
        return text[::-1] if self.backwards else text

    def of_byte(self, index: int, size: int) -> tuple[int, ...]:
        """Which characters of the text are byte `index` of a payload of `size` bytes."""
        at = (2 * index, 2 * index + 1) if self.order else (index,)
        last = (2 if self.order else 1) * size - 1
        return tuple(last - i for i in at) if self.backwards else at


TEXT_VIEWS: Final = (View(), View(backwards=True))
PACKED_VIEWS: Final = tuple(View(o, b) for b in (False, True) for o in ("high", "lsb", "msb"))


@dataclass(frozen=True, slots=True)
class Place:
    """Where the number stands: a span of each text, without leading zeros and sign.

    `kind`: `mark` (digits with a decimal mark), `implied` (digits alone), `hex` or `hex-signed`
    (counts, each worth `times` of the last digit). `again` are spans that hold the same once more.
    """

    view: View
    kind: str
    spans: tuple[Span, ...]
    times: int = 1
    again: tuple[tuple[Span, ...], ...] = ()


def places(view: View, texts: Sequence[str], shown: Sequence[Shown]) -> Iterator[list[Place]]:
    """The places at which all samples agree; several in one list can't be told from one another."""
    for kind, written in (("mark", _marked), ("implied", _implied)):
        found = _decimal(texts, [written(one) for one in shown])
        if found:
            first, *again = found
            yield [Place(view, kind, first, again=tuple(again))]
    if len(set(map(len, texts))) == 1:
        counted = [Place(view, *rest) for rest in _counted(texts, shown)]
        if counted:
            yield counted


def _marked(shown: Shown) -> tuple[str, ...]:
    if not shown.fraction:
        return ()
    wholes = (shown.whole, "") if shown.whole == "0" else (shown.whole,)
    return tuple(f"{whole}{mark}{shown.fraction}" for whole in wholes for mark in ".,")


def _implied(shown: Shown) -> tuple[str, ...]:
    return (shown.whole + shown.fraction,)


def _decimal(texts: Sequence[str], written: Sequence[tuple[str, ...]]) -> list[tuple[Span, ...]]:
    """Spans that hold what is written, one a text, where they agree by some measure."""
    held = [list(_spans(t, w)) for t, w in zip(texts, written, strict=True)]
    found: list[tuple[Span, ...]] = []
    for measure in (_from_end, _from_start, _nth, _nth_from_end):
        tables = [
            {measure(text, span): span for span in reversed(spans)}
            for text, spans in zip(texts, held, strict=True)
        ]
        for key in tables[0]:
            if all(key in table for table in tables):
                spans = tuple(table[key] for table in tables)
                if spans not in found:
                    found.append(spans)
    return _distinct(found)


def _distinct(found: list[tuple[Span, ...]]) -> list[tuple[Span, ...]]:
    """Spans in the wire's order; of those that overlap in some text only the first measure's."""
    kept: list[tuple[Span, ...]] = []
    for spans in found:
        if not any(a < d and c < b for k in kept for (a, b), (c, d) in zip(k, spans, strict=True)):
            kept.append(spans)
    return sorted(kept)


def _spans(text: str, written: tuple[str, ...]) -> Iterator[Span]:
    taken: set[int] = set()
    for one in written:
        at = text.find(one)
        while at >= 0:
            if at + len(one) not in taken:  # `.345` ends where `0.345` does
                taken.add(at + len(one))
                yield at, at + len(one)
            at = text.find(one, at + 1)


Measure = Callable[[str, Span], tuple[int, int]]


def _from_end(text: str, span: Span) -> tuple[int, int]:
    return len(text) - span[1], 0


def _from_start(_text: str, span: Span) -> tuple[int, int]:
    return span[0], 0


def _nth(text: str, span: Span) -> tuple[int, int]:
    """Which number of the text it is the end of, and how many characters before its end."""
    for n, match in enumerate(_NUMBER.finditer(text)):
        if match.end() >= span[1]:
            return n, match.end() - span[1]
    return -1, span[1]


def _nth_from_end(text: str, span: Span) -> tuple[int, int]:
    n, off = _nth(text, span)
    return n - len(_NUMBER.findall(text)), off


def _counted(
    texts: Sequence[str], shown: Sequence[Shown]
) -> Iterator[tuple[str, tuple[Span, ...], int]]:
    """Counts in hexadecimal digits; of one end the narrowest, or the widest with a sign proven."""
    size = len(texts[0])
    for stop in range(_NIBBLES_MIN, size + 1):
        fits: dict[tuple[str, int], list[int]] = {}
        for start in range(stop - _NIBBLES_MIN, max(stop - _NIBBLES_MAX, 0) - 1, -1):
            cut = [text[start:stop] for text in texts]
            if not all(map(_HEX.fullmatch, cut)):
                break
            for kind in ("hex", "hex-signed"):
                if times := _times(kind, cut, shown):
                    fits.setdefault((kind, times), []).append(start)
        for (kind, times), starts in fits.items():
            start = starts[-1] if kind == "hex-signed" else starts[0]
            yield kind, ((start, stop),) * len(texts), times


def _times(kind: str, cut: Sequence[str], shown: Sequence[Shown]) -> int:
    """What a count is worth by all samples; 0 where it is not."""
    signed = kind == "hex-signed"
    if signed and not any(one.minus and one.count for one in shown):
        return 0
    counts = [_signed(digits) if signed else int(digits, 16) for digits in cut]
    wanted = [-one.count if signed and one.minus else one.count for one in shown]
    first = next((n for n, count in enumerate(counts) if count), None)
    if first is None or wanted[first] % counts[first]:
        return 0
    times = wanted[first] // counts[first]
    agree = all(w == c * times for w, c in zip(wanted, counts, strict=True))
    return times if agree and times in TIMES else 0


def _signed(digits: str) -> int:
    count = int(digits, 16)
    return count - (1 << 4 * len(digits)) if count >= 1 << 4 * len(digits) - 1 else count
