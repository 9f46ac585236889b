"""Adds a signature to a closed session's journal."""

from pathlib import Path
from typing import TYPE_CHECKING

from acquire.clock import Clock, utc_text
from acquire.disk import RealDisk
from acquire.errors import UserError
from acquire.journal import Stamp
from acquire.journal_file import JournalFile
from acquire.signing import sign_head

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
        raise UserError([f"{journal}: the signature could not be written: {file.trouble}"])
    return file.head_hash
