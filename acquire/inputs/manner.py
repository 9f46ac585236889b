"""How what is shown is to be written, as options of commands say it."""

from typing import Final

from barrelfit.acquire.errors import UserError
from barrelfit.rules.length import UNITS
from barrelfit.rules.manner import Manner

MARKS: Final = ("point", "comma")


def manner_of(unit: str, decimal: str) -> Manner:
    """Read the options `--unit` and `--decimal`.

    Raises:
        UserError: a unit or a decimal mark that there isn't.
    """
    problems = []
    if unit not in UNITS:
        problems.append(f"--unit: '{unit}' is not known; there are: {', '.join(UNITS)}")
    if decimal not in MARKS:
        problems.append(f"--decimal: '{decimal}' is not known; there are: {', '.join(MARKS)}")
    if problems:
        raise UserError(problems)
    return Manner(unit, comma=decimal == "comma")
