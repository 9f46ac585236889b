"""Benches that keep their sessions in one folder are each other's witnesses, without a common bus.

Each keeps its head in a small file there (`BENCH.head`), and looks at the others'.
"""

import contextlib
from pathlib import Path
from typing import Final

import msgspec

from barrelfit.acquire.journal.lines import Head
from barrelfit.acquire.private_files import write_private
from barrelfit.acquire.topics import BENCH_NAME

SUFFIX: Final = ".head"
HEAD_BYTES_MAX: Final = 1_024


class _Told(msgspec.Struct, frozen=True):
    session: str
    seq: int
    head: str


_TOLD: Final = msgspec.json.Decoder(_Told)


class Neighbours:
    """One bench among those of a folder.

    Args:
        folder: where sessions are kept.
        bench: this bench's name.
    """

    def __init__(self, folder: Path, bench: str) -> None:
        self._folder = folder
        self._own = folder / f"{bench}{SUFFIX}"

    def tell(self, session: str, head: Head) -> None:
        """Show the others how far this bench's record is; a disk that refuses keeps it to us."""
        told = msgspec.json.encode(_Told(session, head.seq, head.hash)).decode()
        with contextlib.suppress(OSError):
            write_private(self._own, told)

    def others(self) -> list[tuple[str, tuple[str, int, str]]]:
        """The other benches by name, each with session, seq and hash of its last record."""
        found = []
        for path in sorted(self._folder.glob(f"*{SUFFIX}")):
            bench = path.name.removesuffix(SUFFIX)
            if path == self._own or not BENCH_NAME.fullmatch(bench):
                continue
            with contextlib.suppress(OSError, msgspec.MsgspecError), path.open("rb") as file:
                told = _TOLD.decode(file.read(HEAD_BYTES_MAX))
                found.append((bench, (told.session, told.seq, told.head)))
        return found

    def leave(self) -> None:
        """Say no more: the others keep the last head they saw."""
        with contextlib.suppress(OSError):
            self._own.unlink(missing_ok=True)
