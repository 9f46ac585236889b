"""`barrelfit find`: which session was that?"""

import json
from pathlib import Path
from typing import Annotated

import typer


def find(  # noqa: PLR0913  options
    *,
    part: Annotated[
        str, typer.Option(help="A part's serial number or id (P1), or a piece of either.")
    ] = "",
    job: Annotated[str, typer.Option(help="A job, or a piece of its name.")] = "",
    verdict: Annotated[str, typer.Option(help="serviceable, rework, discard or undecided.")] = "",
    since: Annotated[str, typer.Option(help="First day, as 2026-11-25 (UTC).")] = "",
    until: Annotated[str, typer.Option(help="Last day, as 2026-11-25 (UTC).")] = "",
    folder: Annotated[
        Path | None, typer.Option(help="Where the sessions are; the usual folder if not given.")
    ] = None,
    index: Annotated[
        str, typer.Option(help="Database URL of a shop's index; else a file beside the journals.")
    ] = "",
    rebuild: Annotated[
        bool, typer.Option("--rebuild", help="Throw the index away and build it anew first.")
    ] = False,
    as_json: Annotated[bool, typer.Option("--json", help="One JSON object a line.")] = False,
) -> int:
    """Find recorded sessions by part, job, verdict or date.

    One line a session and part that fit all that was asked: the last verdict on the part, its
    serial number, when, where, and the journal's file. The index is brought up to date first; it
    is made from the journals alone and may be deleted at any time. A journal that is damaged or
    was rewritten is named and left as it was indexed.

    Exit code: 0 when something was found and every journal could be read, else 1; 2 for a wrong
    option.
    """
    import sys

    from barrelfit.acquire.index.search import SearchWanted, found_rows, line_of_row, open_index

    wanted = SearchWanted.of(part=part, job=job, verdict=verdict, since=since, until=until)
    store, problems = open_index(folder, index, anew=rebuild)
    for problem in problems:
        print(f"barrelfit: {problem}", file=sys.stderr)
    rows = found_rows(store, wanted)
    store.close()
    for row in rows:
        print(json.dumps(row, ensure_ascii=False) if as_json else line_of_row(row))
    if not rows and not as_json:
        print("nothing fits", file=sys.stderr)
    return 0 if rows and not problems else 1
