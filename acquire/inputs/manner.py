"""How what is shown is to be written, as options of commands say it."""

from typing import Final

from barrelfit.acquire.errors import UserError
from barrelfit.rules.length import UNITS
from barrelfit.rules.manner import PLAIN, Manner
from barrelfit.rules.said import said

MARKS: Final = ("point", "comma")


def manner_of(unit: str, decimal: str) -> Manner:
    """Read the options `--unit` and `--decimal`.

    Raises:
        UserError: a unit or a decimal mark that there isn't.
    """
    problems = []
    if unit not in UNITS:
        problems.append(said("no_such_unit", unit=unit, units=tuple(UNITS)))
    if decimal not in MARKS:
        problems.append(said("no_such_mark", decimal=decimal, marks=tuple(MARKS)))
    if problems:
        raise UserError(problems)
    return Manner(unit, comma=decimal == "comma")


def plain_manner(unit: str, decimal: str) -> Manner:
    """The same where it may not be as it must be: millimetres and a point then."""
    return Manner(unit if unit in UNITS else PLAIN.unit, comma=decimal == "comma")
