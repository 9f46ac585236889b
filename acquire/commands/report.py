"""`barrelfit report`: a report for the customer and for a dispute, as HTML or PDF."""

from pathlib import Path
from typing import Annotated

import typer

USAGE_HINT = "write -o report.html or -o report.pdf"


def report(
    source: Annotated[
        str,
        typer.Argument(
            metavar="SESSION_OR_RESULT", help="A session, or the lines of 'judge --json'."
        ),
    ],
    out: Annotated[Path, typer.Option("--out", "-o", help="The report: .html or .pdf.")],
    paper: Annotated[str, typer.Option(help="Of the PDF: a4 or letter.")] = "a4",
    unit: Annotated[str, typer.Option(help="In which lengths are shown: mm or inch.")] = "mm",
    photos: Annotated[
        Path | None, typer.Option(help="Folder of the photos; the source's own when left out.")
    ] = None,
    font: Annotated[
        Path | None, typer.Option(help="TrueType font of the PDF, for letters it lacks.")
    ] = None,
) -> int:
    """Write a report on a set: verdicts, reasons, pairing, rework, sizes.

    The HTML is one file: it fetches nothing, and prints on A4 and on Letter.
    Every measured number carries its unit and its 95 % interval, every limit
    where it came from. A session's report prints the head hash, by which
    'barrelfit verify' shows that nothing was changed since.

    Example:
      barrelfit judge SET.toml --sheet SHEET.toml --json > result.jsonl
      barrelfit report result.jsonl -o report.pdf

    Exit codes: 0 written, 2 the source can't be read or the report can't be
    written.
    """
    from barrelfit.acquire.errors import UserError
    from barrelfit.acquire.report.content import report_of
    from barrelfit.acquire.report.source import lines_of, photo_troubles, photos_of, with_notes

    if out.suffix not in {".html", ".pdf"}:
        raise UserError([f"{out}: no kind of report; {USAGE_HINT}"])
    if paper not in {"a4", "letter"}:
        raise UserError([f"--paper: '{paper}' is not known; there are: a4, letter"])
    if unit not in {"mm", "inch"}:
        raise UserError([f"--unit: '{unit}' is not known; there are: mm, inch"])
    lines = lines_of(source)
    folder = photos or Path(source).expanduser().parent
    lines = with_notes(lines, photo_troubles(lines, folder))
    made = report_of(lines, photos_of(lines, folder))
    if unit == "inch":
        from barrelfit.acquire.report.inches import report_in_inches

        made = report_in_inches(made)
    if out.suffix == ".html":
        from barrelfit.acquire.report.html import html_of

        content = html_of(made).encode()
    else:
        from barrelfit.acquire.report.pdf import pdf_of

        content = pdf_of(made, paper, font)
    _write(out, content)
    return 0


def _write(out: Path, content: bytes) -> None:
    from barrelfit.acquire.errors import UserError

    try:
        out.write_bytes(content)
    except OSError as error:
        raise UserError([f"{out}: {error.strerror}"]) from None
    print(f"{out}: {len(content)} bytes")
