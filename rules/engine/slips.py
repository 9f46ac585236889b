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

from barrelfit.rules.length import NM_PER_UNIT
from barrelfit.rules.said import Said, decimal, length, said

NM_PER_TYPED = {**NM_PER_UNIT, "µm": 1_000, "um": 1_000}
_LEADING_NOUGHT = re.compile("0[0-9]")
_DECIMALS = {"mm": 3, "inch": 4}  # as gauges show them
Fits = Callable[[Fraction], bool]


@dataclass(frozen=True, slots=True)
class Slip:
    """A slip that would make a number usual: `decimal-slip`, `unit-slip` or `digits-swapped`.

    `question` says what the number would be, and asks: `0.080 mm would be: decimal slip?`.
    """

    reason: str
    question: Said


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
            question = said("slip_unit", number=decimal(text), unit=other)
            yield Slip("unit-slip", question), Fraction(Decimal(text)) * there_nm
    yield from (_decimal(length_nm, power) for power in (-2, 2))


def _far_slips(text: str, unit: str) -> Iterator[tuple[Slip, Fraction]]:
    number, here_nm = Fraction(Decimal(text)), NM_PER_TYPED[unit]
    yield from (_decimal(number * here_nm, power) for power in (-3, 3))
    for other, there_nm in NM_PER_UNIT.items():
        for power in (-1, 1, -2, 2):
            if there_nm != here_nm:
                moved = format(Decimal(text).scaleb(power).normalize(), "f")
                question = said("slip_unit_and_mark", number=decimal(moved), unit=other)
                yield Slip("unit-slip", question), number * there_nm * Fraction(10) ** power
    for swapped in swaps(text, unit):
        yield _swapped(swapped, unit), Fraction(Decimal(swapped)) * here_nm


def _decimal(length_nm: Fraction, power: int) -> tuple[Slip, Fraction]:
    moved_nm = length_nm * Fraction(10) ** power
    return _slipped(length(round(moved_nm))), moved_nm


def _slipped(moved: Said) -> Slip:
    return Slip("decimal-slip", said("slip_decimal", number=moved))


def _swapped(text: str, unit: str) -> Slip:
    return Slip("digits-swapped", said("slip_digits", number=_with_unit(text, unit)))


def _with_unit(text: str, unit: str) -> Said:
    number = decimal(text)
    return said("number_in", number=number, unit=unit) if unit else number


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
        unit: its unit, "" where it has none.
    """
    number = Decimal(text)
    for power in (-1, 1, -2, 2, -3, 3):
        moved = number.scaleb(power)
        if fits(Fraction(moved)):
            return _slipped(_with_unit(format(moved.normalize(), "f"), unit))
    for swapped in swaps(text):
        if fits(Fraction(Decimal(swapped))):
            return _swapped(swapped, unit)
    return None


def temperature_slip(milli_celsius: int, fits: Fits) -> Slip | None:
    """The likeliest slip of a temperature, None when none fits.

    Args:
        milli_celsius: as taken down, in thousandths of a degree Celsius.
        fits: whether a temperature, in the same unit, is as it should be.
    """
    as_fahrenheit = Fraction(milli_celsius - 32_000) * 5 / 9
    as_kelvin = Fraction(milli_celsius) - 273_150
    degrees = decimal(f"{milli_celsius / 1000:g}")
    for moved, scale in ((as_fahrenheit, "°F"), (as_kelvin, "K")):
        if fits(moved):
            there = _celsius(moved)
            question = said("slip_scale", degrees=degrees, scale=scale, celsius=there)
            return Slip("unit-slip", question)
    for power in (-1, 1):
        moved = Fraction(milli_celsius) * Fraction(10) ** power
        if fits(moved):
            return _slipped(_celsius(moved))
    return None


def _celsius(milli: Fraction) -> Said:
    return said("number_in", number=decimal(f"{float(milli) / 1000:.3g}"), unit="°C")
