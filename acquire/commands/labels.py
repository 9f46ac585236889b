"""`barrelfit labels`: a label for each part, with its verdict, size and place."""

from pathlib import Path
from typing import Annotated

import typer

from barrelfit.acquire.commands.completing import Mark, Unit
from barrelfit.rules.said import said

LEAST_MM, MOST_MM = 25.0, 210.0

Source = Annotated[
    str,
    typer.Argument(
        metavar="SESSION_OR_RESULT",
        help="A session, or the lines of 'judge --json'; - is standard input.",
    ),
]
Out = Annotated[
    Path,
    typer.Option("--out", "-o", metavar="FILE.pdf", help="The labels; - is standard output."),
]
Roll = Annotated[
    float | None,
    typer.Option(
        metavar="MM", help="One label a page for a roll of this width; left out: sheets of A4."
    ),
]
Font = Annotated[
    Path | None,
    typer.Option(metavar="FILE.ttf", help="TrueType font, for letters the usual one lacks."),
]


def labels(
    source: Source,
    *,
    out: Out,
    roll: Roll = None,
    unit: Unit = "mm",
    decimal: Mark = "point",
    font: Font = None,
) -> int:
    """Write labels for the parts of a set, as PDF.

    Each says part, verdict, size with its interval, and where it runs; its QR
    code says the same in plain text, with the first of the record's hash.
    A sheet of A4 has 24 of them, to be cut. A roll has one a page.

    Example:
      barrelfit judge set.toml --sheet flat-four-85 --json > result.jsonl
      barrelfit labels result.jsonl -o labels.pdf
      barrelfit labels session.jsonl --roll 62 -o labels.pdf

    Exit codes: 0 written, 2 the source can't be read or the labels can't be
    written.
    """
    from barrelfit.acquire.errors import UserError
    from barrelfit.acquire.inputs.manner import manner_of
    from barrelfit.acquire.report.labels import labels_of
    from barrelfit.acquire.report.labels_pdf import labels_pdf
    from barrelfit.acquire.report.source import lines_of
    from barrelfit.acquire.streams import is_standard, write_bytes

    if roll is not None and not LEAST_MM <= roll <= MOST_MM:
        raise UserError(
            [said("no_such_roll", roll=f"{roll:g}", least=f"{LEAST_MM:g}", most=f"{MOST_MM:g}")]
        )
    made = labels_of(lines_of(source), manner_of(unit, decimal))
    content = labels_pdf(made, roll, font)
    write_bytes(out, content)
    if not is_standard(out):
        print(f"{out}: {len(made)} labels")
    return 0
