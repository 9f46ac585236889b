"""Exact lengths and masses: decimal text and unit become whole nanometres, or whole femtograms.

Nothing is rounded. A text that is no whole number of nm (0.0000001 mm, 0.000001 in) is refused,
because a silently rounded reading could be on the other side of a limit.
"""

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
    scaled = _whole(digits, decimals, UNIT_NM[unit])
    text = normal_text(minus, digits, decimals)
    if scaled is None:
        raise QuantityError(NOT_EXACT, said("not_whole_nm_of", number=text, unit=unit))
    if scaled > LENGTH_MAX_NM:
        raise QuantityError(IMPLAUSIBLE, said("longer_than_gauges", number=text, unit=unit))
    return -scaled if minus else scaled


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
    scaled = _whole(digits, decimals, UNIT_FG[unit])
    text = normal_text(minus, digits, decimals)
    if scaled is None:
        raise QuantityError(NOT_EXACT, said("not_whole_fg_of", number=text, unit=unit))
    if scaled > MASS_MAX_FG:
        raise QuantityError(IMPLAUSIBLE, said("heavier_than_parts", number=text, unit=unit))
    return -scaled if minus else scaled


def digit_fg(value: str, unit: str) -> int:
    """What the last digit of a mass is worth, in fg; `value` and `unit` are as it was shown."""
    parts: int = 10 ** len(value.partition(".")[2])
    return UNIT_FG[unit] // parts


def _whole(digits: str, decimals: int, per_unit: int) -> int | None:
    scaled, rest = divmod(int(digits) * per_unit, 10**decimals)
    return None if rest else scaled
