"""`barrelfit export`: a session as a table for other programs."""

from pathlib import Path
from typing import Annotated

import typer

from barrelfit.acquire.commands.completing import choice, sessions

SessionGiven = Annotated[
    str,
    typer.Argument(
        metavar="SESSION",
        autocompletion=sessions,
        help="A journal file, a session's name, or - for standard input.",
    ),
]
Output = Annotated[
    Path,
    typer.Option(
        "-o",
        "--output",
        metavar="FILE",
        help="The file to write: .csv or .parquet; - is CSV to standard output.",
    ),
]
Table = Annotated[
    str,
    typer.Option(
        metavar="TABLE",
        autocompletion=choice("readings", "sizes", "verdicts", "facts", "events"),
        help="readings, sizes, verdicts, facts or events.",
    ),
]

DAMAGED = 2


def export(
    session: SessionGiven,
    output: Output,
    table: Table = "readings",
) -> int:
    """Write a session's readings, sizes, verdicts, facts or events as CSV or Parquet.

    Units are in the columns' names. A length stands there as exact text in mm and as whole nm;
    times are UTC with six decimals. A fault is a row without a length, with its reason in the
    column status. From Python: acquire.journal.session.Session.open(PATH).frame("sizes").

    A hole that a power cut left in the journal is told, and what stands behind it is written too.

    Example:
      barrelfit export session.jsonl --table sizes -o sizes.csv
      barrelfit export session.jsonl -o - > readings.csv

    Exit code: 0, or 2 when the journal is damaged or the file can't be written.
    """
    from barrelfit.acquire.journal.session import Session
    from barrelfit.acquire.journal.tables import save
    from barrelfit.acquire.streams import is_standard

    recorded = Session.open(session, past_holes=True)
    frame = recorded.frame(table)
    save(frame, output)
    if not is_standard(output):
        print(f"{output}: {len(frame)} rows of {table}")
    for file, hole in recorded.holes:
        typer.echo(f"barrelfit: {file}: {hole}", err=True)
    return DAMAGED if recorded.holes else 0
