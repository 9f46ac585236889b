"""Numbers of a report as text: every one with its unit and, where it was measured, its interval."""

from collections.abc import Mapping
from decimal import ROUND_CEILING, ROUND_HALF_EVEN, Decimal
from typing import Any

_SHOWN = Decimal("0.0001")  # 0.1 µm: below any shop's uncertainty


def length(text: str | None) -> str:
    """A length in mm to 0.1 µm: `84.915 mm`; a dash for none."""
    return "-" if text is None else f"{_trimmed(Decimal(text), ROUND_HALF_EVEN)} mm"


def with_interval(value: str, interval: list[str]) -> str:
    """A length with half its 95 % interval, rounded up: `84.915 ± 0.0016 mm`."""
    half = (Decimal(interval[1]) - Decimal(interval[0])) / 2
    shown = _trimmed(Decimal(value), ROUND_HALF_EVEN)
    return f"{shown} ± {_trimmed(half, ROUND_CEILING)} mm"


def size_text(size: Mapping[str, Any]) -> str:
    """A size line's length with its interval."""
    return with_interval(size["size_mm"], size["interval95_mm"])


def microns(text_mm: str, from_mm: str) -> Decimal:
    """Difference of two lengths in µm."""
    return (Decimal(text_mm) - Decimal(from_mm)) * 1000


def _trimmed(value: Decimal, rounding: str) -> str:
    whole, decimals = str(value.quantize(_SHOWN, rounding=rounding)).split(".")
    return f"{whole}.{decimals.rstrip('0').ljust(3, '0')}"
