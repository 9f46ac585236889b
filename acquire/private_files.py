"""Files that are their user's alone: written whole or not at all, and known from others."""

import os
import secrets
import stat
from pathlib import Path

OWNER_ONLY = 0o600


def write_private(path: Path, content: str | bytes, *, on_disk: bool = False) -> None:
    """Write a file that its owner alone can read; whoever reads it sees the old one or the new.

    Args:
        path: where; folders above it are made.
        content: a text, or bytes.
        on_disk: only once the bytes are on disk has the file its name.

    Raises:
        OSError: it can't be written; what was there before stands.
    """
    path.parent.mkdir(parents=True, exist_ok=True)
    fresh = path.with_name(f"{path.name}.{secrets.token_hex(4)}.new")
    handle = os.open(fresh, os.O_WRONLY | os.O_CREAT | os.O_EXCL, OWNER_ONLY)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(content.encode() if isinstance(content, str) else content)
            if on_disk:
                file.flush()
                os.fsync(handle)
        fresh.replace(path)
    except OSError:
        fresh.unlink(missing_ok=True)
        raise


def others_may_read(status: os.stat_result) -> bool:
    """Whether a file is open to others than its owner, where the system has such a thing."""
    return os.name == "posix" and bool(stat.S_IMODE(status.st_mode) & 0o077)


def is_ours(status: os.stat_result) -> bool:
    """Whether a file is this user's, and open to nobody else."""
    return os.name != "posix" or (not others_may_read(status) and status.st_uid == os.getuid())
