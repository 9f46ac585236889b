"""Gathers what others recorded of a session's chain: reports, other benches, the index."""

from collections.abc import Sequence
from pathlib import Path

from barrelfit.acquire.errors import UserError
from barrelfit.acquire.journal.lines import HEAD_HASH
from barrelfit.acquire.journal.session import INDEX_NAME, Session, journals_in
from barrelfit.acquire.journal.verify import Claim, claims_of
from barrelfit.rules.said import said


def witnesses(journal: Path, heads: Sequence[str], others: Sequence[Path]) -> list[Claim]:
    """Everybody's word about a journal.

    Args:
        journal: its file.
        heads: head hashes given by the user.
        others: other sessions' journals, or folders of them.

    Raises:
        UserError: a hash is none, or another journal can't be read.
    """
    wrong = [said("no_head_hash", head=head) for head in heads if not _is_hash(head)]
    if wrong:
        raise UserError(wrong)
    claims = [Claim(head.lower(), None, f"--head {head[:8]}…") for head in heads]
    try:
        session = Session(journal).opening().session
    except UserError:
        return claims  # damaged at the very start: the check itself will say so
    for path in _journals(others):
        if path.resolve() != journal.resolve():
            claims += claims_of(Session.open(path).records(), session, path.name)
    index = journal.parent / INDEX_NAME
    if index.is_file():
        from barrelfit.acquire.index.store import recorded_head  # noqa: PLC0415  SQLAlchemy is slow to load

        claims += recorded_head(index, session)
    return claims


def _is_hash(text: str) -> bool:
    return HEAD_HASH.fullmatch(text.lower()) is not None


def _journals(paths: Sequence[Path]) -> list[Path]:
    found: list[Path] = []
    for path in paths:
        found += journals_in(path) if path.is_dir() else [path]
    return found
