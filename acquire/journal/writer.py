"""Writes a session's journal so that what it confirms is on disk, whatever the disk does.

`append` seals a record in memory; `flush` writes all waiting records in one go and asks the disk
to keep them; only then do `durable` and `lines_since` speak of them, and only those may be shown
to anyone as saved. What can go wrong, and what is done:

- Short write, full disk, write error: the file is cut back to its last good length; a full disk
  gets the reserve file's room; else recording has stopped (`trouble` says why), records wait in
  memory up to a limit, and `flush` tries again.
- fsync error: what the file holds is no longer certain and a second fsync would lie, so the file
  is given up and the same records go into the session's next part (see `journal.parts`).
- The file is deleted, renamed, replaced, cut or written to by somebody else: `trouble` says so at
  once, what was recorded is put back, from the open file and from memory, and a new file is begun;
  what could not be put back is named. Looked for at each flush, also when nothing waits.
- Crash, power cut: on opening, an unfinished last line is kept in a side file and cut.
- A wrong line, terminated: refused, by name.

Facts about the recording itself (resumed, stopped, reserve used) are journaled here.
`append` and `flush` may be called from different threads.
"""

import contextlib
import threading
from collections import deque
from collections.abc import Callable, Iterator
from itertools import islice
from pathlib import Path
from typing import Final

from barrelfit.acquire.errors import BarrelfitError, UserError
from barrelfit.acquire.journal.codec import Record
from barrelfit.acquire.journal.damage import CorruptError, LinesGoneError, UnreadableError
from barrelfit.acquire.journal.disk import Disk
from barrelfit.acquire.journal.events import (
    Event,
    SessionClosed,
    SessionResumed,
    SessionSigned,
)
from barrelfit.acquire.journal.lines import Head, Stamp, after, seal
from barrelfit.acquire.journal.part_files import GoneError, PartFiles, is_full
from barrelfit.acquire.journal.parts import JournalReader, set_aside
from barrelfit.acquire.journal.record_events import (
    EndUnsaved,
    RecordGone,
    RecordingResumed,
    RecordingStopped,
    RecordPutBack,
    ReserveUsed,
)
from barrelfit.rules.said import said

WAITING_BYTES_MAX: Final = 32 * 1024 * 1024
RETRY_NS: Final = 500_000_000
RECENT_LINES: Final = 8192


class JournalRefusedError(BarrelfitError):
    """A record was turned away: nothing can be written and no more can wait in memory."""


class NotGoneOnWithError(UserError):
    """Of an unfinished session lines are gone: it stays as it is, and a new one is begun."""


