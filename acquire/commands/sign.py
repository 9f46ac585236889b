"""`barrelfit sign`: put one's name to a closed session."""

from pathlib import Path
from typing import Annotated

import typer

from barrelfit.acquire.commands.completing import sessions
from barrelfit.rules.said import said


def sign(
    session: Annotated[
        str,
        typer.Argument(
            metavar="SESSION", autocompletion=sessions, help="A journal file, or a session's name."
        ),
    ] = "",
    *,
    key: Annotated[Path, typer.Option(metavar="KEY.pem", help="Your private key's file (PEM).")],
    who: Annotated[
        str, typer.Option(metavar="NAME", help="Your name, as it will stand in the journal.")
    ] = "",
    make_key: Annotated[
        bool, typer.Option("--make-key", help="Make the key's file first, and KEY.pub beside it.")
    ] = False,
) -> int:
    """Sign a closed session's head hash with your own key (Ed25519, RFC 8032).

    The signature becomes the journal's last record. 'barrelfit verify SESSION --key KEY.pub' then
    shows that the holder of the key stood behind exactly this session.

    Keys: make one once, 'barrelfit sign --key owner.pem --make-key'. The private file is readable
    by you alone and has no password: keep it on the bench's machine, with a copy in a safe. Give
    KEY.pub to everyone who may have to check: the customer, the other benches, an expert. When
    the private key is lost, old signatures still hold: make a new one. When it may have been
    stolen, say so, with the date, to everyone who has the public one: signatures made after that
    date prove nothing.

    Example:
      barrelfit sign --key owner.pem --make-key
      barrelfit sign session.jsonl --key owner.pem --who "R. Lead"

    Exit code: 0, or 2 when the session is not closed or the key is none.
    """
    from barrelfit.acquire.errors import UserError
    from barrelfit.acquire.journal import signing
    from barrelfit.acquire.streams import is_standard

    if make_key:
        print(f"{key}: made; {signing.make_key(key)} is for those who check")
    if is_standard(session):
        raise UserError([said("sign_needs_file")])
    if not session:
        if make_key:
            return 0
        raise UserError([said("name_session_or_key")])
    if not who:
        raise UserError([said("who_missing")])
    from barrelfit.acquire.clock import RunningClock
    from barrelfit.acquire.journal.session import find_journal
    from barrelfit.acquire.journal.sign_session import sign_session

    journal = find_journal(session)
    head = sign_session(journal, signing.load_private_key(key), who, RunningClock())
    print(f"{journal}: signed by {who}; head hash {head}")
    return 0
