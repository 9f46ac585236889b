"""A limit given as a length or as a ratio of a size."""

from dataclasses import dataclass
from decimal import ROUND_FLOOR, Decimal

from barrelfit.rules.said import NOTHING, Said, decimal, said


@dataclass(frozen=True, slots=True)
class Allowance:
    """A limit given as a length, or as a ratio of a size (0.001 inch per inch is 0.001)."""

    length_nm: int | None
    ratio: Decimal | None = None

    def of(self, size_nm: int) -> int:
        """Length allowed at a size, in nm; a ratio's is cut to whole nm (the stricter side)."""
        if self.length_nm is not None:
            return self.length_nm
        ratio = self.ratio or Decimal(0)
        return int((ratio * size_nm).to_integral_value(rounding=ROUND_FLOOR))

    @property
    def rule(self) -> Said:
        """The rule behind a ratio, nothing for a plain length."""
        return NOTHING if self.ratio is None else said("for_each_unit", ratio=decimal(self.ratio))
