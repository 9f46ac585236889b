"""Trace files: the readings of one sweep as a table `t_s,reading_mm`, read exactly.

Seconds become whole ns and mm whole nm through decimals; what is finer is rounded half to even.
Times that repeat or go back are no fault of the file: the sweep itself refuses them.
"""

from collections.abc import Sequence
from pathlib import Path

from barrelfit.acquire.errors import UserError
from barrelfit.acquire.inputs.plain import cell_shown, csv_rows, plain_decimal
from barrelfit.acquire.inputs.shelf import file_text, given_text
from barrelfit.acquire.streams import name_of
from barrelfit.rules.said import Said, said

HEADER = ("t_s", "reading_mm")
ROWS_MAX = 2_000_000
PROBLEMS_MAX = 20  # lines named of one file; the rest is counted
NANO = 9
MM_TO_NM = 6
TIME_MAX_S = 10**9
LENGTH_MAX_MM = 10**5

Sample = tuple[int, int]


def trace_samples(path: Path) -> list[Sample]:
    """Read one trace file as (time in ns, length in nm).

    Raises:
        UserError: the file is no trace; every bad line is named.
    """
    return samples_of(file_text(path), str(path))


def all_samples(paths: Sequence[Path]) -> list[list[Sample]]:
    """Read trace files that were named on the command line, where `-` is standard input.

    Raises:
        UserError: with the problems of all of them.
    """
    traces: list[list[Sample]] = []
    problems: list[Said] = []
    for path in paths:
        try:
            traces.append(samples_of(given_text(path), name_of(path)))
        except UserError as error:
            problems += error.problems
    if problems:
        raise UserError(problems)
    return traces


def samples_of(text: str, name: str) -> list[Sample]:
    """Samples of a trace's text.

    Args:
        text: the whole file.
        name: what to call it in a problem's sentence.

    Raises:
        UserError: see `trace_samples`.
    """
    rows = csv_rows(text, name)
    _, first = next(rows, (1, []))
    head = tuple(cell.strip() for cell in first)
    if head != HEADER:
        found = cell_shown(",".join(head)) if head else said("nothing")
        raise UserError([said("wrong_header", name=name, header=",".join(HEADER), found=found)])
    samples: list[Sample] = []
    problems: list[Said] = []
    for line, row in rows:
        if not row or row == [""]:
            continue
        if len(samples) >= ROWS_MAX:
            raise UserError([said("trace_too_long", name=name, most=ROWS_MAX)])
        sample = _sample(row)
        if isinstance(sample, Said):
            problems.append(said("of_line", name=name, line=line, what=sample))
        else:
            samples.append(sample)
    if problems:
        more = len(problems) - PROBLEMS_MAX
        rest = [said("of_file", file=name, what=said("more_lines", count=more))] if more > 0 else []
        raise UserError(problems[:PROBLEMS_MAX] + rest)
    return samples


def _sample(row: Sequence[str]) -> Sample | Said:
    """One line's sample, or what is wrong with it."""
    if len(row) != len(HEADER):
        return said("two_columns", found=len(row))
    t_ns = _whole(row[0], NANO, TIME_MAX_S)
    length_nm = _whole(row[1], MM_TO_NM, LENGTH_MAX_MM)
    if t_ns is None:
        return said("no_time", found=cell_shown(row[0]))
    if length_nm is None:
        return said("no_length", found=cell_shown(row[1]))
    return t_ns, length_nm


def _whole(text: str, places: int, most: int) -> int | None:
    """The decimal times 10^places as a whole number; None when it is no number within ±most."""
    number = plain_decimal(text)
    if number is None or abs(number) > most:
        return None
    return int(number.scaleb(places).to_integral_value())
