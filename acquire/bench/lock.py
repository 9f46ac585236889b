"""One daemon per bench: a lock that the system itself gives back when its holder dies."""

import json
import logging
import os
import stat
import sys
from pathlib import Path
from types import TracebackType

from barrelfit.acquire.errors import UserError
from barrelfit.acquire.journal.disk import OWNER_ONLY
from barrelfit.rules.said import Said, said, written

log = logging.getLogger("barrelfit")

# Not waiting either, where a named pipe stands in its place.
_NOT_THROUGH_A_LINK = getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_NONBLOCK", 0)


class BenchLock:
    """Holds a bench's lock file while it is open; the file says who holds it.

    The lock is the operating system's lock on the file, not the file's being there: after a
    kill -9 nothing has to be cleaned up.
    """

    def __init__(self, path: Path, bench: str) -> None:
        """Take the lock.

        Raises:
            UserError: another process holds it (its pid and bench are named), or what stands in
                its place is no plain file of its own: that would be overwritten.
        """
        self._path, self._bench = path, bench
        self._fd = _taken(path, bench)
        self._said = ""

    def look(self) -> None:
        """Call now and then: a lock file that was taken away is made and locked anew.

        Else a second daemon could begin beside this one. What keeps it from being made again is
        told once.
        """
        try:
            there: os.stat_result | None = self._path.lstat()
        except OSError:
            there = None
        if there is not None and os.path.samestat(there, os.fstat(self._fd)):
            self._said = ""
            return
        try:
            self._path.parent.mkdir(parents=True, exist_ok=True)
            fd = _taken(self._path, self._bench)
        except (OSError, UserError) as error:
            why = str(error) if isinstance(error, UserError) else f"{error.strerror}"
            if why != self._said:
                log.warning("%s: this bench has no lock: it was taken away; %s", self._path, why)
            self._said = why
            return
        os.close(self._fd)
        self._fd, self._said = fd, ""
        log.warning("%s: the lock of this bench was taken away; it is there again", self._path)

    def release(self) -> None:
        """Give the lock back."""
        os.ftruncate(self._fd, 0)
        os.close(self._fd)

    def __enter__(self) -> "BenchLock":
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.release()


def _taken(path: Path, bench: str) -> int:
    """The descriptor of a lock file that is locked by us; see `BenchLock`."""
    try:
        fd = os.open(path, os.O_RDWR | os.O_CREAT | _NOT_THROUGH_A_LINK, OWNER_ONLY)
    except OSError as error:
        raise UserError([_unusable(path, written(error.strerror or ""))]) from None
    found = os.fstat(fd)
    if not stat.S_ISREG(found.st_mode) or found.st_nlink > 1:
        os.close(fd)
        raise UserError([_unusable(path, said("has_another_name"))])
    try:
        _lock(fd)
    except OSError:
        os.close(fd)
        raise UserError([_held(path, bench)]) from None
    os.ftruncate(fd, 0)
    os.write(fd, json.dumps({"pid": os.getpid(), "bench": bench}).encode())
    return fd


def _unusable(path: Path, why: Said) -> Said:
    """Say why what stands in the lock file's place is not touched."""
    if path.is_symlink():
        why = said("is_a_link", target=str(path.readlink()))
    elif path.exists() and not path.is_file():
        why = said("is_no_plain_file")
    return said("unusable_lock", path=str(path), why=why)


def _held(path: Path, bench: str) -> Said:
    """Say who holds a lock, as far as its file tells."""
    try:
        holder = json.loads(path.read_text(encoding="utf-8"))
        pid, of = int(holder["pid"]), str(holder["bench"])
        who = said("process_of_bench", pid=pid, bench=of)
    except (OSError, ValueError, KeyError, TypeError):
        who = said("another_process")
    return said("bench_is_run", bench=bench, who=who)


if sys.platform == "win32":
    import msvcrt

    _FAR = 1 << 30  # locks a byte beyond the text, so that others can still read who holds it

    def _lock(fd: int) -> None:
        os.lseek(fd, _FAR, os.SEEK_SET)
        msvcrt.locking(fd, msvcrt.LK_NBLCK, 1)
        os.lseek(fd, 0, os.SEEK_SET)

else:
    import fcntl

    def _lock(fd: int) -> None:
        fcntl.flock(fd, fcntl.LOCK_EX | fcntl.LOCK_NB)
