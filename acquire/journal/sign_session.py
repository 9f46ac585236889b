"""Adds a signature to a closed session's journal."""

from pathlib import Path
from typing import TYPE_CHECKING

from barrelfit.acquire.clock import Clock, utc_text
from barrelfit.acquire.errors import UserError
from barrelfit.acquire.journal.disk import RealDisk
from barrelfit.acquire.journal.lines import Stamp
from barrelfit.acquire.journal.signing import sign_head
from barrelfit.acquire.journal.writer import JournalFile
from barrelfit.rules.said import said

if TYPE_CHECKING:
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey


def sign_session(journal: Path, key: "Ed25519PrivateKey", who: str, clock: Clock) -> str:
    """Sign a closed session; gives its new head hash.

    Raises:
        UserError: it is not closed, is damaged, or can't be written.
    """
    stamp = Stamp(clock.monotonic_ns(), utc_text(clock.utc()))
    file = JournalFile.reopen_closed(journal, RealDisk(), lambda: stamp)
    file.append(sign_head(key, file.head_hash, who))
    if not file.close():
        raise UserError([said("signature_unwritten", journal=str(journal), why=file.trouble)])
    return file.head_hash
