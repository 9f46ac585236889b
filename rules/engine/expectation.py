"""Where a length should lie before it is taken: what holds a slip of the hand or of the gauge.

Each feature of the catalogue says what to expect of it; `rules.judge.entry` holds what is unlike.
"""

from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from barrelfit.rules.said import Said, said

FAR_NM: Final = 2_000_000
"""The greatest oversize and all wear are less: what is further away is another part or gauge."""


@dataclass(frozen=True, slots=True)
class Expected:
    """Where the value should lie: by the limits that apply, or by a value computed before.

    Attributes:
        low_nm: least expected, in nm, or None.
        high_nm: greatest expected, in nm, or None.
        by: what expects it, for the question ("skirt less bore computed as 0.0130 mm").
        near_nm: what the value is about (a nominal size), in nm, None for a value that may be
            anything, such as a clearance. It closes the side on which there is no limit.
        most_nm: what it can't be more than (a used pin is no thicker than a new one), or None.
        least_nm: what it can't be less than: no feature is less than nothing, or None.
        beside: least and greatest by what was measured beside it, in nm, or None.
    """

    low_nm: int | None
    high_nm: int | None
    by: Said
    near_nm: int | None = None
    most_nm: int | None = None
    least_nm: int | None = None
    beside: tuple[int, int] | None = None

    def holds(self, value_nm: Fraction | int) -> bool:
        """Whether a value lies where it should, the edges included."""
        above = self.low_nm is None or self.low_nm <= value_nm
        below = self.high_nm is None or value_nm <= self.high_nm
        return above and below and self._is_beside(value_nm) and self.resembles(value_nm)

    def welcomes(self, value_nm: Fraction | int) -> bool:
        """Whether a value is where it should be and no further off on a side without a limit."""
        return self.holds(value_nm) and self.is_ordinary(value_nm)

    def is_ordinary(self, value_nm: Fraction | int) -> bool:
        """Whether a value is a measurement like others, good or bad.

        It is beyond its limits by no more than they are apart (a part worn twice as much as is
        allowed is an ordinary bad part), and not far from what was measured beside it.
        """
        ends = [end for end in (self.low_nm, self.high_nm, self.near_nm) if end is not None]
        if len(ends) < 2:  # noqa: PLR2004  one end spans nothing
            return self.holds(value_nm)
        low_nm, high_nm = min(ends), max(ends)
        span_nm = high_nm - low_nm
        near = low_nm - span_nm <= value_nm <= high_nm + span_nm
        return near and self._is_beside(value_nm)

    def _is_beside(self, value_nm: Fraction | int) -> bool:
        return self.beside is None or self.beside[0] <= value_nm <= self.beside[1]

    def resembles(self, value_nm: Fraction | int) -> bool:
        """Whether a value can be one of this feature at all.

        It lies within a fifth of its nominal, and no further away than any wear or oversize.
        """
        if self.most_nm is not None and value_nm > self.most_nm:
            return False
        if self.least_nm is not None and value_nm < self.least_nm:
            return False
        if self.near_nm is None:
            return True
        is_about = 4 * self.near_nm <= 5 * value_nm <= 6 * self.near_nm
        return is_about and self.away_nm(value_nm) <= FAR_NM

    def away_nm(self, value_nm: Fraction | int) -> Fraction | int:
        """How far a value lies outside of all that is expected, in nm; 0 inside."""
        edges = [nm for nm in (self.low_nm, self.high_nm, self.near_nm) if nm is not None]
        if not edges:
            return 0
        return max(min(edges) - value_nm, value_nm - max(edges), 0)


ANYTHING: Final = Expected(None, None, said("no_limit"))
