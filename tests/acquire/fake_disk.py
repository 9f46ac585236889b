"""A disk in memory that fails on request and forgets what was not synced."""

from __future__ import annotations

import errno
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from barrelfit.acquire.journal.disk import FileStanding

if TYPE_CHECKING:
    import random
    from pathlib import Path


@dataclass
class _Node:
    """A file's content: what programs see, and what would outlive a power cut."""

    seen: bytearray = field(default_factory=bytearray)
    kept: bytes | None = None  # None: not even its being there


class PowerError(BaseException):
    """The machine went off in the middle of an operation; nobody may catch this."""


class FakeFile:
    def __init__(self, disk, path, node):
        self._disk = disk
        self._path = path
        self._node = node
        self._open = True

    def write(self, data):
        assert self._open
        taken = self._disk.step("write", len(data))
        room = self._disk.room
        if room is not None:
            used = sum(len(n.seen) for n in self._disk.files.values())
            if used >= room:
                raise OSError(errno.ENOSPC, "No space left on device")
            taken = min(taken, room - used)
        self._node.seen += data[:taken]
        return taken

    def sync(self):
        assert self._open
        self._disk.step("sync")
        self._node.kept = bytes(self._node.seen)

    def truncate(self, length):
        assert self._open
        self._disk.step("truncate")
        del self._node.seen[length:]

    def standing(self):
        assert self._open
        named = self._disk.files.get(self._path)
        name = "its" if named is self._node else "nobody's" if named is None else "another's"
        return FileStanding(name, len(self._node.seen))

    def read(self, start, length):
        assert self._open
        return bytes(self._node.seen[start : start + length])

    def close(self):
        self._open = False


class FakeDisk:
    """Keeps files by path.

    `fail_at` is the number (from 1) of the operation that fails; `fault` says how: "error" (EIO,
    nothing done), "short" (a write takes half, then the next one fails), "off" (power cut).
    `fail_count` operations fail in a row from there on.
    """

    def __init__(self, fail_at=0, fault="error", fail_count=1):
        self.files: dict[Path, _Node] = {}
        self.operations = 0
        self.room: int | None = None
        self._fail = range(fail_at, fail_at + fail_count) if fail_at else range(0)
        self._fault = fault
        self.log: list[str] = []

    @property
    def reached(self):
        """Whether the operation that was to fail has come."""
        return self.operations >= self._fail.start

    def step(self, name, size=0):
        self.operations += 1
        self.log.append(name)
        if self.operations not in self._fail:
            return size
        if self._fault == "off":
            raise PowerError
        if self._fault == "short" and name == "write" and size > 1:
            self._fail = range(self.operations + 1, self.operations + 2)
            return size // 2
        raise OSError(errno.EIO, "Input/output error")

    def append_to(self, path):
        self.step("open")
        return FakeFile(self, path, self.files.setdefault(path, _Node()))

    def size(self, path):
        return len(self.files[path].seen) if path in self.files else None

    def read(self, path, start, length):
        return bytes(self.files[path].seen[start : start + length])

    def remove(self, path):
        self.step("remove")
        self.files.pop(path, None)

    def sync_folder(self, folder):
        self.step("sync_folder")
        for path, node in self.files.items():
            if path.parent == folder and node.kept is None:
                node.kept = b""

    def make_folder(self, folder):
        self.step("make_folder")

    def rename(self, path, to):
        self.step("rename")
        self.files[to] = self.files.pop(path)

    def power_cut(self, chance: random.Random, *, tail="prefix"):
        """What the next start finds: synced bytes, and by chance a part of the others.

        `tail` is "none", "prefix" or "nuls" (the length was kept, the content was not).
        """
        after = FakeDisk()
        for path, node in self.files.items():
            if node.kept is None:
                continue
            unsynced = bytes(node.seen[len(node.kept) :])
            left = unsynced[: chance.randint(0, len(unsynced))] if tail != "none" else b""
            if tail == "nuls":
                left += bytes(chance.randint(0, len(unsynced) - len(left)))
            content = bytearray(node.kept + left)
            after.files[path] = _Node(content, bytes(content))
        return after
