"""The few things a journal asks of a disk, so that a test can be the disk that fails.

Every method may raise OSError. `write` may take fewer bytes than it was given and say so.
"""

import contextlib
import errno
import os
from dataclasses import dataclass
from pathlib import Path
from typing import Final, Literal, Protocol

OWNER_ONLY: Final = 0o600  # a record names who measured what for whom


@dataclass(frozen=True, slots=True)
class FileStanding:
    """How an open file stands: whether its name is another file's now, or nobody's; its bytes.

    A program may go on writing to a file that was deleted: all is well, and nothing is kept.
    """

    name: Literal["its", "nobody's", "another's"]
    length: int


class DiskFile(Protocol):
    """A file that only grows at its end."""

    def standing(self) -> FileStanding:
        """Tell whether the file is still the one that is found by its name, and how long it is."""
        ...

    def read(self, start: int, length: int) -> bytes:
        """Read at most `length` bytes of this very file, whatever its name leads to by now."""
        ...

    def write(self, data: bytes) -> int:
        """Append bytes; gives how many were taken."""
        ...

    def sync(self) -> None:
        """Return only when all that was written would outlive a power cut."""
        ...

    def truncate(self, length: int) -> None:
        """Cut the file back to `length` bytes."""
        ...

    def close(self) -> None:
        """Let go of the file; the data is where the last `sync` left it."""
        ...


class Disk(Protocol):
    """A folder's worth of files."""

    def append_to(self, path: Path) -> DiskFile:
        """Open a file for appending; it is made when there is none."""
        ...

    def size(self, path: Path) -> int | None:
        """Length of a file in bytes; None when there is none."""
        ...

    def read(self, path: Path, start: int, length: int) -> bytes:
        """Read at most `length` bytes from `start`; fewer only at the file's end."""
        ...

    def remove(self, path: Path) -> None:
        """Delete a file; one that is not there is no error."""
        ...

    def sync_folder(self, folder: Path) -> None:
        """Make files that were made or deleted in a folder outlive a power cut."""
        ...

    def make_folder(self, folder: Path) -> None:
        """Make a folder and those above it; one that is there is no error."""
        ...

    def rename(self, path: Path, to: Path) -> None:
        """Give a file another name in the same folder."""
        ...


class _RealFile:
    """A file of this machine, unbuffered."""

    def __init__(self, path: Path) -> None:
        # Never through a link that somebody laid there: it would be another file that is written.
        flags = os.O_RDWR | os.O_CREAT | os.O_APPEND | getattr(os, "O_NOFOLLOW", 0)
        flags |= getattr(os, "O_CLOEXEC", 0) | getattr(os, "O_BINARY", 0)
        self._path = path
        self._fd = os.open(path, flags, OWNER_ONLY)
        own = os.fstat(self._fd)
        self._own = own.st_ino, own.st_dev  # nobody else's as long as the file is open

    def standing(self) -> FileStanding:
        try:
            named = self._path.stat(follow_symlinks=False)
        except (FileNotFoundError, NotADirectoryError):
            return FileStanding("nobody's", os.fstat(self._fd).st_size)
        if (named.st_ino, named.st_dev) == self._own:
            return FileStanding("its", named.st_size)
        return FileStanding("another's", os.fstat(self._fd).st_size)

    def read(self, start: int, length: int) -> bytes:
        os.lseek(self._fd, start, os.SEEK_SET)  # writing goes to the end in any case
        pieces = []
        while length > 0 and (piece := os.read(self._fd, length)):
            pieces.append(piece)
            length -= len(piece)
        return b"".join(pieces)

    def write(self, data: bytes) -> int:
        return os.write(self._fd, data)

    def sync(self) -> None:
        getattr(os, "fdatasync", os.fsync)(self._fd)

    def truncate(self, length: int) -> None:
        os.ftruncate(self._fd, length)

    def close(self) -> None:
        os.close(self._fd)


class RealDisk:
    """This machine's file system."""

    def append_to(self, path: Path) -> DiskFile:
        """Open a file for appending; it is made when there is none."""
        return _RealFile(path)

    def size(self, path: Path) -> int | None:
        """Length of a file in bytes; None when there is none."""
        try:
            return path.stat().st_size
        except FileNotFoundError:
            return None

    def read(self, path: Path, start: int, length: int) -> bytes:
        """Read at most `length` bytes from `start`; fewer only at the file's end."""
        with path.open("rb", buffering=0) as file:
            file.seek(start)
            pieces = []
            while length > 0 and (piece := file.read(length)):
                pieces.append(piece)
                length -= len(piece)
        return b"".join(pieces)

    def remove(self, path: Path) -> None:
        """Delete a file; one that is not there is no error."""
        with contextlib.suppress(FileNotFoundError):
            path.unlink()

    def sync_folder(self, folder: Path) -> None:
        """Make new and deleted names outlive a power cut, where a folder can be opened at all."""
        if os.name == "nt":
            return  # Windows has no such call; its file system journals names itself
        fd = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
        try:
            os.fsync(fd)
        finally:
            os.close(fd)

    def make_folder(self, folder: Path) -> None:
        """Make a folder and those above it; one that is there is no error."""
        folder.mkdir(parents=True, exist_ok=True)

    def rename(self, path: Path, to: Path) -> None:
        """Give a file another name in the same folder."""
        path.rename(to)


def write_all(file: DiskFile, data: bytes) -> None:
    """Write every byte, however few the disk takes at a time.

    Raises:
        OSError: the disk takes no more.
    """
    view = memoryview(data)
    while view:
        taken = file.write(bytes(view) if len(view) < len(data) else data)
        if taken <= 0:
            raise OSError(errno.EIO, "the disk took nothing")
        view = view[taken:]
