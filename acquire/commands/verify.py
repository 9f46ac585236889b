"""`barrelfit verify`: is a session's journal what was written?"""

import dataclasses
import json
from collections import Counter
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from barrelfit.acquire.commands.completing import sessions
from barrelfit.rules.said import Said, said

if TYPE_CHECKING:
    from collections.abc import Iterator

    from barrelfit.acquire.journal.verify import Verification

FINDING = 1
UNREADABLE_EXIT = 2
OUTCOMES = {
    "whole": said("outcome_whole"),
    "torn": said("outcome_torn"),
    "holed": said("outcome_holed"),
    "altered": said("outcome_altered"),
    "unreadable": said("outcome_unreadable"),
}

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

    Photos that were taken at the bench are kept beside the journal, and the record holds their
    hashes: one that is missing, or is another by now, is told (exit 1).

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
    from barrelfit.acquire.said_json import with_parts
    from barrelfit.acquire.streams import is_standard
    from barrelfit.rules.manner import told_all

    journal = find_journal(session)
    public_key = load_public_key(key) if key else ""
    try:
        claims = witnesses(journal, head or [], against or [])
        found = verify_journal(journal, RealDisk(), claims, public_key)
    except OSError as error:
        raise UserError([said("of_file", file=str(journal), what=str(error.strerror))]) from None
    photos, lost = _photos(journal, readable=found.outcome == WHOLE and not is_standard(session))
    if as_json:
        fields = {one.name: getattr(found, one.name) for one in dataclasses.fields(found)}
        fields |= {"photos": photos, "photos_lost": tuple(lost)}
        print(json.dumps(with_parts(fields, ""), ensure_ascii=False))
    else:
        print("\n  ".join(told_all([*_told(found), *_photos_told(photos, lost)])))
    if found.outcome == WHOLE:
        return FINDING if lost else 0
    return UNREADABLE_EXIT if found.outcome == UNREADABLE else FINDING


def _photos(journal: Path, *, readable: bool) -> tuple[int, list[Said]]:
    """How many photos the session's record names, and what is wrong with them."""
    if not readable:
        return 0, []
    from barrelfit.acquire.inputs.photo import photo_problem
    from barrelfit.acquire.journal.session import Session
    from barrelfit.rules.engine.set_facts import PHOTOS
    from barrelfit.rules.told import FactTaken

    names: dict[object, str] = {}
    for record in Session(journal).records():
        fact = record.event
        if isinstance(fact, FactTaken) and fact.at.feature == PHOTOS:
            names[fact.at] = fact.value
    kept = [name for name in names.values() if name]
    found = (photo_problem(journal.parent, name) for name in kept)
    return len(kept), [problem for problem in found if problem is not None]


def _photos_told(photos: int, lost: list[Said]) -> "Iterator[Said]":
    if photos > len(lost):
        yield said("verify_photos", count=photos - len(lost))
    yield from lost


def _told(found: "Verification") -> "Iterator[Said]":
    """What was found, a line each; those after the first belong to it."""
    outcome = OUTCOMES[found.outcome]
    if found.line:
        yield said("verify_line", outcome=outcome, file=found.file, line=found.line)
    else:
        yield said("verify_file", outcome=outcome, file=found.file)
    if found.problem:
        yield found.problem
    state = said("state_closed") if found.closed else said("state_not_closed")
    session, count = found.session or "?", found.records
    if found.behind_holes:
        behind = found.behind_holes
        yield said("verify_session_holed", session=session, count=count, behind=behind, state=state)
    else:
        yield said("verify_session", session=session, count=count, state=state)
    yield said("verify_head", head=found.head_hash)
    yield from (said("verify_signed", who=who) for who in found.signed_by)
    for source, number in Counter(found.confirmed).items():
        if number > 1:
            yield said("verify_agrees_often", source=source, count=number)
        else:
            yield said("verify_agrees", source=source)
