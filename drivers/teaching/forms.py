r"""What may come, as a pattern: frames like those that were sent, in all but what is understood.

Understood are the number's own digits, what counts up, other numbers with a decimal mark, and a
checksum. Whatever else stands in a frame must stand there as it was seen, and together with what it
was seen with: a frame with another sign, unit or status than was taught is no reading.
"""

import re
import string
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from functools import partial
from itertools import pairwise
from typing import Final

from barrelfit.drivers.teaching.places import Place
from barrelfit.drivers.teaching.samples import Shown

SUM: Final = "\ue000"
"""Stands in a text for a character that is checked elsewhere: of a checksum, or of the number once
more."""

FREE: Final = r"\d{1,9}"
"""A counter of any width: what stands behind it is at no fixed place."""

_ANY: Final = "[\\x00-\\xff]"
_ZONE: Final = re.compile(r" *[+-]? *0*$")
_TOKEN: Final = re.compile(r"\d+[.,]\d+|\d+|[^\d]")
_DIGITS: Final = 4
_MANY: Final = 6  # readings before what varies with each of them may be taken for no sign or status


@dataclass(frozen=True, slots=True)
class Parts:
    """One sample's text in parts: `zone` is what stands right before the number's digits."""

    before: tuple[str, ...]
    zone: str
    number: str
    after: tuple[str, ...]


@dataclass(slots=True)
class Forms:
    """Pattern texts of what stands before and after the number, of its zone, and of itself.

    `whole` are those of whole frames; `said` what varies and is not understood, in sentences;
    `told` each sample's parts with what may come in another way blotted out.
    """

    whole: list[str] = field(default_factory=list)
    before: list[str] = field(default_factory=list)
    zones: list[str] = field(default_factory=list)
    numbers: list[str] = field(default_factory=list)
    after: list[str] = field(default_factory=list)
    said: list[str] = field(default_factory=list)
    told: list[Parts] = field(default_factory=list)


def parted(place: Place, texts: Sequence[str], shown: Sequence[Shown]) -> list[Parts]:
    """Each text in parts.

    Zeros in front belong to the number as far as a reading needed them in a frame of this length:
    in one of another length a sign may stand there.
    """
    if place.kind.startswith("hex"):
        return [
            Parts(_bytes(t, 0, start), "", t[start:stop], _bytes(t, stop, len(t)))
            for t, (start, stop) in zip(texts, place.spans, strict=True)
        ]
    widths = [_whole_digits(one, place, span) for one, span in zip(shown, place.spans, strict=True)]
    most = [
        max(w for w, t in zip(widths, texts, strict=True) if len(t) == n) for n in map(len, texts)
    ]
    return [
        _decimal_parts(place, text, span, needed - width)
        for text, span, width, needed in zip(texts, place.spans, widths, most, strict=True)
    ]


def _whole_digits(shown: Shown, place: Place, span: tuple[int, int]) -> int:
    mark = 1 if place.kind == "mark" else 0
    return span[1] - span[0] - mark - len(shown.fraction)


def _decimal_parts(place: Place, text: str, span: tuple[int, int], zeros: int) -> Parts:
    start, stop = span
    while zeros and text[start - 1 : start] == "0" and start:
        start, zeros = start - 1, zeros - 1
    found = _ZONE.search(text, 0, start)
    zone_at = found.start() if found else start
    packed = bool(place.view.order)
    before = _bytes(text, 0, zone_at) if packed else tuple(_TOKEN.findall(text[:zone_at]))
    after = _bytes(text, stop, len(text)) if packed else tuple(_TOKEN.findall(text[stop:]))
    return Parts(before, text[zone_at:start], text[start:stop], after)


def _bytes(text: str, start: int, stop: int) -> tuple[str, ...]:
    """A packed text's piece, cut where its bytes are."""
    edges = sorted({start, stop, *range(start + start % 2, stop, 2)})
    return tuple(text[a:b] for a, b in pairwise(edges))


def forms_of(place: Place, parts: Sequence[Parts], shown: Sequence[Shown]) -> Forms:
    """What may come, by what was seen."""
    signs = {one.minus for one in shown if one.count}
    forms = Forms()
    wide = len(parts) >= _MANY and len(signs) > 1
    apart = all(p.zone[:1] in {" ", "+", "-"} and p.zone for p in parts)
    before, told_before = _side(
        [p.before for p in parts], place, forms, "before", wide=wide, apart=apart
    )
    after, told_after = _side([p.after for p in parts], place, forms, "after", wide=wide)
    forms.told = [
        replace(part, before=told_before[n], after=told_after[n]) for n, part in enumerate(parts)
    ]
    sides = list(zip(before, after, strict=True))
    nonzero = {(*sides[n], p.zone) for n, p in enumerate(parts) if shown[n].count}
    for n, part in enumerate(parts):
        side = sides[n]
        if not shown[n].count and (*side, part.zone) not in nonzero:
            _add(forms, side, part.zone, re.escape(part.number))  # its sign is not known
            continue
        like = [p for p, one in zip(parts, shown, strict=True) if one.unit == shown[n].unit]
        for zone, number in _grown(
            place, part, like, len(shown[n].fraction), signed=len(signs) > 1
        ):
            _add(forms, side, zone, number)
    return forms


