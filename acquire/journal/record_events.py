"""What happens to the record itself and to its copy on the bus; see `acquire.journal.events`."""

from typing import Final

from barrelfit.acquire.journal.document import Flat
from barrelfit.rules.said import NOTHING, Said, said, written


class ClockStepped(Flat, frozen=True):
    """The wall clock was set: UTC minus monotonic time changed by `step_us` microseconds."""

    step_us: int


class ClockNotSet(Flat, frozen=True):
    """The wall clock shows a time before this program was written; order is still certain."""

    utc: str


class RecordingStopped(Flat, frozen=True):
    """Nothing can be written: what follows is not on disk until `RecordingResumed`."""

    reason: str


class RecordingResumed(Flat, frozen=True):
    """Writing works again; `refused` records had to be turned away, `file` is written now."""

    refused: int
    file: str


class ReserveUsed(Flat, frozen=True):
    """The disk was full and the reserve file was given up: `freed_bytes` are all there is."""

    freed_bytes: int


class LimitReached(Flat, frozen=True):
    """A limit was met: `dropped` things were lost because of it, never silently."""

    what: str
    limit: int
    dropped: int


class MessageRefused(Flat, frozen=True):
    """The bus brought something that is none of ours: nothing was taken from it.

    `topic` it came on, what is the `problem`, its `start` (200 bytes at most, as text), and how
    many messages of that kind had been refused by then: of a flood, the first, the tenth, the
    hundredth and so on are recorded.
    """

    topic: str
    problem: str
    start: str
    count: int


class RecordGone(Flat, frozen=True):
    """The journal's file was taken away or changed while it was written: `what` was done to it.

    `removed`: no file of its name is there any more. `replaced`: another one is. `cut`, `grown`:
    it is shorter or longer than what was written to it. A sweep that goes over this is void.
    """

    file: str
    what: str


class RecordPutBack(Flat, frozen=True):
    """What was recorded before `RecordGone` is on disk again, in `file` and those before it.

    Another file that stood under its name is kept as `aside`. Records from `lost_from` to
    `lost_to` could not be put back; 0 where none was lost.
    """

    file: str
    aside: str = ""
    lost_from: int = 0
    lost_to: int = 0


class EndUnsaved(Flat, frozen=True):
    """The session was left with `records` records, of them `readings` readings, not on disk."""

    records: int
    readings: int
    reason: str


class VersionChanged(Flat, frozen=True):
    """Another version of barrelfit goes on with the session: what follows is `now`'s work."""

    was: str
    now: str


class SessionFollows(Flat, frozen=True):
    """`session` was the bench's last one when this one was opened; empty for the first."""

    session: str


class ServiceChanged(Flat, frozen=True):
    """What helps the bench came or went: `service` is bus, rules or board, `state` running or away.

    Recording goes on without any of them; `reason` says why one is away, or where it is now.
    """

    service: str
    state: str
    reason: Said = NOTHING


RecordEvent = (
    ClockStepped
    | ClockNotSet
    | RecordingStopped
    | RecordingResumed
    | ReserveUsed
    | LimitReached
    | MessageRefused
    | RecordGone
    | RecordPutBack
    | EndUnsaved
    | VersionChanged
    | SessionFollows
    | ServiceChanged
)


GONE: Final = {
    "removed": said("file_removed"),
    "replaced": said("file_replaced"),
    "cut": said("file_cut"),
    "grown": said("file_grown"),
}


def interruption(event: object) -> Said:
    """What made a hole in the record, or may have made one; nothing for what made none."""
    if isinstance(event, RecordGone):
        return GONE.get(event.what) or written(event.what)
    if isinstance(event, RecordingResumed) and event.refused:
        return said("records_turned_away", count=event.refused)
    if isinstance(event, EndUnsaved):
        return said("records_unsaved", count=event.records, why=event.reason)
    return NOTHING
