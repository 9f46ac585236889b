"""Exact lengths at this room's edge: a decimal with its unit becomes whole nanometres."""

from decimal import Decimal
from typing import Literal

NM_PER_UNIT = {"mm": 1_000_000, "inch": 25_400_000}  # the inch is exactly 25.4 mm (ISO 31-1)
UNITS = tuple(NM_PER_UNIT)
Rounding = Literal["even", "up", "down"]

_DECIMALS = {"mm": (4, 3, 6), "inch": (5, 5, 8)}
"""Decimals of a length: usually, at least, and of one that would be shown as zero."""


def to_nm(number: Decimal | int, unit: str) -> int:
    """Turn a decimal length into whole nm, exactly.

    Args:
        number: the length as written, in `unit`; finite.
        unit: `mm` or `inch`.

    Returns:
        The length in nm.

    Raises:
        ValueError: the number is no finite decimal or is finer than a nanometre.
    """
    exact = Decimal(number) * NM_PER_UNIT[unit]
    if not exact.is_finite():
        msg = f"{number} is not a finite number"
        raise ValueError(msg)
    if exact != exact.to_integral_value():
        msg = f"{number} {unit} is finer than a nanometre; write fewer decimals"
        raise ValueError(msg)
    return int(exact)


def number(nm: int, unit: str, digits: int | None = None, rounding: Rounding = "even") -> str:
    """Write a length as a number in a unit: the one place where lengths become text.

    Args:
        nm: the length in nm.
        unit: `mm` or `inch`.
        digits: so many decimals; None: as many as a sentence needs, three to four of a millimetre
            and five of an inch; less than the last of these keeps all that tell it, so that a
            difference that decides something is never shown as zero.
        rounding: to the nearest, half to even (IEEE 754 roundTiesToEven), or to the usual decimals
            `up` or `down`.
    """
    usual, least, fine = _DECIMALS[unit]
    if digits is not None:
        return _written(nm, unit, digits, rounding)
    tiny = rounding == "even" and abs(nm) * 10**usual < NM_PER_UNIT[unit]
    whole, _, decimals = _written(nm, unit, fine if tiny else usual, rounding).partition(".")
    return f"{whole}.{decimals.rstrip('0').ljust(least, '0')}"


def _written(nm: int, unit: str, digits: int, rounding: Rounding) -> str:
    per = NM_PER_UNIT[unit]
    steps, rest = divmod(nm * 10**digits, per)
    if rounding == "even":
        steps += 2 * rest > per or (2 * rest == per and steps % 2 == 1)
    elif rounding == "up":
        steps += rest > 0
    sign, text = "-" if steps < 0 else "", f"{abs(steps):0{digits + 1}d}"
    return f"{sign}{text[:-digits]}.{text[-digits:]}" if digits else f"{sign}{text}"


def exact_mm(nm: int) -> str:
    """A length as an exact decimal in mm, three to six decimals: `84.915`, `0.0123`."""
    whole, decimals = number(nm, "mm", 6).split(".")
    return f"{whole}.{decimals.rstrip('0').ljust(3, '0')}"


def shown(size_nm: int) -> str:
    """Write a length in mm: `84.917 mm`."""
    return f"{number(size_nm, 'mm')} mm"
