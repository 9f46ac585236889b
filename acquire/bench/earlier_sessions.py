"""Which of a bench's sessions came last, whatever the wall clock said when each began.

A session names the one before it in its second record (`SessionFollows`), so the last one is the
one that no other names. The clock that a session's file is named by may have run ahead and been
put right since. Sessions of versions that did not name the one before come first, in the order of
their names.
"""

import logging
import re
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Final

import msgspec

from barrelfit.acquire.errors import UserError
from barrelfit.acquire.inputs.bench_changes import with_bench
from barrelfit.acquire.journal.codec import ENVELOPES, CodecError, decode
from barrelfit.acquire.journal.damage import CorruptError, LinesGoneError, UnreadableError
from barrelfit.acquire.journal.disk import RealDisk
from barrelfit.acquire.journal.events import (
    SessionClosed,
    SessionOpened,
    SessionSigned,
    kind_of,
)
from barrelfit.acquire.journal.job_events import BenchChanged, JobPaused
from barrelfit.acquire.journal.lines import LINE_BYTES_MAX
from barrelfit.acquire.journal.parts import SUFFIX, JournalReader, parts_of
from barrelfit.acquire.journal.record_events import SessionFollows
from barrelfit.acquire.journal.session import journals_in
from barrelfit.rules.said import said

log = logging.getLogger("barrelfit")

PIECE_BYTES: Final = 128 * 1024
CLOSING: Final = (kind_of(SessionClosed), kind_of(SessionSigned))
PAUSED: Final = kind_of(JobPaused)
_LEFT: Final = (
    "%s was not finished, and stays as it is: it began with another bench file, sheet, set or"
    " profile than today's. A new session begins; its parts are measured anew"
)
UNREADABLE_END: Final = "?"
CHANGED: Final = f'"kind":"{kind_of(BenchChanged)}"'.encode()


def last_session(bench: str, folder: Path) -> Path | None:
    """The journal of a bench's last session; None where it has none.

    Args:
        bench: its name.
        folder: where its sessions are kept.
    """
    follows = {path: _before(path) for path in journals_of(bench, folder)}
    named = {before for before in follows.values() if before}
    last = [path for path in follows if path.name.removesuffix(SUFFIX) not in named]
    return max(last, key=lambda path: (bool(follows[path]), path.name), default=None)


def journals_of(bench: str, folder: Path) -> list[Path]:
    """The journals of a bench's sessions, by name."""
    own = re.compile(rf"{re.escape(bench)}-\d{{8}}T\d{{6}}Z{re.escape(SUFFIX)}")
    return [path for path in journals_in(folder) if own.fullmatch(path.name)]


def ends_as(path: Path) -> str:
    """How a session's record ends: empty for one that was closed, else the last record's kind."""
    try:
        kind = ENVELOPES.decode(_last_line(path)).kind
    except (msgspec.MsgspecError, UnicodeDecodeError):
        return UNREADABLE_END  # what is damaged is told where it is read
    return "" if kind in CLOSING else kind


def is_left_behind(path: Path, journals: Iterable[Path]) -> bool:
    """Whether another session was begun after a session's last record, by the wall clock.

    Args:
        path: a session that was neither closed nor paused.
        journals: all of the bench.
    """
    try:
        utc = ENVELOPES.decode(_last_line(path)).utc
    except (msgspec.MsgspecError, UnicodeDecodeError):
        return True
    ended = re.sub(r"[-:]", "", utc[:19])
    return any(other.name.removesuffix(SUFFIX)[-16:-1] > ended for other in journals)


def opening_of(path: Path) -> SessionOpened | None:
    """What a session was opened with, None where that can't be read."""
    try:
        first = next((block[0].event for block in JournalReader(path, RealDisk()).blocks()), None)
    except (CorruptError, UnreadableError, OSError):
        return None
    return first if isinstance(first, SessionOpened) else None


