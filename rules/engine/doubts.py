"""Doubts about what a file says: unusual by the sheet or by physics, so that it is asked about.

A file with a doubt is not taken until the number is written right, or is named in the file's own
`confirmed`. Old records are read without: what was taken then stays as it was.

The ranges are this project's own, wide enough for any shop and engine of this kind, and narrow
enough that a number ten times too large or too small is seen.
"""

import unicodedata
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from barrelfit.rules.engine.form import Path, Problem, written
from barrelfit.rules.engine.slips import (
    NM_PER_TYPED,
    Slip,
    length_slip,
    number_slip,
    temperature_slip,
)
from barrelfit.rules.said import NOTHING, Said, decimal, length, said
from barrelfit.rules.uncertainty.temperature import LEAST_MILLI_CELSIUS, MOST_MILLI_CELSIUS

UM = 1_000
MM = 1_000 * UM


@dataclass(frozen=True, slots=True)
class Usual:
    """From where to where a number usually lies, edges included; None where a side is open."""

    low: Fraction | int | None
    high: Fraction | int | None
    what: Said

    def holds(self, value: Fraction | int) -> bool:
        """Whether a value is usual."""
        return (self.low is None or self.low <= value) and (self.high is None or value <= self.high)


MEASURED_TEMPERATURE = Usual(5_000, 45_000, said("usual_where_people_measure"))
# Narrow enough that what such a gauge has (0.5 to 3.9 µm, feelers 2 to 5, a standard 0.3 to 0.8) is
# asked about when it is written ten times too large or too small.
GAUGE_U = Usual(400, 5 * UM, said("usual_gauge_u"))
HAND_U = Usual(600, 15 * UM, said("usual_hand_u"))
STANDARD_U = Usual(90, 2_900, said("usual_standard_u"))
DIGIT = Usual(50, 30 * UM, said("usual_digit"))
ANVIL = Usual(500 * UM, 40_000 * UM, said("usual_anvil"))


def length_question(length_nm: int | Decimal, unit: str, usual: Usual) -> Said | None:
    """The question about a length that is not usual; None when it is.

    Args:
        length_nm: the length, in nm; an uncertainty may be less than one.
        unit: the unit in which it was written, one of `slips.NM_PER_TYPED`.
        usual: where it usually lies, in nm.
    """
    if usual.holds(Fraction(length_nm)):
        return None
    text = as_written(length_nm, unit)
    slip = length_slip(text, unit, usual.holds, far=True)
    return _question(_with_unit(text, unit), _length_span(usual), slip)


def temperature_question(milli_celsius: int) -> Said | None:
    """The question about a temperature at which nobody measures; None when it is usual."""
    if MEASURED_TEMPERATURE.holds(milli_celsius):
        return None
    slip = temperature_slip(milli_celsius, MEASURED_TEMPERATURE.holds)
    taken = _with_unit(f"{milli_celsius / 1000:g}", "°C")
    return _question(taken, said("people_measure_at"), slip)


def number_question(number: Decimal, unit: str, usual: Usual) -> Said | None:
    """The question about a plain number (grams, a ratio) that is not usual; None when it is."""
    if usual.holds(Fraction(number)):
        return None
    text = format(number.normalize(), "f")
    slip = number_slip(text, usual.holds, unit)
    ends = [f"{float(end):.3g}" for end in (usual.low, usual.high) if end is not None]
    last = _with_unit(ends[-1], unit)
    usually = said("usually", what=usual.what, value=last)
    if ends[1:]:
        usually = said("usually_from", what=usual.what, low=decimal(ends[0]), high=last)
    return _question(_with_unit(text, unit), usually, slip)


def length_doubt(path: Path, length_nm: int | Decimal, unit: str, usual: Usual) -> Problem | None:
    """Ask in a file about a length; arguments as for `length_question`, `path` is its key."""
    return asked(path, length_question(length_nm, unit, usual))


def temperature_doubt(path: Path, milli_celsius: int) -> Problem | None:
    """Ask in a file about a temperature."""
    return asked(path, temperature_question(milli_celsius))


