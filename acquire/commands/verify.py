"""`barrelfit verify`: is a session's journal what was written?"""

import dataclasses
import json
from collections import Counter
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from barrelfit.acquire.commands.completing import sessions
from barrelfit.rules.said import said

if TYPE_CHECKING:
    from barrelfit.acquire.journal.verify import Verification

FINDING = 1
UNREADABLE_EXIT = 2

Session = Annotated[
    str,
    typer.Argument(
        metavar="SESSION",
        autocompletion=sessions,
        help="A journal file, a session's name, or - for standard input.",
    ),
]
Head = Annotated[
    list[str] | None,
    typer.Option(
        metavar="HASH", help="A head hash from a report or a bus message; must be in the chain."
    ),
]
Against = Annotated[
    list[Path] | None,
    typer.Option(
        metavar="JOURNAL",
        help="Another bench's journal, or a folder of them: what it saw must fit.",
    ),
]
Key = Annotated[
    Path | None,
    typer.Option(metavar="KEY.pub", help="Public key (PEM) that must have signed the session."),
]


def verify(
    session: Session,
    *,
    head: Head = None,
    against: Against = None,
    key: Key = None,
    as_json: Annotated[bool, typer.Option("--json", help="One JSON object on one line.")] = False,
) -> int:
    """Check that a session's journal is whole, and say where it is not.

    Every line carries a checksum and the SHA-256 of the line before it, so that no line can be
    changed, added or taken away without being found. The last line's hash, the head hash, stands
    for the whole session: compare it with the one on the report. Somebody who rewrites the whole
    chain gets another head hash; so besides --head and --against, what the index of the same
    folder recorded is compared too.

    Outcomes: whole (exit 0); torn: a crash or power cut left an unfinished last line, which had
    never been confirmed to anyone (exit 1); holed: NUL bytes stand where lines were, as a power
    cut or a failing disk leaves them, with sound lines behind (exit 1, with the place); altered: a
    line is not what was written, or the chain is another one than somebody saw (exit 1, with the
    first such line); unreadable: written by a newer barrelfit, or not readable at all (exit 2).

    Example:
      barrelfit verify session.jsonl
      barrelfit verify - < session.jsonl
    """
    from barrelfit.acquire.errors import UserError
    from barrelfit.acquire.index.witnesses import witnesses
    from barrelfit.acquire.journal.disk import RealDisk
    from barrelfit.acquire.journal.session import find_journal
    from barrelfit.acquire.journal.signing import load_public_key
    from barrelfit.acquire.journal.verify import UNREADABLE, WHOLE, verify_journal

    journal = find_journal(session)
    public_key = load_public_key(key) if key else ""
    try:
        claims = witnesses(journal, head or [], against or [])
        found = verify_journal(journal, RealDisk(), claims, public_key)
    except OSError as error:
        raise UserError([said("of_file", file=str(journal), what=str(error.strerror))]) from None
    if as_json:
        print(json.dumps(dataclasses.asdict(found)))
    else:
        _print(found)
    if found.outcome == WHOLE:
        return 0
    return UNREADABLE_EXIT if found.outcome == UNREADABLE else FINDING


def _print(found: "Verification") -> None:
    place = f", line {found.line}" if found.line else ""
    print(f"{found.outcome.upper()}  {found.file}{place}")
    if found.problem:
        print(f"  {found.problem}")
    state = "closed" if found.closed else "not closed: still running, or ended by a crash"
    behind = f" and {found.behind_holes} behind a hole" if found.behind_holes else ""
    print(f"  session {found.session or '?'}, {found.records} records{behind}, {state}")
    print(f"  head hash {found.head_hash}")
    for who in found.signed_by:
        print(f"  signed by {who}")
    for source, number in Counter(found.confirmed).items():
        print(f"  agrees with {source}" + (f" ({number} heads)" if number > 1 else ""))
