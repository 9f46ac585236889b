"""Values typed by hand: read exactly, and held with a question when a slip is likely.

Nothing is ever corrected here. A held entry stays in the journal as it was typed; it counts only
when the person types it again, or gives a reason for it. What cannot be read at all is held too,
and no repetition makes it readable. A gauge's own size is held to the same expectation: a gauge
that sends no unit, or was switched to inches within a run, is as wrong as a finger.
"""

import re
from dataclasses import dataclass
from decimal import Decimal

from barrelfit.rules.engine.expectation import Expected
from barrelfit.rules.engine.slips import NM_PER_TYPED, length_slip
from barrelfit.rules.length import NM_PER_UNIT, to_nm
from barrelfit.rules.length import number as length_number
from barrelfit.rules.said import Said, decimal, length, said

POINT, COMMA = ".", ","
CHARACTERS_MAX = 20
_NUMBER = {
    POINT: re.compile(r"[+-]?([0-9]+(\.[0-9]+)?|\.[0-9]+)", re.ASCII),
    COMMA: re.compile(r"[+-]?([0-9]+(,[0-9]+)?|,[0-9]+)", re.ASCII),
}


@dataclass(frozen=True, slots=True)
class Typed:
    """An entry as typed, with the unit it is in and whether it repeats or explains a held one."""

    text: str
    unit: str
    confirms: bool = False


@dataclass(frozen=True, slots=True)
class Accepted:
    """The entry counts: its length in nm."""

    length_nm: int


@dataclass(frozen=True, slots=True)
class Held:
    """The entry does not count yet: why, and the question to the person who typed it.

    Attributes:
        reason: `unreadable`, `decimal-mark`, `unit`, `too-fine`, `decimal-slip`, `unit-slip`,
            `digits-swapped`, or `unlike` (nothing like the feature, and no slip explains it).
        question: what is asked of whoever typed it.
        confirmable: whether typing it again, or a reason, makes it count.
    """

    reason: str
    question: Said
    confirmable: bool


def check_entry(typed: Typed, expected: Expected, decimal_mark: str = POINT) -> Accepted | Held:
    """Read an entry and hold it when it looks like a slip.

    A value out of what is expected is held when it would be as expected with the decimal mark one
    or two places further, in another unit, or, where it is no ordinary measurement, with two digits
    swapped (see `rules.engine.slips`). A value that is out and fits nowhere else counts: it is a
    measurement, and the rules judge it.

    Args:
        typed: the entry.
        expected: where its value should lie.
        decimal_mark: the shop's, "." or ","; the other one is asked about, never read as a
            thousands mark.
    """
    found = read_length(typed.text, typed.unit, decimal_mark)
    if isinstance(found, Held) or typed.confirms or expected.holds(found):
        return found if isinstance(found, Held) else Accepted(found)
    return _doubt(found, typed, expected, by_hand=True) or Accepted(found)


def check_gauge_size(size_nm: int, expected: Expected) -> Held | None:
    """Hold a size from a gauge that would be as expected in another unit or decimal place.

    Args:
        size_nm: the size as read, in nm.
        expected: where it should lie; with `near_nm`, since no gauge is told what it measures.

    Returns:
        The question, or None for a size that may be judged, good or bad.
    """
    if expected.holds(size_nm):
        return None
    in_inch = (Decimal(size_nm) / NM_PER_UNIT["inch"]).quantize(Decimal("0.0001"))
    in_mm = length_number(size_nm, "mm")
    for as_shown in (Typed(in_mm, "mm"), Typed(str(in_inch), "inch")):
        slip = _slip(size_nm, as_shown, expected, by_hand=False)
        if slip is not None:
            return slip
    return _doubt(size_nm, Typed(in_mm, "mm"), expected, by_hand=False)


def read_length(text: str, unit: str, decimal_mark: str = POINT) -> int | Held:
    """Whole nm of a typed decimal number, or why it cannot be read.

    Args:
        text: as typed; spaces around it do not matter.
        unit: `mm`, `inch`, `µm` or `um`.
        decimal_mark: "." or ",".
    """
    number = text.strip()
    if unit not in NM_PER_TYPED:
        question = said("which_unit", text=text, units=tuple(NM_PER_UNIT))
        return Held("unit", question, confirmable=False)
    other = COMMA if decimal_mark == POINT else POINT
    if len(number) > CHARACTERS_MAX or not _NUMBER[decimal_mark].fullmatch(number):
        if _NUMBER[other].fullmatch(number) and len(number) <= CHARACTERS_MAX:
            question = said("other_mark", number=number, other=other, mark=decimal_mark)
            return Held("decimal-mark", question, confirmable=False)
        question = said("no_number", text=number[:CHARACTERS_MAX])
        return Held("unreadable", question, confirmable=False)
    return _exact_nm(Decimal(number.replace(COMMA, POINT)), number, unit)


def last_digit_nm(text: str, unit: str) -> int:
    """The last digit of a number as typed, in whole nm: 10 µm for `84.93` in mm.

    Args:
        text: a number that `read_length` reads.
        unit: its unit.
    """
    decimals = re.split("[.,]", text.strip())[1:]
    digit = Decimal(NM_PER_TYPED[unit]).scaleb(-len("".join(decimals)))
    return max(1, int(digit.to_integral_value()))


def _exact_nm(value: Decimal, number: str, unit: str) -> int | Held:
    if unit in NM_PER_UNIT:
        try:
            return to_nm(value, unit)
        except ValueError:
            question = said("finer_than_nm", number=number, value=decimal(value), unit=unit)
            return Held("too-fine", question, confirmable=False)
    exact_nm = value * NM_PER_TYPED[unit]
    if exact_nm != exact_nm.to_integral_value():
        return Held("too-fine", said("too_fine", number=number), confirmable=False)
    return int(exact_nm)


def _doubt(length_nm: int, typed: Typed, expected: Expected, *, by_hand: bool) -> Held | None:
    slip = _slip(length_nm, typed, expected, by_hand=by_hand)
    if slip is not None or expected.resembles(length_nm):
        return slip
    given = _as_given(length_nm, typed, by_hand=by_hand)
    question = said("unlike", given=given, by=expected.by)
    return Held("unlike", question, confirmable=True)


def _slip(length_nm: int, typed: Typed, expected: Expected, *, by_hand: bool) -> Held | None:
    """The likeliest slip that would make the value as expected, as a question."""
    text = typed.text.strip()
    far = by_hand and not expected.is_ordinary(length_nm)
    slip = length_slip(text.replace(COMMA, POINT), typed.unit, expected.welcomes, far=far)
    if slip is None:
        return None
    given = _as_given(length_nm, typed, by_hand=by_hand)
    question = said("not_as_expected", given=given, by=expected.by, slip=slip.question)
    return Held(slip.reason, question, confirmable=True)


def _as_given(length_nm: int, typed: Typed, *, by_hand: bool) -> Said:
    """What was typed stands as it was typed; what a gauge found is a length like any other."""
    if by_hand:
        return said("as_typed", text=typed.text.strip(), unit=typed.unit)
    if typed.unit == "mm":
        return length(length_nm)
    return said("number_in", number=decimal(typed.text), unit=typed.unit)
