"""Mean and standard deviation of repeated readings (type A evaluation, GUM 4.2).

Sums are whole numbers or fractions, so nothing is lost to rounding before the last square root,
however large the readings are against their spread.
"""

import math
from collections.abc import Sequence
from fractions import Fraction

READINGS_MIN = 2
_SCALE = 1 << 128  # binary digits kept after the point of a square root


def mean(values: Sequence[int | Fraction]) -> Fraction:
    """Arithmetic mean, exact.

    Raises:
        ValueError: there are no values.
    """
    if not values:
        msg = "a mean needs a value"
        raise ValueError(msg)
    return Fraction(sum(values, Fraction(0)), len(values))


def variance(values: Sequence[int | Fraction]) -> Fraction:
    """Experimental variance, divisor n - 1 (GUM 4.2.2), exact.

    Raises:
        ValueError: there are fewer than two values.
    """
    if len(values) < READINGS_MIN:
        msg = "a deviation needs two values"
        raise ValueError(msg)
    centre = mean(values)
    return sum(((v - centre) ** 2 for v in values), Fraction(0)) / (len(values) - 1)


def deviation(values: Sequence[int | Fraction]) -> float:
    """Experimental standard deviation, the root of the variance, rounded once.

    Raises:
        ValueError: there are fewer than two values.
    """
    return root(variance(values))


def root(square: Fraction) -> float:
    """Square root of a fraction from 0 up, without overflow, rounded once to a float."""
    whole = math.isqrt(square.numerator * _SCALE * _SCALE // square.denominator)
    return whole / _SCALE
