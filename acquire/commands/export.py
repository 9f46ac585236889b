"""`barrelfit export`: a session as a table for other programs, or as a set file."""

from pathlib import Path
from typing import Annotated

import typer

from barrelfit.acquire.commands.completing import choice, sessions
from barrelfit.rules.manner import told
from barrelfit.rules.said import said

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
        help="The file to write: .csv or .parquet, of a set .toml; - is standard output.",
    ),
]
Table = Annotated[
    str,
    typer.Option(
        metavar="TABLE",
        autocompletion=choice("readings", "sizes", "verdicts", "facts", "events", "set"),
        help="readings, sizes, verdicts, facts, events; or set.",
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

    --table set writes the session's set file: what was told and found in it, and
    what waits for an answer. 'barrelfit judge' on it gives the same verdicts.

    A hole that a power cut left in the journal is told, and what stands behind it is written too.

    Example:
      barrelfit export session.jsonl --table sizes -o sizes.csv
      barrelfit export session.jsonl --table set -o set.toml
      barrelfit export session.jsonl -o - > readings.csv

    Exit code: 0, or 2 when the journal is damaged or the file can't be written.
    """
    from barrelfit.acquire.journal.session import Session
    from barrelfit.acquire.journal.tables import save
    from barrelfit.acquire.streams import is_standard

    if table == "set":
        return _export_set(session, output)
    recorded = Session.open(session, past_holes=True)
    frame = recorded.frame(table)
    save(frame, output)
    if not is_standard(output):
        print(f"{output}: {len(frame)} rows of {table}")
    for file, hole in recorded.holes:
        typer.echo(f"barrelfit: {file}: {told(hole.told)}", err=True)
    return DAMAGED if recorded.holes else 0


def _export_set(session: str, output: Path) -> int:
    """Write the set file of a whole session: verdicts rest on all of it."""
    from barrelfit.acquire.errors import UserError
    from barrelfit.acquire.inputs.set_now import set_text_of
    from barrelfit.acquire.journal.session import Session
    from barrelfit.acquire.streams import is_standard, write_bytes

    if not is_standard(output) and output.suffix != ".toml":
        raise UserError([said("set_to_toml", output=str(output))])
    write_bytes(output, set_text_of(Session.open(session).records()).encode())
    return 0
