"""Exact lengths: the decimal text a gauge sent and its unit become whole nanometres.

Nothing is rounded. A text that is no whole number of nm (0.0000001 mm, 0.000001 in) is refused,
because a silently rounded reading could be on the other side of a limit.
"""

from typing import Final

from barrelfit.drivers.coded import Coded, said

# The international inch is 25.4 mm exactly (ISO 80000-3:2019, and NIST SP 811 appendix B).
UNIT_NM: Final = {"mm": 1_000_000, "in": 25_400_000, "um": 1_000}

# No hand gauge shows more; a longer "length" is a misread frame.
LENGTH_MAX_NM: Final = 10_000_000_000

NOT_EXACT: Final = "not exact"
IMPLAUSIBLE: Final = "implausible"


class QuantityError(ValueError):
    """A number with its unit is no length of ours; `fault` is the short word for it."""

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
    parts: int = 10**decimals
    scaled, rest = divmod(int(digits) * UNIT_NM[unit], parts)
    if rest:
        text = normal_text(minus, digits, decimals)
        raise QuantityError(NOT_EXACT, said("not_whole_nm_of", number=text, unit=unit))
    if scaled > LENGTH_MAX_NM:
        text = normal_text(minus, digits, decimals)
        raise QuantityError(IMPLAUSIBLE, said("longer_than_gauges", number=text, unit=unit))
    return -scaled if minus else scaled
