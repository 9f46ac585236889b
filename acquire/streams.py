"""`-` in the place of a file: standard input, standard output."""

import atexit
import shutil
import sys
import tempfile
from pathlib import Path
from typing import Final

from barrelfit.acquire.errors import UserError
from barrelfit.rules.said import said

STANDARD: Final = "-"
INPUT_NAME: Final = "standard input"


def is_standard(path: str | Path) -> bool:
    """Whether standard input or output is meant."""
    return str(path) == STANDARD


def name_of(path: str | Path) -> str:
    """How messages call a file that is read."""
    return INPUT_NAME if is_standard(path) else str(path)


def read_bytes(path: Path) -> bytes:
    """The content of a file, or of standard input; raises OSError as `Path.read_bytes` does."""
    if not is_standard(path):
        return path.read_bytes()
    if sys.stdin is None:
        raise UserError([said("input_closed")])
    return sys.stdin.buffer.read()


def write_bytes(path: Path, content: bytes) -> None:
    """Write a file, or to standard output.

    Raises:
        UserError: the file can't be written.
    """
    if is_standard(path):
        sys.stdout.flush()
        sys.stdout.buffer.write(content)
        sys.stdout.buffer.flush()
        return
    try:
        path.write_bytes(content)
    except OSError as error:
        raise UserError([said("of_file", file=str(path), what=str(error.strerror))]) from None


def spooled_input(suffix: str) -> Path:
    """Standard input as a file, for a reader that goes back and forth; it goes when we end.

    Args:
        suffix: what the file's name must end with.
    """
    folder = Path(tempfile.mkdtemp(prefix="barrelfit-"))
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    path = folder / f"standard-input{suffix}"
    path.write_bytes(read_bytes(Path(STANDARD)))
    return path
