"""`barrelfit export`: a session as a table for other programs."""

from pathlib import Path
from typing import Annotated

import typer


def export(
    session: Annotated[str, typer.Argument(help="A journal file, or a session's name.")],
    output: Annotated[
        Path, typer.Option("-o", "--output", help="The file to write: .csv or .parquet.")
    ],
    table: Annotated[str, typer.Option(help="readings, sizes, verdicts or events.")] = "readings",
) -> int:
    """Write a session's readings, sizes, verdicts or events as CSV or Parquet.

    Units are in the columns' names. A length stands there as exact text in mm and as whole nm;
    times are UTC with six decimals. A fault is a row without a length, with its reason in the
    column status. From Python: acquire.journal.session.Session.open(PATH).frame("sizes").

    Exit code: 0, or 2 when the journal is damaged or the file can't be written.
    """
    from barrelfit.acquire.journal.session import Session
    from barrelfit.acquire.journal.tables import save

    frame = Session.open(session).frame(table)
    save(frame, output)
    print(f"{output}: {len(frame)} rows of {table}")
    return 0
