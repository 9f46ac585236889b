"""Every kind of record a journal can hold: what the rules speak of, and what only this room knows.

A kind is the snake_case name of its class. The rules' own classes stand in the journal as they
are, but for `Reading`, `ReadingFault`, `WentOn`, `RecordBroken` and `TellingChanged`: a reading is
journaled with the exact bytes it came from (`ReadingTaken`, `FaultSeen`), and `to_input` makes the
rules' event of it. All bytes of a gauge's wire are in its session's journal exactly once: the `raw`
of its `ReadingTaken`, `FaultSeen` and `WireNote` records, in order, are the wire. The one exception
is a gauge that babbled and was cut off (`drivers.fuse`): `BytesLeftOut` says how many bytes are not
there.

Lengths are whole nm; `raw` is lower-case hex; `t_ns` is the monotonic time of the record.
"""

import re
from typing import Final, get_args

import msgspec

from barrelfit.acquire.coded import said_of
from barrelfit.acquire.journal.document import Flat
from barrelfit.acquire.journal.job_events import (
    BenchChanged,
    GaugeSetup,
    JobOrdered,
    JobPaused,
    SignedOn,
)
from barrelfit.acquire.journal.override_events import Overridden, OverrideAsked, OverrideRefused
from barrelfit.acquire.journal.port_events import (
    AdapterChosen,
    AdapterTaken,
    BytesLeftOut,
    GaugeStalled,
    NameShared,
)
from barrelfit.acquire.journal.record_events import (
    RecordEvent,
    ServiceChanged,
    VersionChanged,
    interruption,
)
from barrelfit.drivers.outcome import UNSTEADY, Outcome, WireFault, WireMass, WireReading
from barrelfit.drivers.quantity import digit_fg
from barrelfit.rules.events import (
    Asked,
    EntryMade,
    GaugeChanged,
    Input,
    Judged,
    Matched,
    NotCounted,
    Output,
    PedalPressed,
    Reading,
    ReadingFault,
    RecordBroken,
    Refused,
    Sized,
    TemperatureTaken,
    Wanted,
    WentOn,
)
from barrelfit.rules.said import NOTHING, Said
from barrelfit.rules.telling import AskShown, BoardAwaited, TellingChanged
from barrelfit.rules.told import AtBench, FactTold, Weighed