def _add(forms: Forms, side: tuple[str, str], zone: str, number: str) -> None:
    before, after = side
    zone = literal(zone)
    for seen, new in (
        (forms.before, before),
        (forms.zones, zone),
        (forms.numbers, number),
        (forms.after, after),
        (forms.whole, before + zone + number + after),
    ):
        if new not in seen:
            seen.append(new)


def _grown(
    place: Place, part: Parts, parts: Sequence[Parts], decimals: int, *, signed: bool
) -> Iterator[tuple[str, str]]:
    """A zone with the pattern of its number, and with those of as many digits as others had.

    Blanks in front give way to digits; without blanks and zeros a sign goes with every width. Where
    no sign was seen, a first digit larger than all seen may be one (a complement).
    """
    if place.kind.startswith("hex"):
        yield part.zone, _counts(place, part.number, [p.number for p in parts])
        return
    mark = 1 if any(c in ".," for c in part.number) else 0
    rest = _fraction([p.number[len(p.number) - mark - decimals :] for p in parts])
    whole = len(part.number) - mark - decimals
    top = max(p.number[0] for p in parts if len(p.number) == len(part.number))
    bare = whole and not part.zone and not signed
    yield part.zone, (f"[0-{top}]{_digits(whole - 1)}" if bare else _digits(whole)) + rest
    if bare:
        return
    blank = re.fullmatch(r"( *)([+-]?)( *)", part.zone)
    if blank is None:
        return
    if blank[1] or blank[3]:
        most = max(len(p.number) for p in parts) - mark - decimals
        for other in range(1, most + 1):
            pad = " " * (len(part.zone) + whole - other - len(blank[2]))
            if len(pad) + len(blank[2]) + other == len(part.zone) + whole:
                yield (blank[2] + pad if blank[3] else pad + blank[2]), _digits(other) + rest
        return
    for width in sorted({len(p.number) for p in parts if p.zone in {"", "+", "-"}}):
        yield part.zone, _digits(width - mark - decimals) + rest


def _fraction(seen: Sequence[str]) -> str:
    """The digits behind the mark; what was the same in all at their end may be no digit at all."""
    kept = 0
    while kept < len(seen[0]) and len({text[len(text) - 1 - kept] for text in seen}) == 1:
        kept += 1
    last = literal(seen[0][len(seen[0]) - kept :])
    free = seen[0][: len(seen[0]) - kept]
    mark = re.escape(free[0]) if free and not free[0].isdigit() else ""
    return mark + _digits(len(free) - (1 if mark else 0)) + last


def _digits(count: int) -> str:
    return rf"\d{{{count}}}" if count else ""


def _counts(place: Place, number: str, numbers: Sequence[str]) -> str:
    """Hexadecimal digits; the first may say no other sign than it said, or than was seen."""
    letters = "a-f" if re.search("[a-f]", "".join(numbers)) else "A-F"
    own, high = int(number[0], 16) >= 8, any(int(n[0], 16) >= 8 for n in numbers)  # noqa: PLR2004
    if place.kind == "hex-signed":
        first = f"[89{letters}]" if own else "[0-7]"
    else:
        first = f"[0-9{letters}]" if high else "[0-7]"
    return f"{first}[0-9{letters}]{{{len(number) - 1}}}"


def _side(
    rows: Sequence[tuple[str, ...]],
    place: Place,
    forms: Forms,
    side: str,
    *,
    wide: bool,
    apart: bool = False,
) -> tuple[list[str], list[tuple[str, ...]]]:
    """Each sample's pattern of one side of the number, and the side itself, blotted.

    `apart`: no digit of this side stands right beside the number.
    """
    if len(set(map(len, rows))) != 1:
        forms.said.append(f"what stands {side} the number differs in length")
        return [literal("".join(row)) for row in rows], list(rows)
    columns = list(zip(*rows, strict=True))
    written, told = [], []
    for n, column in enumerate(columns):
        near = not apart and (n == len(columns) - 1 if side == "before" else n == 0)
        patterns, said = _column(column, place, near=near, wide=wide)
        written.append(patterns)
        free = said and any(p != literal(t) for p, t in zip(patterns, column, strict=True))
        told.append([SUM * len(text) if free else text for text in column])
        if said:
            forms.said.append(f"'{_seen(column)}' {side} the number {said}")
    if not columns:
        return [""] * len(rows), list(rows)
    joined = ["".join(row) for row in zip(*written, strict=True)]
    return joined, [tuple(row) for row in zip(*told, strict=True)]