def bench_now_of(path: Path) -> SessionOpened | None:
    """What a session was opened with, with the bench as it was set up last; None: can't be read.

    Only records of that kind are decoded: this is asked at the start, where whoever goes on with
    the session reads it whole in any case.
    """
    opened = opening_of(path)
    try:
        for line in _lines(path) if opened is not None else ():
            if opened is not None and CHANGED in line and line.endswith(b"\n"):
                kept = ENVELOPES.decode(line)
                event = decode(kept.kind, kept.version, bytes(kept.event))
                opened = with_bench(opened, event) if isinstance(event, BenchChanged) else opened
    except (CodecError, msgspec.MsgspecError, UnicodeDecodeError, OSError):
        return None
    return opened


def is_sound(path: Path) -> bool:
    """Whether a session's record can be read to its end."""
    try:
        for _ in JournalReader(path, RealDisk()).blocks():
            pass
    except (CorruptError, UnreadableError, OSError):
        return False
    return True


def _lines(path: Path) -> Iterator[bytes]:
    for part in parts_of(path, RealDisk()):
        with part.open("rb") as file:
            yield from file


def unfinished_session(document: SessionOpened, folder: Path) -> Path | None:
    """The bench's last session when it was opened with the same texts and never closed.

    Args:
        document: what a session is to be opened with now.
        folder: where sessions are kept.

    Raises:
        UserError: it is damaged.
    """
    path = last_session(document.bench, folder)
    try:
        return None if path is None or _is_ended(path, document) else path
    except LinesGoneError as error:
        log.warning("%s: %s; a new session begins", path, error)
        return None
    except (CorruptError, UnreadableError) as error:
        raise UserError([said("begin_fresh", path=str(path), what=error.what)]) from None


def free_name(session: str, folder: Path) -> str:
    """A session's name that no other has: the next second's, where the clock was put back.

    Args:
        session: the name it would have, `<bench>-<date>T<time>Z`.
        folder: where sessions are kept.
    """
    start, second = session[:-7], int(session[-7:-1])
    while (folder / f"{start}{second:06d}Z{SUFFIX}").exists():
        second += 1
    return f"{start}{second:06d}Z"


def _before(path: Path) -> str:
    """Name of the session that a session says was before it; empty where it says none."""
    second = _second_line(path)
    try:
        envelope = ENVELOPES.decode(second)
        if envelope.kind != "session_follows":
            return ""
        event = decode(envelope.kind, envelope.version, bytes(envelope.event))
    except (msgspec.MsgspecError, UnicodeDecodeError, CodecError):
        return ""  # what is damaged is told where it is read
    return event.session if isinstance(event, SessionFollows) else ""


def _second_line(path: Path) -> bytes:
    start, disk = b"", RealDisk()
    while start.count(b"\n") < 2 and len(start) < 2 * LINE_BYTES_MAX:  # noqa: PLR2004  lines
        piece = disk.read(path, len(start), PIECE_BYTES)
        if not piece:
            return b""
        start += piece
    return start.split(b"\n", 2)[1]


def _is_ended(path: Path, wanted: SessionOpened) -> bool:
    """Whether a session is closed, or was opened with other texts than are wanted now.

    Its beginning and its last line say so; all of it is read once, when it is gone on with.
    """
    first = next((block[0].event for block in JournalReader(path, RealDisk()).blocks()), None)
    end = ends_as(path)
    if not (isinstance(first, SessionOpened) and _same(first, wanted)):
        if end not in {"", PAUSED}:
            log.warning(_LEFT, path)
        return True
    return not end


def _last_line(path: Path) -> bytes:
    """The last whole line of a session, in whichever of its parts it stands; empty for none."""
    disk = RealDisk()
    for part in reversed(parts_of(path, disk)):
        start = max(0, (disk.size(part) or 0) - LINE_BYTES_MAX)
        whole = disk.read(part, start, LINE_BYTES_MAX).split(b"\n")[:-1]
        if whole:
            return whole[-1]
    return b""


def _same(was: SessionOpened, wanted: SessionOpened) -> bool:
    return (was.config_text, was.sheet_text, was.set_text, was.gauges) == (
        wanted.config_text,
        wanted.sheet_text,
        wanted.set_text,
        wanted.gauges,
    )
