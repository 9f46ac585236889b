"""`barrelfit find`: which session was that?"""

import json
from pathlib import Path
from typing import Annotated

import typer

from barrelfit.acquire.commands.completing import choice
from barrelfit.rules.said import said

NO_SESSIONS = said("no_sessions_yet")

Part = Annotated[
    str,
    typer.Option(metavar="TEXT", help="A part's serial number or id (P1), or a piece of either."),
]
Verdict = Annotated[
    str,
    typer.Option(
        metavar="VERDICT",
        autocompletion=choice("serviceable", "rework", "discard", "undecided"),
        help="serviceable, rework, discard or undecided.",
    ),
]
Folder = Annotated[
    Path | None,
    typer.Option(metavar="FOLDER", help="Where the sessions are; the usual folder if not given."),
]
Index = Annotated[
    str,
    typer.Option(
        metavar="URL", help="Database URL of a shop's index; else a file beside the journals."
    ),
]
Rebuild = Annotated[
    bool, typer.Option("--rebuild", help="Throw the index away and build it anew first.")
]


def find(  # noqa: PLR0913  options
    *,
    part: Part = "",
    job: Annotated[str, typer.Option(metavar="TEXT", help="A job, or a piece of its name.")] = "",
    verdict: Verdict = "",
    since: Annotated[str, typer.Option(metavar="DAY", help="First day, as 2026-11-25 (UTC).")] = "",
    until: Annotated[str, typer.Option(metavar="DAY", help="Last day, as 2026-11-25 (UTC).")] = "",
    folder: Folder = None,
    index: Index = "",
    rebuild: Rebuild = False,
    as_json: Annotated[bool, typer.Option("--json", help="One JSON object a line.")] = False,
) -> int:
    """Find recorded sessions by part, job, verdict or date.

    One line a session and part that fit all that was asked: the last verdict on the part, its
    serial number, when, where, and the journal's file. The index is brought up to date first; it
    is made from the journals alone and may be deleted at any time. A journal that is damaged or
    was rewritten is named and left as it was indexed.

    Example:
      barrelfit find --part P3 --since 2026-11-01

    Exit code: 0 when something was found and every journal could be read, else 1; 2 for a wrong
    option.
    """
    import sys

    from barrelfit.acquire.index.search import SearchWanted, found_rows, line_of_row, open_index
    from barrelfit.acquire.journal.session import USUAL_FOLDER
    from barrelfit.rules.manner import told

    wanted = SearchWanted.of(part=part, job=job, verdict=verdict, since=since, until=until)
    if folder is None and not index and not USUAL_FOLDER.expanduser().is_dir():
        print(told(NO_SESSIONS), file=sys.stderr)
        return 1
    store, problems = open_index(folder, index, anew=rebuild)
    for problem in problems:
        print(f"barrelfit: {told(problem)}", file=sys.stderr)
    rows = found_rows(store, wanted)
    empty = not rows and not found_rows(store, SearchWanted())
    store.close()
    for row in rows:
        print(json.dumps(row, ensure_ascii=False) if as_json else told(line_of_row(row)))
    if not rows and not as_json:
        print(told(NO_SESSIONS if empty else said("nothing_fits")), file=sys.stderr)
    return 0 if rows and not problems else 1
