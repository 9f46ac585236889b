"""Exact lengths at this room's edge: a decimal with its unit becomes whole nanometres."""

from decimal import Decimal

NM_PER_UNIT = {"mm": 1_000_000, "inch": 25_400_000}  # the inch is exactly 25.4 mm (ISO 31-1)
UNITS = tuple(NM_PER_UNIT)


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


def shown(size_nm: int) -> str:
    """Write a length in mm for a sentence: `84.917 mm`.

    Three to four decimals (rounded half to even); a length under 100 nm keeps all six, so that
    a difference that decides something is never shown as zero.
    """
    places = Decimal("0.0001") if abs(size_nm) >= 100 else Decimal("0.000001")  # noqa: PLR2004
    text = str((Decimal(size_nm) / 1_000_000).quantize(places))
    if "." in text:
        whole, decimals = text.split(".")
        text = f"{whole}.{decimals.rstrip('0').ljust(3, '0')}"
    return f"{text} mm"
