"""Reads a session's journal from its file, or files where a disk's fault made a second one.

`S.jsonl` is the journal of session S. After an fsync error the rest of it stands in
`S.part2.jsonl`, then `S.part3.jsonl`: the same chain of lines, gone on with from the last line
known to be on disk. Lines of an earlier part from a later part's first seq on don't count:
they were never confirmed or are gone in part, and the later part holds them again.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from barrelfit.acquire.journal.codec import Record
from barrelfit.acquire.journal.damage import (
    CorruptError,
    Hole,
    HoleError,
    LinesGoneError,
    UnreadableError,
)
from barrelfit.acquire.journal.disk import Disk, write_all
from barrelfit.acquire.journal.lines import LINE_BYTES_MAX, Head, Scanner, check_tail
from barrelfit.rules.said import Said, said

SUFFIX: Final = ".jsonl"
CHUNK_BYTES: Final = 1024 * 1024
_PART: Final = re.compile(r"\.part\d+\.jsonl$")
_FIRST_SEQ: Final = re.compile(rb'\{"seq":(\d{1,18}),')


@dataclass(frozen=True, slots=True)
class Torn:
    """The unfinished end of a file: `length` bytes from `start`, never confirmed to anyone.

    `nuls` says whether a power cut left NUL bytes in it.
    """

    path: Path
    start: int
    length: int
    nuls: bool = False

    @property
    def told(self) -> Said:
        """Where it is."""
        count, start, file = self.length, self.start, self.path.name
        if self.nuls:
            return said("torn_at_nuls", count=count, start=start, file=file)
        return said("torn_at", count=count, start=start, file=file)


@dataclass(frozen=True, slots=True)
class Span:
    """Whole lines in one stretch of a file; `first_seq` is the first line's."""

    first_seq: int
    path: Path
    start: int
    end: int


def part_path(journal: Path, number: int) -> Path:
    """Path of a journal's part; number 1 is the journal itself."""
    if number == 1:
        return journal
    return journal.with_name(f"{journal.name.removesuffix(SUFFIX)}.part{number}{SUFFIX}")


def is_part(path: Path) -> bool:
    """Tell whether a file is a later part of a session's journal, not a session of its own."""
    return _PART.search(path.name) is not None


def parts_of(journal: Path, disk: Disk) -> list[Path]:
    """All files of a journal, in order; empty when there is no such journal."""
    found: list[Path] = []
    while disk.size(path := part_path(journal, len(found) + 1)) is not None:
        found.append(path)
    return found


class JournalReader:
    """Reads all parts of a journal as one chain, with bounded memory.

    After `blocks` has been read to its end: `head` is how far the journal reaches (its length
    is that in the last part), `torn` lists the tails that a crash left, `holes` what is gone
    in the middle of a file.

    Args:
        journal: its first file.
        disk: where it is.
        past_holes: whether what stands behind a hole is read; else a hole is an error, which says
            how much stands there.
    """

    def __init__(self, journal: Path, disk: Disk, *, past_holes: bool = False) -> None:
        self._disk = disk
        self._journal = journal
        self._past_holes = past_holes
        self.holes: list[tuple[Path, Hole]] = []
        self.parts = parts_of(journal, disk)
        self.head = Head()
        self.torn: list[Torn] = []
        self.spans: list[Span] = []
        self.reading: Path = journal

    def blocks(self) -> Iterator[list[Record]]:
        """Give the records, many at a time.

        Raises:
            CorruptError: a line is not what was written; `reading` names the file.
            LinesGoneError: lines are gone between two files, or in a hole and those behind it were
                not asked for.
            UnreadableError: a line was written by a newer version.
        """
        try:
            yield from self._blocks()
        except HoleError as error:
            raise HoleError(error.hole, self._behind(error.hole)) from None

    def _behind(self, hole: Hole) -> Said:
        """Say how many sound lines stand behind a hole, and how they are seen."""
        reader, count = JournalReader(self._journal, self._disk, past_holes=True), 0
        try:
            for records in reader.blocks():
                count += sum(record.seq > hole.last_seq for record in records)
        except (CorruptError, UnreadableError) as error:
            return said("lines_behind_then", count=count, what=error.what)
        return said("lines_behind_shown", count=count)

    def _blocks(self) -> Iterator[list[Record]]:
        starts = [1, *(self._first_seq(path) for path in self.parts[1:])]
        for index, path in enumerate(self.parts):
            later = [seq for seq in starts[index + 1 :] if seq is not None]
            if starts[index] is not None:
                yield from self._part(path, min(later) if later else None)
            elif not later:
                self._torn_part(path)

    def _part(self, path: Path, stop_seq: int | None) -> Iterator[list[Record]]:
        """Give the records of one part up to, not including, `stop_seq`."""
        self.reading = path
        head = Head(self.head.seq, self.head.hash)
        scanner = Scanner(head, stop_seq, past_holes=self._past_holes)
        self.head = scanner.head
        start = 0
        while not scanner.stopped and (chunk := self._disk.read(path, start, CHUNK_BYTES)):
            start += len(chunk)
            before = scanner.head
            try:
                records = scanner.feed(chunk)
            finally:
                self.head = scanner.head
                known = sum(place == path for place, _ in self.holes)
                self.holes += [(path, hole) for hole in scanner.holes[known:]]
            if records:
                self.spans.append(Span(before.seq + 1, path, before.length, scanner.head.length))
                yield records
        torn = scanner.end()
        if torn:
            nuls = b"\0" in self._disk.read(path, start - torn, min(torn, LINE_BYTES_MAX))
            self.torn.append(Torn(path, start - torn, torn, nuls))
        if stop_seq is not None and not scanner.stopped:
            problem = said("next_file_begins", line=stop_seq)
            raise LinesGoneError(scanner.head.seq + 1, problem)

    def _torn_part(self, path: Path) -> None:
        """Take a later part that no whole line ever got into: all of it is a torn tail.

        It began with the first line not known to be on disk, which may stand in an earlier part.
        """
        self.reading = path
        tail = self._disk.read(path, 0, LINE_BYTES_MAX)
        if b"\n" in tail:
            behind = sum(piece.startswith(b'{"seq":') for piece in tail.split(b"\n"))
            is_hole = tail.startswith(b"\0")
            what = (
                said("no_record_begin_hole", count=behind) if is_hole else said("no_record_begin")
            )
            raise CorruptError(1, what)
        check_tail(tail, 1)
        self.head = Head(self.head.seq, self.head.hash)
        if tail:
            self.torn.append(Torn(path, 0, self._disk.size(path) or len(tail)))

    def _first_seq(self, path: Path) -> int | None:
        """Seq of a part's first line; None when no whole line ever got into it."""
        start = self._disk.read(path, 0, 64)
        found = _FIRST_SEQ.match(start)
        if found and b"\n" in self._disk.read(path, 0, LINE_BYTES_MAX):
            return int(found.group(1))
        return None


def set_aside(disk: Disk, journal: Path, path: Path, start: int) -> tuple[str, int]:
    """Copy a torn tail into a side file, then cut it; gives the side file's name and length."""
    size = disk.size(path) or 0
    tail = disk.read(path, start, size - start)
    number = 1
    stem = journal.name.removesuffix(SUFFIX)
    while disk.size(aside := journal.with_name(f"{stem}.torn{number}")) is not None:
        number += 1
    for target, action in ((aside, "keep"), (path, "cut")):
        file = disk.append_to(target)
        try:
            if action == "keep":
                write_all(file, tail)
            else:
                file.truncate(start)
            file.sync()
        finally:
            file.close()
    disk.sync_folder(journal.parent)
    return aside.name, len(tail)
