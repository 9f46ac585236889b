"""Makes text of what is said: words from the catalogue, lengths in a unit, numbers with a mark.

The one place where what the rules say becomes text, called where somebody reads it: on the board,
in a report, on the command line. It never fails: what a newer version says is shown by its key.
"""

from dataclasses import dataclass
from decimal import Decimal
from functools import cache
from string import Formatter

from barrelfit.rules.length import NM_PER_UNIT, Rounding, number
from barrelfit.rules.said import (
    CELSIUS,
    DECIMAL,
    DOUBTED,
    LENGTH,
    MASS,
    PERCENT,
    QUANTITIES,
    SMALL,
    WRITTEN,
    Said,
    Value,
)
from barrelfit.rules.words import ENGLISH, LISTS

SIGN = {"mm": "mm", "inch": "in"}
_SIGNED = {MASS: ("mg", 1000, "g"), CELSIUS: ("milli", 1000, "°C"), PERCENT: ("whole", 1, "%")}


@dataclass(frozen=True, slots=True)
class Manner:
    """How it is told: lengths in `unit` ("mm" or "inch"), decimals after a point or a `comma`."""

    unit: str = "mm"
    comma: bool = False

    @property
    def sign(self) -> str:
        """The unit as written after a number."""
        return SIGN[self.unit]

    def marked(self, text: str) -> str:
        """A number's text with this decimal mark."""
        return text.replace(".", ",") if self.comma else text

    def bare(self, nm: int, digits: int | None = None, rounding: Rounding = "even") -> str:
        """A length without its unit; see `rules.length.number`."""
        return self.marked(number(nm, self.unit, digits, rounding))


PLAIN = Manner()
"""Millimetres and a decimal point, as in records and on the command line."""


def told(what: Said, manner: Manner = PLAIN) -> str:
    """What is said, as text."""
    if not what.key:
        return ""
    try:
        if what.key in QUANTITIES:
            return _quantity(what, manner)
    except (KeyError, TypeError, ValueError):
        return _by_its_key(what, manner)
    text = ENGLISH.get(what.key)
    return _by_its_key(what, manner) if text is None else _filled(text, what, manner)


def told_all(some: "tuple[Said, ...] | list[Said]", manner: Manner = PLAIN) -> tuple[str, ...]:
    """Each of several, as text."""
    return tuple(told(one, manner) for one in some)


def _filled(text: str, what: Said, manner: Manner) -> str:
    parts = []
    for literal, name, spec in _pieces(text):
        parts.append(literal)
        if name is not None:
            value = what.values.get(name)
            parts.append(f"({name})" if value is None else _value(value, spec, manner))
    return "".join(parts)


@cache
def _pieces(text: str) -> tuple[tuple[str, str | None, str], ...]:
    """A catalogue's text, cut at its placeholders: what stands before, its name, how lists join."""
    return tuple((literal, name, spec or "") for literal, name, spec, _ in Formatter().parse(text))


def _value(value: Value, spec: str, manner: Manner) -> str:
    if isinstance(value, Said):
        return told(value, manner)
    if isinstance(value, tuple | list):
        return LISTS[spec or "comma"].join(_value(one, "", manner) for one in value)
    return str(value)


def _by_its_key(what: Said, manner: Manner) -> str:
    """A key that this version does not know, with its values: better than nothing."""
    values = (f"{name} {_value(value, '', manner)}" for name, value in what.values.items())
    return " ".join((what.key, *values))


def _quantity(what: Said, manner: Manner) -> str:
    if what.key in {WRITTEN, DECIMAL}:
        (text,) = what.values.values()
        return manner.marked(str(text)) if what.key == DECIMAL else str(text)
    numbers = {name: int(str(value)) for name, value in what.values.items()}
    if what.key == LENGTH:
        return f"{manner.bare(numbers['nm'])} {manner.sign}"
    if what.key == DOUBTED:
        half = manner.bare(numbers["half_nm"], rounding="up")
        size, half = _as_far(manner.bare(numbers["nm"]), half)
        return f"{size} ± {half} {manner.sign}"
    if what.key == SMALL:
        return _small(numbers["nm"], manner)
    name, thousand, sign = _SIGNED[what.key]
    return manner.marked(f"{_trimmed(Decimal(numbers[name]) / thousand)} {sign}")


def _as_far(*numbers: str) -> tuple[str, ...]:
    """Numbers with as many decimals as the longest has: zeros, which their lengths left out.

    A value and its uncertainty are given to the same place (JCGM 100:2008, 7.2.6).
    """
    decimals = [len(text) - 1 - max(text.rfind("."), text.rfind(",")) for text in numbers]
    return tuple(
        text + "0" * (max(decimals) - its) for text, its in zip(numbers, decimals, strict=True)
    )


def _small(nm: int, manner: Manner) -> str:
    if manner.unit == "mm":
        return manner.marked(f"{_trimmed(Decimal(nm) / 1000)} µm")
    tenths = Decimal(nm) / NM_PER_UNIT["inch"] * 10_000
    return manner.marked(f"{tenths.quantize(Decimal('0.01'))} ten-thou")


def _trimmed(exact: Decimal) -> str:
    """A decimal without zeros at its end."""
    text = f"{exact:f}"
    return text.rstrip("0").rstrip(".") if "." in text else text
