"""What is said, as parts: a key of the words' catalogue with its exact values.

A finding, a refusal, an ask, a note is made of these and never of a sentence. Words, unit and
decimal mark are put in where somebody reads it (`rules.manner`), so nothing reads a text back into
numbers, and another language is another catalogue (`rules.words`).

Lengths are whole nm, masses whole mg; a quantity is a `Said` as well, of a key that stands in
`QUANTITIES`. A plain text is an id, a mark or what a person typed: it is shown as it is.
"""

from dataclasses import dataclass, field
from decimal import Decimal


@dataclass(frozen=True, slots=True)
class Said:
    """A `key` of the catalogue and what stands for the placeholders of its text."""

    key: str
    values: "dict[str, int | str | Said | tuple[int | str | Said, ...]]" = field(
        default_factory=dict
    )

    def __hash__(self) -> int:
        """Equal ones have equal hashes; nobody changes `values`."""
        return hash((self.key, tuple(self.values.items())))

    def __bool__(self) -> bool:
        """Whether anything is said."""
        return bool(self.key)

    def mentions(self, name: str, value: int | str) -> bool:
        """Whether a value of that name, or one in what it is made of, is `value`."""
        inner = (v for v in self.values.values() if isinstance(v, Said))
        return self.values.get(name) == value or any(v.mentions(name, value) for v in inner)

    def __format__(self, _spec: str) -> str:
        """Refuse to be pressed into an f-string: that would be a sentence without a catalogue."""
        message = f"'{self.key}' is no text: rules.manner makes one of it"
        raise TypeError(message)


Value = int | str | Said | tuple[int | str | Said, ...]

NOTHING = Said("")
"""Where nothing is said."""

LENGTH, DOUBTED, SMALL, MASS, CELSIUS = "length", "length-doubted", "small", "mass", "celsius"
PERCENT, DECIMAL = "percent", "decimal"
WRITTEN = "written"
QUANTITIES = frozenset({LENGTH, DOUBTED, SMALL, MASS, CELSIUS, PERCENT, DECIMAL, WRITTEN})
"""Keys that no catalogue has, because numbers and old texts are the same in every language."""


def said(key: str, /, **values: Value) -> Said:
    """Say something: a key of the catalogue, and a value for each of its placeholders."""
    return Said(key, values)


def length(nm: int) -> Said:
    """A length in nm."""
    return Said(LENGTH, {"nm": nm})


def length_doubted(nm: int, half_nm: int) -> Said:
    """A length in nm with half of its 95 % interval, which is rounded up where it is shown."""
    return Said(DOUBTED, {"nm": nm, "half_nm": half_nm})


def small(nm: int) -> Said:
    """A small difference in nm, shown in µm or its like."""
    return Said(SMALL, {"nm": nm})


def mass(mg: int) -> Said:
    """A mass in mg, shown in grams."""
    return Said(MASS, {"mg": mg})


def celsius(milli: int) -> Said:
    """A temperature in thousandths of a degree Celsius."""
    return Said(CELSIUS, {"milli": milli})


def percent(whole: int) -> Said:
    """A share in whole per cent."""
    return Said(PERCENT, {"whole": whole})


def decimal(exact: Decimal | str) -> Said:
    """A number without a unit, as exact as it is given."""
    return Said(DECIMAL, {"number": str(exact)})


def written(text: str) -> Said:
    """A text as somebody wrote it, or as an older version did: shown as it is, in every unit."""
    return Said(WRITTEN, {"text": text}) if text else NOTHING
