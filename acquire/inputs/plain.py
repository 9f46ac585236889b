"""Numbers and table cells as a person wrote them, read exactly and never beyond all reason."""

import csv
from collections.abc import Iterator
from decimal import Decimal, InvalidOperation

from barrelfit.acquire.errors import UserError
from barrelfit.rules.said import said

EXPONENT_MAX = 60  # beyond any use, and still shown in a message
_CELL_SHOWN = 40


def plain_decimal(text: str) -> Decimal | None:
    """A finite decimal that can be computed with; None for anything else."""
    number = decimal_of(text.strip())
    return number if number is not None and number.is_finite() else None


def decimal_of(text: str) -> Decimal | None:
    """The same, also infinite or no number; None for one out of all reason."""
    try:
        number = Decimal(text)
    except InvalidOperation:
        return None
    return number if not number.is_finite() or abs(number.adjusted()) <= EXPONENT_MAX else None


def csv_rows(text: str, name: str) -> Iterator[tuple[int, list[str]]]:
    """The rows of a table's text with their lines, counted from 1.

    Args:
        text: the whole file.
        name: how messages call it.

    Raises:
        UserError: a row that is none, with its line.
    """
    rows = csv.reader(text.removeprefix("\ufeff").splitlines())
    try:
        for row in rows:
            yield rows.line_num, row
    except csv.Error as error:
        raise UserError([said("of_line", name=name, line=rows.line_num, what=str(error))]) from None


def cell_shown(cell: str) -> str:
    """A cell in quotes for a message: its first letters, those that can't be shown escaped."""
    return repr(cell.strip()[:_CELL_SHOWN])
