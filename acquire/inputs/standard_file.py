"""Readings on standards, from a CSV file `standard_mm,round,reading_mm`: exact, every bad line."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path

from barrelfit.acquire.errors import UserError
from barrelfit.acquire.inputs.plain import cell_shown, csv_rows, plain_decimal
from barrelfit.acquire.inputs.shelf import given_text
from barrelfit.acquire.inputs.size_options import SURE
from barrelfit.acquire.streams import name_of
from barrelfit.rules.engine.doubts import DIGIT, STANDARD_U, Usual, length_question
from barrelfit.rules.said import Said, said

HEADER = ["standard_mm", "round", "reading_mm"]
APART_MAX_NM = 1_000_000


@dataclass(frozen=True, slots=True)
class StandardReading:
    """One reading of a gauge on a standard; `round_name` changes whenever the gauge is set anew."""

    standard_nm: int
    round_name: str
    reading_nm: int


def standard_readings(path: Path) -> tuple[StandardReading, ...]:
    """Read the file; raises UserError with every line that is not as it must be."""
    name = name_of(path)
    rows = list(csv_rows(given_text(path), name))
    if not rows or [cell.strip() for cell in rows[0][1]] != HEADER:
        expected = ",".join(HEADER)
        raise UserError([said("header_missing", name=name, expected=expected)])
    problems: list[Said] = []
    found = [
        reading
        for number, row in rows[1:]
        if row and (reading := _reading(row, f"{name}:{number}", problems))
    ]
    if not found and not problems:
        problems.append(said("no_reading_in_it", name=name))
    if problems:
        raise UserError(problems)
    return tuple(found)


def setting_questions(
    found: Sequence[StandardReading], name: str, u_um: float, digit_nm: int
) -> list[Said]:
    """What is asked about readings and options of a study; empty when all is usual.

    Args:
        found: the readings; none is a millimetre away from its standard.
        name: the file's name.
        u_um: the standard's standard uncertainty, in µm.
        digit_nm: the gauge's last digit.
    """
    asked = {
        said("with_colon", what="--u-um"): length_question(
            Decimal(str(u_um)) * 1000, "µm", STANDARD_U
        ),
        said("with_colon", what="--digit-mm"): length_question(digit_nm, "mm", DIGIT),
    }
    for number, one in enumerate(found, start=1):
        ends_nm = (one.standard_nm - APART_MAX_NM, one.standard_nm + APART_MAX_NM)
        usual = Usual(*ends_nm, said("usual_reading"))
        question = length_question(one.reading_nm, "mm", usual)
        asked[said("reading_number", name=name, number=number)] = question
    return [
        said("asked_option", about=about, question=question, do=SURE)
        for about, question in asked.items()
        if question
    ]


def rounds_of(readings: Iterable[StandardReading]) -> list[list[int]]:
    """The readings in nm by round, in the order in which the rounds first appear."""
    rounds: dict[str, list[int]] = {}
    for reading in readings:
        rounds.setdefault(reading.round_name, []).append(reading.reading_nm)
    return list(rounds.values())


def _reading(row: list[str], where: str, problems: list[Said]) -> StandardReading | None:
    if len(row) != len(HEADER):
        problems.append(said("wrong_columns", where=where, count=len(HEADER), found=len(row)))
        return None
    standard_nm = _nm(row[0], f"{where}: standard_mm", problems)
    reading_nm = _nm(row[2], f"{where}: reading_mm", problems)
    if standard_nm is None or reading_nm is None:
        return None
    return StandardReading(standard_nm, row[1].strip(), reading_nm)


def length_nm(text: str) -> int | None:
    """Whole nm of a length above 0 in mm with at most six decimals, None for anything else."""
    number = plain_decimal(text)
    if number is None:
        return None
    length = number * 1_000_000
    return int(length) if length > 0 and length == length.to_integral_value() else None


def _nm(text: str, where: str, problems: list[Said]) -> int | None:
    length = length_nm(text)
    if length is None:
        problems.append(said("mm_in_cell", where=where, found=cell_shown(text)))
    return length