def number_doubt(path: Path, number: Decimal, unit: str, usual: Usual) -> Problem | None:
    """Ask in a file about a plain number."""
    return asked(path, number_question(number, unit, usual))


def asked(path: Path, question: Said | None) -> Problem | None:
    """A question with how to answer it in the file; None for none."""
    if question is None:
        return None
    sentence = said("asked_in_file", question=question, key=written(path))
    return Problem(path, sentence, question)


def plain_question(problem: Problem) -> Said:
    """A doubt without how it is answered in a file."""
    return problem.question or problem.sentence


def as_written(length_nm: int | Decimal, unit: str) -> str:
    """A length as a plain decimal in its file's unit."""
    return format((Decimal(length_nm) / NM_PER_TYPED[unit]).normalize(), "f")


def _question(value: Said, usually: Said, slip: Slip | None) -> Said:
    question = slip.question if slip is not None else said("is_it_meant_so")
    return said("is_unusual", value=value, usually=usually, question=question)


def _with_unit(text: str, unit: str) -> Said:
    return said("number_in", number=decimal(text), unit=unit) if unit else decimal(text)


def _length_span(usual: Usual) -> Said:
    ends = [length(round(end)) for end in (usual.low, usual.high) if end is not None]
    if ends[1:]:
        return said("usually_from", what=usual.what, low=ends[0], high=ends[1])
    if usual.high is None:
        return said("usually_at_least", what=usual.what, least=ends[0])
    return said("usually_at_most", what=usual.what, most=ends[0])


def unanswered(problems: Iterable[Problem | None], confirmed: Iterable[str]) -> list[Problem]:
    """The doubts that the file does not name as meant so."""
    known = {name.replace(" ", "") for name in confirmed}
    return [p for p in problems if p is not None and written(p.path) not in known]


# ---------------------------------------------------------------- texts that break what is shown

_PROSE = {"engine", "source"}  # may run over lines; nothing else is shown in a line with others
NAME_MAX = 80


def text_problems(table: Mapping[str, object], path: Path = ()) -> Iterator[Problem]:
    """Every text that would break or forge what is shown: line ends, marks of direction, spaces."""
    for key, value in table.items():
        at = (*path, key)
        if (sentence := _unshowable(key)) is not None:
            yield Problem(path, said("a_key", sentence=sentence))
        yield from _of_value(key, value, at)


def _of_value(key: str, value: object, at: Path) -> Iterator[Problem]:
    if isinstance(value, dict):
        yield from text_problems(value, at)
    elif isinstance(value, list):
        for number, item in enumerate(value):
            yield from _of_value(key, item, (*at, number) if isinstance(item, dict) else at)
    elif isinstance(value, str):
        lines = value.splitlines() if key in _PROSE else [value]
        problem = next((found for line in lines if (found := _unshowable(line))), None)
        if problem is not None:
            yield Problem(at, problem)
        elif key == "id" and (value != value.strip() or len(value) > NAME_MAX):
            yield Problem(at, said("id_too_long", most=NAME_MAX))


def _unshowable(text: str) -> Said | None:
    for number, letter in enumerate(text, start=1):
        if unicodedata.category(letter) in {"Cc", "Cf", "Zl", "Zp", "Cs", "Co", "Cn"}:
            return said("unshowable", letter=f"U+{ord(letter):04X}", number=number)
    return None


def temperature_out_of_reason(path: Path, milli_celsius: int) -> Problem | None:
    """A temperature that no answer makes right."""
    if LEAST_MILLI_CELSIUS <= milli_celsius <= MOST_MILLI_CELSIUS:
        return None
    least, most = LEAST_MILLI_CELSIUS // 1000, MOST_MILLI_CELSIUS // 1000
    slip = temperature_slip(milli_celsius, MEASURED_TEMPERATURE.holds)
    question = said("asks_too", question=slip.question) if slip is not None else NOTHING
    sentence = said(
        "temperature_out_of_reason",
        celsius=decimal(f"{milli_celsius / 1000:g}"),
        least=least,
        most=most,
        question=question,
    )
    return Problem(path, sentence)
