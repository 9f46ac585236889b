"""The files a session's journal is written to: one at a time, and the next where one failed.

Knows bytes and lengths only; `acquire.journal.writer` decides what is written and what counts.

A program may go on writing to a file that somebody has deleted or renamed, and be told that all is
well. So before and after each writing it is asked whether the file is still the one of its name and
as long as it must be; what was written before is then put back (`put_back`), from the open file,
which the system keeps until it is closed.
"""

import contextlib
import errno
from bisect import bisect_right
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from barrelfit.acquire.journal.damage import CorruptError, UnreadableError
from barrelfit.acquire.journal.disk import Disk, DiskFile, write_all
from barrelfit.acquire.journal.parts import (
    CHUNK_BYTES,
    SUFFIX,
    JournalReader,
    Span,
    part_path,
    set_aside,
)

RESERVE_BYTES: Final = 256 * 1024
LAST_WORD_BYTES: Final = 8 * 1024
"""What stays of the reserve for the session's last word, when all else of it is given up."""
SPAN_BYTES: Final = 256 * 1024


class GoneError(OSError):
    """The file that is written was taken away or changed: `what` was done to `file`."""

    def __init__(self, file: str, what: str) -> None:
        super().__init__(errno.ESTALE, f"{file} was {what} by somebody else")
        self.file = file
        self.what = what


@dataclass(frozen=True, slots=True)
class PutBack:
    """What stands on disk again: records up to `certain`; another file is kept as `aside`."""

    certain: int
    aside: str