class JournalFile:
    """The one writer of a session's journal. Make it with `create` or `resume`."""

    def __init__(
        self, path: Path, disk: Disk, stamp: Callable[[], Stamp], found: JournalReader
    ) -> None:
        self.path = path
        self.trouble = ""
        self._stamp = stamp
        self._parts = PartFiles(path, disk, found)
        self._durable = found.head
        self._sealed = found.head
        self._waiting: list[bytes] = []
        self._waiting_bytes = 0
        self._refused = 0
        self._gone = False
        self.lost = 0
        self.unsaved: EndUnsaved | None = None
        self._recent: deque[bytes] = deque(maxlen=RECENT_LINES)
        self._tried_ns: int | None = None
        self._lock = threading.Lock()
        self._flushing = threading.Lock()

    @classmethod
    def create(cls, path: Path, disk: Disk, stamp: Callable[[], Stamp]) -> "JournalFile":
        """Begin the journal of a new session.

        Args:
            path: its file, ending in `.jsonl`; must not be there yet.
            disk: where it is kept.
            stamp: gives the time of a record that has none of its own.

        Raises:
            UserError: the file is there already, or the disk refuses.
        """
        with _saying(path):
            if disk.size(path) is not None:
                raise UserError([said("session_there_already", path=str(path))])
            made = cls(path, disk, stamp, JournalReader(path, disk))
            made._parts.start()
        return made

    @classmethod
    def resume(
        cls,
        path: Path,
        disk: Disk,
        stamp: Callable[[], Stamp],
        hear: Callable[[Record], None] | None = None,
    ) -> "JournalFile":
        """Go on with a session that was not closed; journals that it was resumed.

        Args:
            path: its first file.
            disk: where it is kept.
            stamp: gives the time of a record that has none of its own.
            hear: hears of every record that stands there, in order.

        Raises:
            NotGoneOnWithError: lines are gone from it.
            UserError: there is none, it was closed, it is damaged, or the disk refuses.
        """
        with _saying(path):
            reader, last = _read(path, disk, hear)
            if isinstance(last, SessionClosed | SessionSigned):
                raise UserError([said("session_was_closed", path=str(path))])
            torn = [set_aside(disk, path, piece.path, piece.start) for piece in reader.torn]
            made = cls(path, disk, stamp, reader)
            made._parts.start()
        if reader.head.seq:
            names = ", ".join(name for name, _ in torn)
            made.append(SessionResumed(reader.head.seq, sum(n for _, n in torn), names))
        return made

    @classmethod
    def reopen_closed(cls, path: Path, disk: Disk, stamp: Callable[[], Stamp]) -> "JournalFile":
        """Open a closed session, to add a signature to it.

        Raises:
            UserError: there is none, it is not closed, it is damaged, or the disk refuses.
        """
        with _saying(path):
            reader, last = _read(path, disk)
            if not isinstance(last, SessionClosed | SessionSigned) or reader.torn:
                raise UserError([said("session_not_closed", path=str(path))])
            made = cls(path, disk, stamp, reader)
            made._parts.start()
        return made

    @property
    def last_seq(self) -> int:
        """Seq of the last record appended, on disk or not."""
        return self._sealed.seq

    @property
    def head(self) -> Head:
        """Seq and hash of the last record on disk, in one: the hash stands for the session."""
        return self._durable

    @property
    def durable_seq(self) -> int:
        """Seq of the last record that is on disk."""
        return self._durable.seq

    @property
    def head_hash(self) -> str:
        """Hash of the last record that is on disk."""
        return self._durable.hash

    def append(self, event: Event, because: int | None = None, stamp: Stamp | None = None) -> int:
        """Seal a record behind all others and let it wait for `flush`; gives its seq.

        Args:
            event: the document.
            because: seq of the record that caused it.
            stamp: when it happened; now, when left out.

        Raises:
            JournalRefusedError: the disk is in trouble and memory's share is used up.
            CodecError: the document can't be written.
        """
        with self._lock:
            if self._waiting_bytes > WAITING_BYTES_MAX:
                self._refused += 1
                self.lost += 1
                message = said("nothing_written", why=self.trouble or "the disk is too slow")
                raise JournalRefusedError(message)
            return self._append(event, because, stamp or self._stamp())

    def flush(self, *, now: bool = False) -> int:
        """Write all waiting records and make them outlive a power cut; gives `durable_seq`.

        With nothing waiting it is only looked whether the file is still there.

        Never raises OSError: when the disk refuses, `trouble` says why and the records wait.

        Args:
            now: try at once, even when the last try failed less than half a second ago.
        """
        with self._flushing:
            with self._lock:
                waiting, upto = self._waiting[:], self._sealed
            try:
                if not waiting and not self.trouble:
                    self._parts.check()
                elif waiting and (now or self._may_try()):
                    self._write_out(b"".join(waiting))
                    self._confirmed(waiting, upto)
            except OSError as error:
                self._stopped(error)
            return self._durable.seq

    def lines_since(self, seq: int, limit: int = 1000) -> list[bytes]:
        """Sealed lines (newline included) that are on disk, from the one after `seq` on.

        Args:
            seq: 0 for the journal's beginning.
            limit: how many lines at most.
        """
        with self._lock:
            wanted = max(self._durable.seq - seq, 0)
            if wanted <= len(self._recent):
                newest = list(islice(reversed(self._recent), wanted))
                return newest[::-1][:limit]
        try:
            return self._parts.lines(seq, limit)
        except OSError:
            return []  # taken away: the next flush says so

    def settle(self) -> bool:
        """Write what waits, trying more than once; False when not everything is on disk."""
        for _ in range(5):  # a fault's own records come after what it delayed
            self.flush(now=True)
            if self._durable.seq == self._sealed.seq and not self.trouble:
                return True
        return False

    def close(self) -> bool:
        """Write what waits and let the file go; False when not everything is on disk.

        `unsaved` then says what is not, and so does the journal itself where it can be written to.
        """
        complete = self.settle()
        self.let_go(complete=complete)
        return complete

    def let_go(self, *, complete: bool) -> None:
        """Let the file go as it stands, without another try to write what waits.

        Args:
            complete: whether everything is on disk (`settle`).
        """
        if not complete:
            self._last_word()
        self._parts.close(complete=complete)

    # ------------------------------------------------------------ inside

    def _append(self, event: Event, because: int | None, stamp: Stamp) -> int:
        """Seal a record and let it wait; the lock is held."""
        line = seal(self._sealed, event, stamp, because)
        self._sealed = after(self._sealed, line)
        self._waiting.append(line)
        self._waiting_bytes += len(line)
        return self._sealed.seq

    def _may_try(self) -> bool:
        """Whether the disk, when in trouble, has been left alone for a while."""
        if self._tried_ns is None:
            return True
        return self._stamp().t_ns - self._tried_ns >= RETRY_NS

    def _write_out(self, data: bytes) -> None:
        """Get `data` on disk, with one second try where there is another way to go."""
        if self._gone:
            self._put_back()
        try:
            self._parts.write(data)
        except OSError as error:
            freed = is_full(error) and self._give_up_reserve()
            if not freed and self._parts.writable:
                raise
            self._parts.write(data)

    def _give_up_reserve(self) -> bool:
        """Free the reserve file's room; False when it has been given up before."""
        size = self._parts.give_up_reserve()
        if size is None:
            return False
        with self._lock:
            self._append(ReserveUsed(size), None, self._stamp())
        return True

    def _stopped(self, error: OSError) -> None:
        """Note that nothing can be written, once per stop."""
        now, reason = self._stamp(), error.strerror or str(error)
        self._tried_ns = now.t_ns
        with self._lock:
            if not self.trouble:
                self._append(RecordingStopped(reason), None, now)
            if isinstance(error, GoneError) and not self._gone:
                self._append(RecordGone(error.file, error.what), None, now)
                self._gone = True
        self.trouble = reason

    def _put_back(self) -> None:
        """After the file was taken away: bring what was confirmed on disk again; raises OSError."""
        last = self._durable.seq
        put = self._parts.put_back(last)
        kept = list(self._recent)
        oldest = last - len(kept) + 1
        missing = kept[max(0, put.certain + 1 - oldest) :]
        if missing:
            self._parts.write(b"".join(missing))
            self._parts.confirm(last - len(missing) + 1, sum(map(len, missing)))
        first, end = put.certain + 1, last - len(missing)
        lost = (first, end) if first <= end else (0, 0)
        self.lost += max(0, end - put.certain)
        with self._lock:
            self._append(RecordPutBack(self._parts.name, put.aside, *lost), None, self._stamp())
        self._gone = False

    def _last_word(self) -> None:
        """What waits can't be saved: say so in the journal, in its place, with the last room."""
        with self._lock:
            readings = sum(line.count(b',"kind":"reading_taken",', 0, 60) for line in self._waiting)
            reason = self.trouble or "the disk is too slow"
            self.unsaved = EndUnsaved(len(self._waiting), readings, reason)
            self._waiting, self._waiting_bytes, self._sealed = [], 0, self._durable
            self._append(self.unsaved, None, self._stamp())
        self._parts.give_up_reserve(keep=0)
        self.flush(now=True)

    def _confirmed(self, lines: list[bytes], upto: Head) -> None:
        """Take lines for recorded: they are on disk, and `upto` is the head after them."""
        size = sum(map(len, lines))
        self._parts.confirm(self._durable.seq + 1, size)
        with self._lock:
            self._durable = upto
            del self._waiting[: len(lines)]
            self._waiting_bytes -= size
            self._recent.extend(lines)
            if self.trouble:
                resumed = RecordingResumed(self._refused, self._parts.name)
                self._append(resumed, None, self._stamp())
                self._refused = 0
        self.trouble, self._tried_ns = "", None


@contextlib.contextmanager
def _saying(path: Path) -> Iterator[None]:
    """Turn a disk's refusal into a sentence for the user."""
    try:
        yield
    except OSError as error:
        raise UserError([said("cant_record", path=str(path), what=str(error.strerror))]) from None


def _read(
    path: Path, disk: Disk, hear: Callable[[Record], None] | None = None
) -> tuple[JournalReader, Event | None]:
    """Read a journal through, and have every record heard; gives its last event too.

    Raises:
        UserError: there is none, or it is damaged.
    """
    reader = JournalReader(path, disk)
    if not reader.parts:
        raise UserError([said("no_such_session", path=str(path))])
    last: Event | None = None
    try:
        for records in reader.blocks():
            last = records[-1].event
            if hear is not None:
                for record in records:
                    hear(record)
    except LinesGoneError as error:
        raise NotGoneOnWithError(
            [said("of_file", file=str(reader.reading), what=error.what)]
        ) from None
    except (CorruptError, UnreadableError) as error:
        message = said("cant_go_on", path=str(reader.reading), what=error.what)
        raise UserError([message]) from None
    return reader, last
