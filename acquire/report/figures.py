"""Numbers of a report as text: every one with its unit and, where it was measured, its interval.

A judged set's lines hold lengths as exact decimals in mm.
"""

from collections.abc import Mapping
from decimal import Decimal
from typing import Any, Final

from barrelfit.rules.length import NM_PER_UNIT
from barrelfit.rules.manner import PLAIN, Manner, told
from barrelfit.rules.said import length as length_said
from barrelfit.rules.said import length_doubted, small

SHORT_DIGITS: Final = 3
"""Decimals of an inch where a drawing has little room."""


def nm(text_mm: str) -> int:
    """A line's length in nm; one that is finer, as another program may write it, is rounded."""
    return int((Decimal(text_mm) * NM_PER_UNIT["mm"]).to_integral_value())


def length(text: str | None, manner: Manner = PLAIN) -> str:
    """A length to 0.1 µm: `84.915 mm`; a dash for none."""
    return "-" if text is None else told(length_said(nm(text)), manner)


def bare(text: str, manner: Manner) -> str:
    """A length without its unit."""
    return manner.bare(nm(text))


def short(text_mm: str, manner: Manner) -> str:
    """A length with as few decimals as it takes: `12 mm`."""
    number = manner.bare(nm(text_mm), None if manner.unit == "mm" else SHORT_DIGITS)
    return f"{number.rstrip('0').rstrip('.,')} {manner.sign}"


def with_interval(value: str, interval: list[str], manner: Manner = PLAIN) -> str:
    """A length with half its 95 % interval, rounded up: `84.915 ± 0.0016 mm`."""
    half_nm = -(-(nm(interval[1]) - nm(interval[0])) // 2)
    return told(length_doubted(nm(value), half_nm), manner)


def size_text(size: Mapping[str, Any], manner: Manner = PLAIN) -> str:
    """A size line's length with its interval."""
    return with_interval(size["size_mm"], size["interval95_mm"], manner)


def microns(text_mm: str, from_mm: str) -> Decimal:
    """Difference of two lengths in µm."""
    return (Decimal(text_mm) - Decimal(from_mm)) * 1000


def small_text(um: Decimal, manner: Manner) -> str:
    """A small difference with its unit: `80 µm`."""
    return told(small(int(um * 1000)), manner)