class _Document(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """A document that holds others."""


# ---------------------------------------------------------------- the wire


class ReadingTaken(Flat, frozen=True):
    """A gauge's frame became a length: `value` and `unit` as shown, `length_nm` exact.

    Several values in one frame are several records: the first carries the bytes, the others an
    empty `raw` and their place as `index`. `judgement` is the instrument's own mark, never ours;
    `suspect` says why the reading is not taken for a measurement without a second look
    (`suspected bounce`). `at_ns` is the monotonic time at which it was taken, where that is known
    better than from the record's own time (several readings that one read of the port brought
    together); 0 where it is not.
    """

    gauge: str
    raw: str
    value: str
    unit: str
    length_nm: int
    channel: str = ""
    judgement: str = ""
    unit_assumed: bool = False
    suspect: str = ""
    at_ns: int = 0
    index: int = 0


class MassTaken(Flat, frozen=True):
    """A scale's frame became a mass: as `ReadingTaken`, `mass_fg` exact, in femtograms."""

    gauge: str
    raw: str
    value: str
    unit: str
    mass_fg: int
    channel: str = ""
    judgement: str = ""
    unit_assumed: bool = False
    suspect: str = ""
    index: int = 0


READINGS: Final[frozenset[type]] = frozenset({ReadingTaken, MassTaken})
"""What a display showed: nearly all records, of which hardly anything else hangs on one."""


class FaultSeen(Flat, frozen=True):
    """A gauge sent bytes that are no reading: `fault` is a code, `hint` what to look at."""

    gauge: str
    raw: str
    fault: str
    hint: Said = NOTHING
    channel: str = ""
    index: int = 0


class WireNote(Flat, frozen=True):
    """Bytes that are neither a reading nor a fault: an echo, an identification, old readings."""

    gauge: str
    raw: str
    note: str


class WireOpened(Flat, frozen=True):
    """The gauge's port was opened; `port` is its name on this machine."""

    gauge: str
    port: str


class WireSent(Flat, frozen=True):
    """Bytes that were sent to a gauge (a request)."""

    gauge: str
    raw: str


class UnitChanged(Flat, frozen=True):
    """A gauge's readings come in another unit than before: each is still exact, but look at it."""

    gauge: str
    was: str
    now: str


# ---------------------------------------------------------------- the session


class SessionOpened(_Document, frozen=True):
    """All that a session depends on, whole: anyone can redo it from this file alone.

    `sheet_text`, `set_text`, `config_text` and each gauge's profile text are the files' texts as
    they were; `settings` is what else it depends on, by name (the materials' text, the hashes of
    the set's photos); `simulated` marks a session that no part was ever touched in.
    """

    session: str
    bench: str
    who: str
    job: str
    code_version: str
    sheet_id: str
    sheet_revision: str
    sheet_text: str
    set_text: str
    config_text: str
    gauges: dict[str, GaugeSetup]
    guard_factor: float
    settings: dict[str, str] = msgspec.field(default_factory=dict)
    simulated: bool = False


class SessionResumed(Flat, frozen=True):
    """The daemon came back to a session that had not been closed.

    `torn_bytes` of an unfinished last line were cut and kept in `torn_file`; they had never been
    confirmed to anyone.
    """

    last_seq: int
    torn_bytes: int = 0
    torn_file: str = ""


class SessionClosed(Flat, frozen=True):
    """The session's last word, but for a signature; `how` is `done`, `stopped` or `fault`."""

    how: str


class SessionSigned(Flat, frozen=True):
    """An Ed25519 signature (RFC 8032) over `head`, the hash of the record before this one."""

    who: str
    head: str
    public_key: str
    signature: str


class HeadSeen(Flat, frozen=True):
    """Another bench published its head hash: a witness against rewriting that bench's journal."""

    bench: str
    session: str
    seq: int
    head: str


Event = (
    ReadingTaken
    | MassTaken
    | FaultSeen
    | WireNote
    | WireOpened
    | AdapterTaken
    | AdapterChosen
    | NameShared
    | GaugeStalled
    | BytesLeftOut
    | WireSent
    | UnitChanged
    | SessionOpened
    | SessionResumed
    | SessionClosed
    | SessionSigned
    | HeadSeen
    | RecordEvent
    | OverrideAsked
    | Overridden
    | OverrideRefused
    | JobOrdered
    | JobPaused
    | BenchChanged
    | SignedOn
    | GaugeChanged
    | PedalPressed
    | Wanted
    | EntryMade
    | FactTold
    | TemperatureTaken
    | BoardAwaited
    | AskShown
    | Output
)

VERSION_OF: Final[dict[type[Event], int]] = {
    **dict.fromkeys(get_args(Event), 1),
    OverrideRefused: 2,
    JobOrdered: 2,
    SignedOn: 2,
    FaultSeen: 2,
    ServiceChanged: 2,
    GaugeChanged: 2,
    PedalPressed: 2,
    EntryMade: 2,
    FactTold: 2,
    TemperatureTaken: 2,
    Asked: 4,
    Sized: 2,
    Refused: 2,
    Judged: 2,
    Matched: 2,
    NotCounted: 2,
}
"""The list of kinds, with the version each is written in today (see `acquire.journal.codec`)."""

OUTPUT_TYPES: Final[tuple[type[Output], ...]] = get_args(Output)


_HEARD: Final = (
    GaugeChanged,
    PedalPressed,
    Wanted,
    EntryMade,
    FactTold,
    TemperatureTaken,
    BoardAwaited,
    AskShown,
    Asked,
)


def kind_of(event_type: type[Event]) -> str:
    """Name of a kind: `ReadingTaken` is `reading_taken`."""
    return re.sub(r"(?<!^)(?=[A-Z])", "_", event_type.__name__).lower()


def version_of(event: Event) -> str:
    """The version of barrelfit that an event says is at work from there on; empty for none."""
    if isinstance(event, SessionOpened):
        return event.code_version
    return event.now if isinstance(event, VersionChanged) else ""


def of_outcome(
    gauge: str, outcome: Outcome, at_ns: int = 0
) -> ReadingTaken | MassTaken | FaultSeen | WireNote:
    """Make the journal's event of what a gauge's bytes turned out to be.

    Args:
        gauge: the gauge's name.
        outcome: what its wire gave.
        at_ns: when a reading was taken, where that is known better than by its arrival.
    """
    raw = outcome.raw.hex()
    if isinstance(outcome, WireReading):
        return ReadingTaken(
            gauge=gauge,
            raw=raw,
            value=outcome.value,
            unit=outcome.unit,
            length_nm=outcome.length_nm,
            channel=outcome.channel,
            judgement=outcome.judgement,
            unit_assumed=outcome.unit_assumed,
            suspect=outcome.suspect,
            at_ns=at_ns,
            index=outcome.index,
        )
    if isinstance(outcome, WireMass):
        return MassTaken(
            gauge=gauge,
            raw=raw,
            value=outcome.value,
            unit=outcome.unit,
            mass_fg=outcome.mass_fg,
            channel=outcome.channel,
            judgement=outcome.judgement,
            unit_assumed=outcome.unit_assumed,
            suspect=outcome.suspect,
            index=outcome.index,
        )
    if isinstance(outcome, WireFault):
        return FaultSeen(
            gauge, raw, outcome.fault, said_of(outcome.hint), outcome.channel, outcome.index
        )
    return WireNote(gauge, raw, outcome.note)


SHOWING: Final = frozenset({"bus", "board"})
"""The services without which nobody sees what is asked for."""


def to_input(event: Event, t_ns: int) -> Input | None:
    """Make the rules' event of a journaled one; None for what the rules don't hear of.

    Of what they said themselves they hear what they asked for: only then is it known to be said.
    A suspect reading is kept and shown, but no part is judged by it.

    Args:
        event: the journaled event.
        t_ns: the record's monotonic time, in ns.
    """
    if isinstance(event, _FROM_WIRE):
        return _heard_of_wire(event, t_ns)
    if isinstance(event, _HEARD):
        return event
    if isinstance(event, SessionResumed | SignedOn):
        return AtBench(t_ns, event.who) if isinstance(event, SignedOn) else WentOn(t_ns)
    if isinstance(event, ServiceChanged):
        shows = event.service in SHOWING
        there = event.state == "running"
        return TellingChanged(t_ns, event.service, there) if shows else None
    reason = interruption(event)
    return RecordBroken(t_ns, reason) if reason else None


_FROM_WIRE: Final = (ReadingTaken, MassTaken, FaultSeen, WireNote)


def _heard_of_wire(event: Event, t_ns: int) -> Input | None:
    match event:
        case ReadingTaken(suspect=""):
            return Reading(event.gauge, event.at_ns or t_ns, event.length_nm)
        case MassTaken(suspect=""):
            digit = digit_fg(event.value, event.unit)
            return Weighed(event.gauge, t_ns, event.mass_fg, digit)
        case FaultSeen():
            return ReadingFault(event.gauge, t_ns, event.fault)
        case WireNote(note=note) if note == UNSTEADY:
            return ReadingFault(event.gauge, t_ns, UNSTEADY)
        case _:
            return None