class PartFiles:
    """The parts of one journal, from the last one found on."""

    def __init__(self, journal: Path, disk: Disk, found: JournalReader) -> None:
        """Go on behind what a reader has read to its end.

        Args:
            journal: path of the first part.
            disk: where all parts are kept.
            found: what is there already.
        """
        self._journal = journal
        self._disk = disk
        self._number = max(1, len(found.parts))
        self._length = found.head.length  # of the present part, as far as it is confirmed
        self._spans = found.spans
        self._earlier: dict[Path, int] = {}
        self._file: DiskFile | None = None

    @property
    def name(self) -> str:
        """Name of the present part."""
        return part_path(self._journal, self._number).name

    @property
    def writable(self) -> bool:
        """Whether the present part takes more; a next one is begun where it does not."""
        return self._file is not None

    def start(self) -> None:
        """Open the file for writing and lay the reserve aside; raises OSError."""
        path = part_path(self._journal, self._number)
        self._file = self._disk.append_to(path)
        self._file.sync()
        self._earlier = {s.path: s.end for s in self._spans if s.path != path}
        self._disk.remove(self._reserve)
        reserve = self._disk.append_to(self._reserve)
        try:
            write_all(reserve, bytes(RESERVE_BYTES))
            reserve.sync()
        finally:
            reserve.close()
        self._disk.sync_folder(self._journal.parent)

    def write(self, data: bytes) -> None:
        """Write and sync `data` once; on an error nothing of it is left where it would count.

        Raises:
            OSError: the disk refused.
        """
        file = self._file or self._next_part()
        self._look_at(file, self._length)
        try:
            write_all(file, data)
        except OSError:
            self._cut_back(file)
            raise
        try:
            file.sync()
        except OSError:
            self._give_up(file)
            raise
        self._look_at(file, self._length + len(data))

    def check(self) -> None:
        """Ask whether the file is still what was written, without writing; raises OSError."""
        if self._file is not None:
            self._look_at(self._file, self._length)

    def put_back(self, last_seq: int) -> PutBack:
        """After a `GoneError`, bring what was confirmed on disk again, as far as it is to be had.

        Args:
            last_seq: of the last record that was confirmed.

        Raises:
            OSError: the disk refused; to be tried again, as nothing was given up.
        """
        file, aside, whole = self._file, "", False
        path = part_path(self._journal, self._number)
        if file is not None and (standing := file.standing()).name != "its":
            self._disk.make_folder(path.parent)
            aside = self._move_away(path) if standing.name == "another's" else ""
            file = self._file = self._copy(file, path, min(standing.length, self._length))
            whole = standing.length >= self._length
        elif file is not None and standing.length > self._length:
            aside, _ = set_aside(self._disk, self._journal, path, self._length)
        for earlier in self._earlier:  # without its name the parts behind it would not be found
            self._disk.append_to(earlier).close()
        reader = JournalReader(self._journal, self._disk)
        with contextlib.suppress(CorruptError, UnreadableError):  # as far as it is whole
            for _ in reader.blocks():
                pass
        self._spans = reader.spans
        if file is not None and not (whole and reader.head.seq == last_seq):
            self._file = None  # whoever cut it may do so again: the next part is begun
            file.close()
        if self._file is None:
            self._next_part()
        return PutBack(min(reader.head.seq, last_seq), aside)

    def confirm(self, first_seq: int, size: int) -> None:
        """Take the `size` bytes written last for lines that count, the first being `first_seq`."""
        path = part_path(self._journal, self._number)
        start, self._length = self._length, self._length + size
        last = self._spans[-1] if self._spans else None
        if last and last.path == path and start - last.start < SPAN_BYTES:
            self._spans[-1] = Span(last.first_seq, path, last.start, self._length)
        else:
            self._spans.append(Span(first_seq, path, start, self._length))

    def lines(self, seq: int, limit: int) -> list[bytes]:
        """Read confirmed lines back: at most `limit`, from the one after `seq` on."""
        index = bisect_right(self._spans, seq + 1, key=lambda span: span.first_seq) - 1
        lines: list[bytes] = []
        for span in self._spans[index:]:
            stretch = self._disk.read(span.path, span.start, span.end - span.start)
            found = stretch.splitlines(keepends=True)
            lines += found[max(0, seq + 1 - span.first_seq) :]
            if len(lines) >= limit:
                break
        return lines[:limit]

    def give_up_reserve(self, keep: int = LAST_WORD_BYTES) -> int | None:
        """Free the reserve file's room; gives the bytes, None when it was given up before.

        Args:
            keep: so many bytes are not freed.
        """
        try:
            size = self._disk.size(self._reserve)
            if size is None or size <= keep:
                return None
            reserve = self._disk.append_to(self._reserve)
            reserve.truncate(keep)
            reserve.close()
        except OSError:
            return None
        return size - keep

    def close(self, *, complete: bool) -> None:
        """Let the file go, and the reserve too when everything is on disk."""
        if self._file is not None:
            self._file.close()
            self._file = None
        if complete:
            with contextlib.suppress(OSError):  # left over, it harms nobody
                self._disk.remove(self._reserve)

    # ------------------------------------------------------------ inside

    @property
    def _reserve(self) -> Path:
        name = self._journal.name.removesuffix(SUFFIX)
        return self._journal.with_name(f"{name}.reserve")

    def _next_part(self) -> DiskFile:
        """Begin the session's next file; one that never confirmed anything is begun anew."""
        number = self._number + 1 if self._holds_lines(self._number) else self._number
        path = part_path(self._journal, number)
        self._disk.remove(path)
        file = self._disk.append_to(path)
        try:
            self._disk.sync_folder(path.parent)
        except OSError:
            file.close()
            raise
        self._file, self._number, self._length = file, number, 0
        self._earlier = {span.path: span.end for span in self._spans}
        return file

    def _holds_lines(self, number: int) -> bool:
        """Whether a part holds confirmed lines; the first part is never begun anew."""
        return number == 1 or any(s.path == part_path(self._journal, number) for s in self._spans)

    def _look_at(self, file: DiskFile, length: int) -> None:
        """Raise `GoneError` when a file is not the one of its name, or not so long.

        Earlier parts, written to no more, must be there and as long as they are counted on.
        """
        for path, needed in self._earlier.items():
            size = self._disk.size(path)
            if size is None or size < needed:
                raise GoneError(path.name, "removed" if size is None else "cut")
        standing = file.standing()
        what = {"nobody's": "removed", "another's": "replaced"}.get(standing.name, "")
        if not what and standing.length != length:
            what = "cut" if standing.length < length else "grown"
        if what:
            raise GoneError(self.name, what)

    def _move_away(self, path: Path) -> str:
        """Give another's file, which stands where ours must, another name; gives that."""
        number, stem = 1, self._journal.name.removesuffix(SUFFIX)
        while self._disk.size(aside := path.with_name(f"{stem}.strange{number}")) is not None:
            number += 1
        self._disk.rename(path, aside)
        return aside.name

    def _copy(self, file: DiskFile, path: Path, length: int) -> DiskFile:
        """Write the first `length` bytes of a file that has lost its name under that name again."""
        new = self._disk.append_to(path)
        try:
            for start in range(0, length, CHUNK_BYTES):
                write_all(new, file.read(start, min(CHUNK_BYTES, length - start)))
            new.sync()
            self._disk.sync_folder(path.parent)
        except OSError:
            with contextlib.suppress(OSError):
                new.close()
                self._disk.remove(path)
            raise
        with contextlib.suppress(OSError):
            file.close()
        return new

    def _cut_back(self, file: DiskFile) -> None:
        """Cut half-written records away; where even that fails, give the file up."""
        try:
            file.truncate(self._length)
        except OSError:
            self._give_up(file)

    def _give_up(self, file: DiskFile) -> None:
        """Never write to this file again; cut it back if it lets us."""
        self._file = None
        with contextlib.suppress(OSError):  # `journal.parts` reads past what may be left
            file.truncate(self._length)
        with contextlib.suppress(OSError):
            file.close()


def is_full(error: OSError) -> bool:
    """Tell whether a disk refused because it has no room."""
    return error.errno in {errno.ENOSPC, errno.EDQUOT}
