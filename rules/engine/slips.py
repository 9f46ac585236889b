"""One means for every doubt: would a number be as usual if the hand had slipped?

A slip is the decimal mark (ten, a hundred, a thousand times), the unit (25.4 times, with the
decimal mark 2.54 times), or two digits swapped; of a temperature the scale. What a slip would make
usual is asked about, never corrected. Typed entries, set files, sheets, bench files and commands
all come through here.
"""

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from itertools import combinations

from barrelfit.rules.length import NM_PER_UNIT, shown

NM_PER_TYPED = {**NM_PER_UNIT, "µm": 1_000, "um": 1_000}
_LEADING_NOUGHT = re.compile("0[0-9]")
_DECIMALS = {"mm": 3, "inch": 4}  # as gauges show them
Fits = Callable[[Fraction], bool]


@dataclass(frozen=True, slots=True)
class Slip:
    """A slip that would make a number usual: `decimal-slip`, `unit-slip` or `digits-swapped`.

    `words` say what the number would be, and ask: `0.080 mm would be: decimal slip?`.
    """

    reason: str
    words: str


def length_slip(text: str, unit: str, fits: Fits, *, far: bool) -> Slip | None:
    """The likeliest slip of a length that would fit, None when none does.

    Args:
        text: the number as written, a plain decimal.
        unit: its unit, one of `NM_PER_TYPED`.
        fits: whether a length in nm is as it should be.
        far: whether the length is so far off that it is no ordinary measurement. Only then are two
            slips at once, a thousand times, and swapped digits thought of: they lie too near.
    """
    candidates = [*_near_slips(text, unit), *(_far_slips(text, unit) if far else ())]
    return next((slip for slip, length_nm in candidates if fits(length_nm)), None)


def _near_slips(text: str, unit: str) -> Iterator[tuple[Slip, Fraction]]:
    length_nm = Fraction(Decimal(text)) * NM_PER_TYPED[unit]
    yield from (_decimal(length_nm, power) for power in (-1, 1))
    for other, there_nm in NM_PER_TYPED.items():
        if there_nm != NM_PER_TYPED[unit]:
            slip = Slip("unit-slip", f"{text} {other} would be: which unit?")
            yield slip, Fraction(Decimal(text)) * there_nm
    yield from (_decimal(length_nm, power) for power in (-2, 2))


def _far_slips(text: str, unit: str) -> Iterator[tuple[Slip, Fraction]]:
    number, here_nm = Fraction(Decimal(text)), NM_PER_TYPED[unit]
    yield from (_decimal(number * here_nm, power) for power in (-3, 3))
    for other, there_nm in NM_PER_UNIT.items():
        for power in (-1, 1, -2, 2):
            if there_nm != here_nm:
                moved = format(Decimal(text).scaleb(power).normalize(), "f")
                words = f"{moved} {other} would be: which unit, and where is the decimal mark?"
                yield Slip("unit-slip", words), number * there_nm * Fraction(10) ** power
    for swapped in swaps(text, unit):
        slip = Slip("digits-swapped", f"{swapped} {unit} would be: two digits swapped?")
        yield slip, Fraction(Decimal(swapped)) * here_nm


def _decimal(length_nm: Fraction, power: int) -> tuple[Slip, Fraction]:
    moved_nm = length_nm * Fraction(10) ** power
    return Slip("decimal-slip", f"{shown(round(moved_nm))} would be: decimal slip?"), moved_nm


def swaps(text: str, unit: str = "") -> Iterator[str]:
    """The number with two of its digits swapped, each in turn; the decimal mark stays.

    Neighbours come first: they are swapped most easily.

    Args:
        text: a plain decimal; noughts at its end count, as many as are usual in the unit.
        unit: its unit, "" where it has none.
    """
    text = _padded(text, _DECIMALS.get(unit, 0))
    places = [n for n, character in enumerate(text) if character.isdigit()]
    pairs = sorted(combinations(range(len(places)), 2), key=lambda pair: pair[1] - pair[0])
    for first, second in ((places[a], places[b]) for a, b in pairs):
        if text[first] != text[second]:
            letters = list(text)
            letters[first], letters[second] = text[second], text[first]
            swapped = "".join(letters)
            if not _LEADING_NOUGHT.match(swapped):  # nobody writes 04.5
                yield swapped


def _padded(text: str, decimals: int) -> str:
    whole, _, fraction = text.partition(".")
    return f"{whole}.{fraction.ljust(decimals, '0')}" if decimals or fraction else text


def number_slip(text: str, fits: Fits, unit: str) -> Slip | None:
    """The likeliest slip of a plain number (grams, a ratio) that would fit, None when none does.

    Args:
        text: the number as written.
        fits: whether a number is as it should be.
        unit: its unit for the words, "" where it has none.
    """
    number = Decimal(text)
    for power in (-1, 1, -2, 2, -3, 3):
        moved = number.scaleb(power)
        if fits(Fraction(moved)):
            written = f"{format(moved.normalize(), 'f')} {unit}".strip()
            return Slip("decimal-slip", f"{written} would be: decimal slip?")
    for swapped in swaps(text):
        if fits(Fraction(Decimal(swapped))):
            words = f"{swapped} {unit}".strip()
            return Slip("digits-swapped", f"{words} would be: two digits swapped?")
    return None


def temperature_slip(milli_celsius: int, fits: Fits) -> Slip | None:
    """The likeliest slip of a temperature, None when none fits.

    Args:
        milli_celsius: as taken down, in thousandths of a degree Celsius.
        fits: whether a temperature, in the same unit, is as it should be.
    """
    as_fahrenheit = Fraction(milli_celsius - 32_000) * 5 / 9
    as_kelvin = Fraction(milli_celsius) - 273_150
    degrees = f"{milli_celsius / 1000:g}"
    for moved, words in (
        (as_fahrenheit, f"{degrees} °F would be {_celsius(as_fahrenheit)}: which scale?"),
        (as_kelvin, f"{degrees} K would be {_celsius(as_kelvin)}: which scale?"),
    ):
        if fits(moved):
            return Slip("unit-slip", words)
    for power in (-1, 1):
        moved = Fraction(milli_celsius) * Fraction(10) ** power
        if fits(moved):
            return Slip("decimal-slip", f"{_celsius(moved)} would be: decimal slip?")
    return None


def _celsius(milli: Fraction) -> str:
    return f"{float(milli) / 1000:.3g} °C"