def _seen(column: Sequence[str]) -> str:
    return " ".join(dict.fromkeys(text.replace(SUM, "?") for text in column[:4]))


def _column(
    column: tuple[str, ...], place: Place, *, near: bool, wide: bool
) -> tuple[list[str], str]:
    """The patterns of what stands at one place, and what is to be said of it."""
    if len(set(column)) == 1 or SUM in "".join(column):
        return [literal(text) for text in column], ""
    if place.view.order:
        if not near and _rises_packed(column):
            return [_masked(column)] * len(column), "counts up, not understood"
    elif all(text.isdigit() for text in column) and _rises(column):
        return _counting(column, near=near), "counts up, not understood"
    elif all(re.fullmatch(r"\d+[.,]\d+", text) for text in column) and _is_number(column, place):
        return _changing(column), "is another number, not understood"
    if wide and not near and len(set(column)) >= _MANY and len(set(map(len, column))) == 1:
        return [_masked(column)] * len(column), "varies, not understood"
    return [literal(text) for text in column], "varies, not understood; taken as seen only"


def _counting(column: Sequence[str], *, near: bool) -> list[str]:
    """A counter; what stands beside its digits and never changed is not taken for a digit of it.

    Only one that counts by ones from reading to reading has digits in front that did not change.
    """
    values = [int(text) for text in column]
    if len(column) >= _MANY and all(b - a == 1 for a, b in pairwise(values)) and not near:
        padded = any(len(text) > 1 and text[0] == "0" for text in column)
        return [_digits(len(text)) if padded else FREE for text in column]
    return _changing(column)


def _changing(column: Sequence[str]) -> list[str]:
    """Digits where digits changed among texts of one length, what was seen elsewhere."""
    free: dict[int, str] = {}
    for size in set(map(len, column)):
        alike = [text for text in column if len(text) == size]
        free[size] = "".join(
            literal(chars[0]) if len(set(chars)) == 1 else r"\d"
            for chars in zip(*alike, strict=True)
        )
    return [free[len(text)] for text in column]


def _is_number(column: Sequence[str], place: Place) -> bool:
    """Whether it is written as a measured number is: four digits and more, never twice the same."""
    marks = {c for text in column for c in text if not c.isdigit()}
    long = all(len(text) > _DIGITS for text in column)
    return place.kind == "mark" and len(marks) == 1 and long and len(set(column)) == len(column)


def _rises(column: Sequence[str]) -> bool:
    """Whether decimal numbers count up, perhaps over their end."""
    values = [int(text) for text in column]
    steps = {(b - a) % 10 ** len(column[0]) for a, b in pairwise(values)}
    return all(a < b for a, b in pairwise(values)) or _alike(steps, values)


def _alike(steps: set[int], values: Sequence[int]) -> bool:
    """Whether it is one step again and again that never came back to where it was."""
    return len(steps) == 1 and len(set(values)) == len(values)


def _rises_packed(column: Sequence[str]) -> bool:
    if any(len(text) != 2 for text in column):  # noqa: PLR2004  a byte
        return False
    values = [int(text, 16) for text in column]
    return _alike({(b - a) % 256 for a, b in pairwise(values)}, values)


def _masked(column: Sequence[str]) -> str:
    """For each character all that agree with those seen in the bits that never changed."""
    return "".join(_like(chars) for chars in zip(*column, strict=True))


def _like(chars: Sequence[str]) -> str:
    if len(set(chars)) == 1:
        return literal(chars[0])
    kinds = (string.digits, string.digits + "ABCDEF", string.digits + "abcdef")
    kind = next((k for k in kinds if set(chars) <= set(k)), None)
    code = ord if kind is None else partial(int, base=16)
    first = code(chars[0])
    free = 0
    for char in chars:
        free |= code(char) ^ first
    like = [c for c in kind or map(chr, range(256)) if (code(c) ^ first) & ~free == 0]
    return "[" + "".join(f"\\x{ord(c):02x}" if kind is None else c for c in like) + "]"


def literal(text: str) -> str:
    r"""A text as a pattern over ASCII; what can't be printed as `\x02`, quotes too."""
    return "".join(
        _ANY
        if c == SUM
        else re.escape(c)
        if " " < c < "\x7f" and c != "'"
        else c
        if c == " "
        else f"\\x{ord(c):02x}"
        for c in text
    )
