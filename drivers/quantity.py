"""Exact lengths and masses: decimal text and unit become whole nanometres, or whole femtograms.

Nothing is rounded. A text that is no whole number of nm (0.0000001 mm, 0.000001 in) is refused,
because a silently rounded reading could be on the other side of a limit.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Final

from barrelfit.drivers.coded import Coded, said

# The international inch is 25.4 mm exactly (ISO 80000-3:2019, and NIST SP 811 appendix B).
UNIT_NM: Final = {"mm": 1_000_000, "in": 25_400_000, "um": 1_000}

# The avoirdupois pound is 0.45359237 kg exactly (NIST SP 811 appendix B), the ounce a sixteenth of
# it: to six decimals a whole number of femtograms, so that no scale's display is rounded.
UNIT_FG: Final = {"g": 10**15, "kg": 10**18, "oz": 28_349_523_125_000_000}

# No hand gauge shows more; a longer "length" is a misread frame.
LENGTH_MAX_NM: Final = 10_000_000_000

# Ten times the heaviest piston, and what 64 bits hold; a larger "mass" is a misread frame.
MASS_MAX_FG: Final = 9 * 10**18

NOT_EXACT: Final = "not exact"
IMPLAUSIBLE: Final = "implausible"


class QuantityError(ValueError):
    """A number with its unit is no length or mass of ours; `fault` is the short word for it."""

    def __init__(self, fault: str, hint: Coded) -> None:
        super().__init__(hint)
        self.fault = fault
        self.hint = hint


def normal_text(minus: bool, digits: str, decimals: int) -> str:  # noqa: FBT001  a sign is a bool
    """Write digits with their decimals as text: no leading zeros, no sign on zero, digits kept.

    Args:
        minus: whether the number is negative.
        digits: decimal digits only, at least one, the last `decimals` of them behind the point.
        decimals: how many digits stand behind the point, 0 or more.

    Returns:
        The text, such as `-0.013` for (True, "000013", 3).
    """
    padded = digits.rjust(decimals + 1, "0")
    point = len(padded) - decimals
    whole = padded[:point].lstrip("0") or "0"
    text = f"{whole}.{padded[point:]}" if decimals else whole
    return f"-{text}" if minus and digits.strip("0") else text


def length_nm(minus: bool, digits: str, decimals: int, unit: str) -> int:  # noqa: FBT001  as above
    """Length in whole nm of a number given by its digits.

    Args:
        minus: whether the number is negative.
        digits: decimal digits only, the last `decimals` of them behind the point.
        decimals: how many digits stand behind the point, 0 or more.
        unit: one of `UNIT_NM`.

    Returns:
        The length in nm.

    Raises:
        QuantityError: the length is no whole number of nm, or no hand gauge is that long.
    """
    return _exact(minus, (digits, decimals), unit, _LENGTH)


def mass_fg(minus: bool, digits: str, decimals: int, unit: str) -> int:  # noqa: FBT001  as above
    """Mass in whole fg of a number given by its digits.

    Args:
        minus: whether the number is negative.
        digits: decimal digits only, the last `decimals` of them behind the point.
        decimals: how many digits stand behind the point, 0 or more.
        unit: one of `UNIT_FG`.

    Returns:
        The mass in femtograms.

    Raises:
        QuantityError: the mass is no whole number of fg, or no scale for parts shows it.
    """
    return _exact(minus, (digits, decimals), unit, _MASS)


def digit_fg(value: str, unit: str) -> int:
    """What the last digit of a mass is worth, in fg; `value` and `unit` are as it was shown."""
    parts: int = 10 ** len(value.partition(".")[2])
    return UNIT_FG[unit] // parts


@dataclass(frozen=True, slots=True)
class _Sort:
    """A sort of quantity: what its units are worth, the most there is, and what is said of others.

    `says` gives two sentences: of a number that is no whole one, and of one that is too large.
    """

    worth: Mapping[str, int]
    most: int
    says: Callable[[str, str], tuple[Coded, Coded]]


_LENGTH: Final = _Sort(
    UNIT_NM,
    LENGTH_MAX_NM,
    lambda number, unit: (
        said("not_whole_nm_of", number=number, unit=unit),
        said("longer_than_gauges", number=number, unit=unit),
    ),
)
_MASS: Final = _Sort(
    UNIT_FG,
    MASS_MAX_FG,
    lambda number, unit: (
        said("not_whole_fg_of", number=number, unit=unit),
        said("heavier_than_parts", number=number, unit=unit),
    ),
)


def _exact(minus: bool, number: tuple[str, int], unit: str, sort: _Sort) -> int:  # noqa: FBT001  as above
    digits, decimals = number
    parts: int = 10**decimals
    scaled, rest = divmod(int(digits) * sort.worth[unit], parts)
    if rest or scaled > sort.most:
        inexact, too_large = sort.says(normal_text(minus, digits, decimals), unit)
        raise QuantityError(NOT_EXACT, inexact) if rest else QuantityError(IMPLAUSIBLE, too_large)
    return -scaled if minus else scaled
