"""Exact lengths at this room's edge: a decimal with its unit becomes whole nanometres."""

from decimal import ROUND_HALF_EVEN, Decimal, localcontext

NM_PER_UNIT = {"mm": 1_000_000, "inch": 25_400_000}  # the inch is exactly 25.4 mm (ISO 31-1)
UNITS = tuple(NM_PER_UNIT)

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


def number(nm: int, unit: str, digits: int | None = None, rounding: str = "") -> str:
    """Write a length as a number in a unit: the one place where lengths become text.

    Args:
        nm: the length in nm.
        unit: `mm` or `inch`.
        digits: so many decimals; None: as many as a sentence needs, three to four of a millimetre
            and five of an inch; less than the last of these keeps all that tell it, so that a
            difference that decides something is never shown as zero.
        rounding: one of `decimal`'s, to the usual decimals; half to even (IEEE 754
            roundTiesToEven) where nothing is said.
    """
    usual, least, fine = _DECIMALS[unit]
    exact = Decimal(nm) / NM_PER_UNIT[unit]
    tiny = not rounding and abs(exact) < Decimal(1).scaleb(-usual)
    step = Decimal(1).scaleb(-(digits if digits is not None else fine if tiny else usual))
    with localcontext() as context:
        context.prec = 50
        rounded = exact.quantize(step, rounding or ROUND_HALF_EVEN)
    text = f"{rounded or abs(rounded):f}"  # no minus before a zero
    if digits is not None:
        return text
    whole, _, decimals = text.partition(".")
    return f"{whole}.{decimals.rstrip('0').ljust(least, '0')}"


def shown(size_nm: int) -> str:
    """Write a length in mm: `84.917 mm`."""
    return f"{number(size_nm, 'mm')} mm"
