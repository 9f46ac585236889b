"""Lengths inside the rules' sentences, written as the board shows lengths. Pure.

The rules write every length in a sentence by one function, `rules.length.shown`: `84.917 mm`, at
least three decimals, a point; a value with its doubt as `84.917 ± 0.002 mm`. That form is read
here, and nothing else: a number that is no such quantity, and whatever somebody typed (it stands
in quotes), stays as it is. Only what is shown changes; the sentence itself is kept as it came.
"""

import re
from collections.abc import Callable
from decimal import Decimal
from typing import Final

from barrelfit.dashboard.shown import Shown
from barrelfit.rules.length import shown as written
from barrelfit.rules.length import to_nm

_NUMBER: Final = r"-?\d+\.\d{3,6}"
_QUANTITY: Final = re.compile(
    rf"(?P<typed>(?<!\w)'[^']*'(?!\w))"
    rf"|(?<![\w.,-])(?P<length>{_NUMBER})(?: ± (?P<doubt>{_NUMBER}))? mm\b"
    r"|(?<![\w.,-])(?P<small>\d+(?:\.\d+)?) µm\b"
    r"|(?<![\w.,-])(?P<other>\d+\.\d+) (?P<sign>°C|g)\b"
)
_FINE: Final = 5  # more decimals than this mean less than 0.1 µm
FINE_DIGITS: Final = {"mm": 6, "inch": 8}


def in_words(sentence: str, shown: Shown, *exact_nm: int | None) -> str:
    """A sentence with its lengths in the board's unit and decimal mark.

    Args:
        sentence: as the rules wrote it, in mm with a point.
        shown: how lengths are written.
        exact_nm: lengths the event holds beside its sentence; where the sentence names one of
            them, it is written from the exact number, so that it never differs from the same
            length shown elsewhere.
    """
    if shown == Shown():
        return sentence
    exact = {written(nm): nm for nm in exact_nm if nm is not None}
    return _QUANTITY.sub(_writer(shown, exact), sentence)


def _writer(shown: Shown, exact: dict[str, int]) -> Callable[[re.Match[str]], str]:
    def length(text: str) -> str:
        nm = exact.get(f"{text} mm", to_nm(Decimal(text), "mm"))
        if shown.unit == "mm":
            return shown.number(nm, len(text.partition(".")[2]))
        fine = len(text.partition(".")[2]) > _FINE
        return shown.number(nm, FINE_DIGITS[shown.unit]) if fine else shown.number(nm)

    def write(found: re.Match[str]) -> str:
        if found["length"]:
            doubt = f" ± {length(found['doubt'])}" if found["doubt"] else ""
            return f"{length(found['length'])}{doubt} {shown.sign}"
        if found["small"] and shown.unit == "inch":
            return shown.small(float(found["small"]) * 1000)
        return shown.marked(found[0]) if not found["typed"] else found[0]

    return write
