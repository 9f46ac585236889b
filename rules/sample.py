"""Mean and standard deviation of repeated readings (type A evaluation, GUM 4.2).

Sums are whole numbers or fractions, so nothing is lost to rounding before the last square root,
however large the readings are against their spread.
"""

import math
from collections.abc import Sequence
from fractions import Fraction

from rules.size_budget import Setting

READINGS_MIN = 2


def mean(values: Sequence[int | Fraction]) -> Fraction:
    """Arithmetic mean, exact.

    Raises:
        ValueError: there are no values.
    """
    if not values:
        msg = "a mean needs a value"
        raise ValueError(msg)
    return Fraction(sum(values, Fraction(0)), len(values))


def deviation(values: Sequence[int | Fraction]) -> float:
    """Experimental standard deviation, divisor n - 1 (GUM 4.2.2), right to the last bit or so.

    Raises:
        ValueError: there are fewer than two values.
    """
    if len(values) < READINGS_MIN:
        msg = "a deviation needs two values"
        raise ValueError(msg)
    centre = mean(values)
    squares = sum(((v - centre) ** 2 for v in values), Fraction(0))
    return _root(squares / (len(values) - 1))


def setting_from(standard: str, u_nm: float, repeats_nm: Sequence[int]) -> Setting:
    """How well a gauge is set, from setting it several times and reading the standard each time.

    A bench sets its gauge once, so the deviation of one setting counts, not that of their mean.

    Args:
        standard: name of the ring or block.
        u_nm: its standard uncertainty, in nm.
        repeats_nm: the reading after each setting, in nm, two or more.
    """
    return Setting(standard, u_nm, deviation(repeats_nm), float(len(repeats_nm) - 1))


def _root(square: Fraction) -> float:
    """Square root of a fraction, without overflow and without rounding twice."""
    scale = 1 << 128  # 64 further binary digits after the root
    whole = math.isqrt(square.numerator * scale * scale // square.denominator)
    return whole / scale
