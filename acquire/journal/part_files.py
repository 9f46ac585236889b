"""The files a session's journal is written to: one at a time, and the next where one failed.

Knows bytes and lengths only; `acquire.journal.writer` decides what is written and what counts.
"""

import contextlib
import errno
from bisect import bisect_right
from pathlib import Path
from typing import Final

from barrelfit.acquire.journal.disk import Disk, DiskFile, write_all
from barrelfit.acquire.journal.parts import SUFFIX, JournalReader, Span, part_path

RESERVE_BYTES: Final = 256 * 1024
SPAN_BYTES: Final = 256 * 1024


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
        self._file = self._disk.append_to(part_path(self._journal, self._number))
        self._file.sync()
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

    def give_up_reserve(self) -> int | None:
        """Free the reserve file's room; gives its bytes, None when it was given up before."""
        try:
            size = self._disk.size(self._reserve)
            if size is None:
                return None
            self._disk.remove(self._reserve)
        except OSError:
            return None
        return size

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
        return file

    def _holds_lines(self, number: int) -> bool:
        """Whether a part holds confirmed lines; the first part is never begun anew."""
        return number == 1 or any(s.path == part_path(self._journal, number) for s in self._spans)

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
