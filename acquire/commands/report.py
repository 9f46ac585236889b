"""`barrelfit report`: a report for the customer and for a dispute, as HTML or PDF."""

from pathlib import Path
from typing import Annotated

import typer

from barrelfit.acquire.commands.completing import Mark, Unit, choice
from barrelfit.rules.said import said

USAGE_HINT = "write -o report.html or -o report.pdf, or -o - with --pdf or without"

Source = Annotated[
    str,
    typer.Argument(
        metavar="SESSION_OR_RESULT",
        help="A session, or the lines of 'judge --json'; - is standard input.",
    ),
]
Out = Annotated[
    Path,
    typer.Option(
        "--out",
        "-o",
        metavar="FILE",
        help="The report: .html or .pdf; - is HTML to standard output.",
    ),
]
Paper = Annotated[
    str,
    typer.Option(
        metavar="PAPER", autocompletion=choice("a4", "letter"), help="Of the PDF: a4 or letter."
    ),
]
Photos = Annotated[
    Path | None,
    typer.Option(metavar="FOLDER", help="Folder of the photos; the source's own when left out."),
]
Font = Annotated[
    Path | None,
    typer.Option(metavar="FILE.ttf", help="TrueType font of the PDF, for letters it lacks."),
]


def report(  # noqa: PLR0913  options
    source: Source,
    *,
    out: Out,
    paper: Paper = "a4",
    unit: Unit = "mm",
    decimal: Mark = "point",
    photos: Photos = None,
    font: Font = None,
    pdf: Annotated[bool, typer.Option("--pdf", help="With -o -: PDF instead of HTML.")] = False,
) -> int:
    """Write a report on a set: verdicts, reasons, pairing, rework, sizes.

    The HTML is one file: it fetches nothing, and prints on A4 and on Letter.
    Every measured number carries its unit and its 95 % interval, every limit
    where it came from. A session's report prints the head hash, by which
    'barrelfit verify' shows that nothing was changed since.

    Example:
      barrelfit judge set.toml --sheet flat-four-85 --json > result.jsonl
      barrelfit report result.jsonl -o report.html
      barrelfit report session.jsonl -o - --pdf > report.pdf

    Exit codes: 0 written, 2 the source can't be read or the report can't be
    written.
    """
    from barrelfit.acquire.errors import UserError
    from barrelfit.acquire.inputs.manner import manner_of
    from barrelfit.acquire.report.content import report_of
    from barrelfit.acquire.report.source import lines_of, photos_of, with_notes
    from barrelfit.acquire.streams import is_standard, write_bytes

    kind = (".pdf" if pdf else ".html") if is_standard(out) else out.suffix
    if kind not in {".html", ".pdf"} or (pdf and kind != ".pdf"):
        raise UserError([said("no_kind_of_report", file=str(out), do=USAGE_HINT)])
    if paper not in {"a4", "letter"}:
        raise UserError([said("no_such_paper", paper=paper)])
    manner = manner_of(unit, decimal)
    lines = lines_of(source)
    folder = photos or Path(source).expanduser().parent
    seen = photos_of(lines, folder)
    made = report_of(with_notes(lines, seen.troubles), seen.found, manner)
    if kind == ".html":
        from barrelfit.acquire.report.html import html_of

        content = html_of(made).encode()
    else:
        from barrelfit.acquire.report.pdf import pdf_of

        content = pdf_of(made, paper, font)
    write_bytes(out, content)
    if not is_standard(out):
        print(f"{out}: {len(content)} bytes")
    return 0
