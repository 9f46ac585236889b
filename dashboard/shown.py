"""Whole nanometres to the text on the screen: mm or inch, point or comma.

Only the text changes with the setting; stored values and messages never do. A millimetre text is
exact when it has six decimals (1 nm); with fewer it is rounded half to even (IEEE 754
roundTiesToEven), and so is every inch text, because a nanometre is no finite decimal of an inch.
"""

from dataclasses import dataclass
from decimal import ROUND_HALF_EVEN, Decimal
from typing import Final

from barrelfit.acquire.journal.codes import code_said
from barrelfit.dashboard.words import say
from barrelfit.rules.length import NM_PER_UNIT, UNITS
from barrelfit.rules.manner import Manner, told

MOST_DIGITS: Final = {"mm": 6, "inch": 8}
SIZE_DIGITS: Final = {"mm": 4, "inch": 5}
MINUTES_FROM_S: Final = 120
MINUS: Final = "\N{MINUS SIGN}"


@dataclass(frozen=True, slots=True)
class Shown(Manner):
    """How lengths are written: `unit` is "mm" or "inch", `comma` the decimal mark's choice.

    A figure of the board stands alone, with a size's decimals and a true minus sign.
    """

    def number(self, nm: int, digits: int | None = None) -> str:
        """Write a length in this unit with so many decimals (a size's), rounded half to even."""
        digits = SIZE_DIGITS[self.unit] if digits is None else digits
        return self.bare(nm, digits).replace("-", MINUS)

    def length(self, nm: int, digits: int | None = None) -> str:
        """Write a length with its unit, as in `84.0123 mm`."""
        return f"{self.number(nm, digits)} {self.sign}"

    def apart(self, nm: int, other_nm: int) -> tuple[str, str]:
        """Write two lengths with as many decimals as it takes to see that they differ."""
        digits = SIZE_DIGITS[self.unit]
        while nm != other_nm and digits < MOST_DIGITS[self.unit]:
            if self.number(nm, digits) != self.number(other_nm, digits):
                break
            digits += 1
        return self.length(nm, digits), self.length(other_nm, digits)

    def small(self, nm: float, more: int = 0) -> str:
        """Write a small difference: in μm with one decimal, or in ten-thousandths of an inch.

        `more` decimals go beyond the usual ones.
        """
        if self.unit == "mm":
            return f"{self._rounded(Decimal(nm) / 1000, 1 + more)} μm"
        return f"{self._rounded(Decimal(nm) / NM_PER_UNIT['inch'] * 10_000, 2 + more)} ten-thou"

    def _rounded(self, value: Decimal, digits: int) -> str:
        rounded = value.quantize(Decimal(1).scaleb(-digits), ROUND_HALF_EVEN)
        marked = self.marked(f"{abs(rounded):f}")
        return MINUS + marked if rounded < 0 else marked


def decimals_of(value: str) -> int:
    """Decimals of a number as a gauge sent it, so that the figure keeps its width.

    >>> decimals_of("+084.012"), decimals_of("3.30750"), decimals_of("12")
    (3, 5, 0)
    """
    _, _, after = value.replace(",", ".").partition(".")
    return sum(c.isdigit() for c in after)


def shown_from(unit: str, mark: str) -> Shown:
    """Settings as words (`mm`/`inch`, `point`/`comma`) to a `Shown`; other words mean mm, point."""
    return Shown(unit if unit in UNITS else "mm", mark == "comma")


def settings_query(shown: Shown) -> str:
    """The settings as query text, empty for the plain ones; `shown_from` reads it again."""
    parts = ["unit=inch"] if shown.unit == "inch" else []
    parts += ["decimal=comma"] if shown.comma else []
    return "&".join(parts)


def manner_kept(shown: Shown) -> str:
    """The settings as a browser keeps them; `shown_kept` reads it again.

    >>> manner_kept(shown_kept("inch-comma")), manner_kept(shown_kept("anything"))
    ('inch-comma', 'mm-point')
    """
    return f"{shown.unit}-{'comma' if shown.comma else 'point'}"


def shown_kept(kept: str) -> Shown:
    """What a browser has kept to a `Shown`; mm and point where it has kept nothing."""
    unit, _, mark = kept.partition("-")
    return shown_from(unit, mark)


def age_text(age_ms: int) -> str:
    """Write an age in whole seconds, then minutes: what stands on many cards must not flicker."""
    seconds = max(age_ms, 0) // 1000
    if seconds < MINUTES_FROM_S:
        return say("seconds", n=seconds or "<1")
    return say("minutes", n=seconds // 60)


def code_text(kind: str, field: str, code: str) -> str:
    """The words of a code that stands in a kind of record; itself where it has none."""
    words = code_said(kind, field, code)
    return words if isinstance(words, str) else told(words)
