"""Runs a recorded session again: its bytes through today's drivers, its events through the rules.

Every reading, fault and note must come out of the journaled bytes again, and every finding of the
rules must be the journaled one, in order. The first difference is told with both values. Words
may have been put better since (`reworded` counts them); numbers, codes and verdicts may not
change. A float, which only an uncertainty is, may differ in its last bits (relative 1e-9: another
build of a numerical library).

Pure, with bounded memory: blocks of records in, a result out.
"""

from collections import deque
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field, replace
from functools import partial
from typing import Final

from barrelfit.acquire.errors import UserError
from barrelfit.acquire.journal.codec import Record
from barrelfit.acquire.journal.events import (
    OUTPUT_TYPES,
    Event,
    FaultSeen,
    ReadingTaken,
    SessionClosed,
    SessionOpened,
    SessionResumed,
    WireNote,
    WireOpened,
    WireSent,
    kind_of,
    of_outcome,
    to_input,
)
from barrelfit.acquire.journal.port_events import GaugeStalled
from barrelfit.acquire.journal.record_events import VersionChanged
from barrelfit.acquire.redo.differences import Difference, difference_of, text_of
from barrelfit.drivers.decode import Wire
from barrelfit.drivers.outcome import Outcome, WireReading
from barrelfit.rules.bench.setup import Setup
from barrelfit.rules.bench.state import Bench
from barrelfit.rules.bench.step import begin, step
from barrelfit.rules.events import Asked, GaugeChanged, Judged, Output, Reading, Sized

NOTHING: Final = "nothing"
_OUTPUTS: Final = frozenset(OUTPUT_TYPES)
_WIRE_EVENTS: Final = (FaultSeen, WireNote, WireOpened, GaugeStalled, WireSent, GaugeChanged)


@dataclass(slots=True)
class Redone:
    """What a redo came to. `open` counts findings the journal ended too early to hold."""

    opening: SessionOpened
    bench: Bench
    records: int = 0
    readings: int = 0
    findings: int = 0
    reworded: int = 0
    open: int = 0
    difference: Difference | None = None
    sizes: list[Sized] = field(default_factory=list)
    judged: dict[str, Judged] = field(default_factory=dict)


class _GaugeWire:
    """One gauge's bytes, decoded again beside what the journal says they were."""

    def __init__(self, make: Callable[[], Wire]) -> None:
        self._make = make
        self.wire = make()
        self.written: deque[tuple[int, Event]] = deque()
        self.decoded: deque[Outcome] = deque()

    def start_anew(self) -> None:
        """The daemon was started again: what its wire had half heard is gone.

        What the gauge called itself is known from the journal, by the daemon as well.
        """
        identity = self.wire.identity
        self.wire = self._make()
        self.wire.identity = identity
        self.written.clear()
        self.decoded.clear()

    def compare(self, gauge: str) -> tuple[Difference | None, int]:
        """Compare as far as both sides reach; gives the difference and how many were reworded."""
        reworded = 0
        while self.written and self.decoded:
            seq, was = self.written.popleft()
            at_ns = was.at_ns if isinstance(was, ReadingTaken) else 0
            now = of_outcome(gauge, self.decoded.popleft(), at_ns)
            if was != now:
                found = difference_of(seq, was, now)
                if found is not None:
                    return found, reworded
                reworded += 1
        return None, reworded


class Redo:
    """A redo in progress: feed it every block of a journal, then ask for the result.

    Args:
        setup_of: makes the rules' setup of a session's opening.
        wire_of: makes a gauge's wire as the session had it, by gauge name.
        code_version: of this program, for the explanation of a difference.
    """

    def __init__(
        self,
        setup_of: Callable[[SessionOpened], Setup],
        wire_of: Callable[[SessionOpened, str], Wire],
        code_version: str,
    ) -> None:
        self._setup_of = setup_of
        self._wire_of = wire_of
        self._code_version = code_version
        self._wires: dict[str, _GaugeWire] = {}
        self._found: deque[Output] = deque()
        self._result: Redone | None = None
        self._closed = ""
        self._versions: list[tuple[int, str]] = []
        self._last_ns = 0

    @property
    def different(self) -> bool:
        """Whether a difference was found; nothing after it is compared."""
        return self._result is not None and self._result.difference is not None

    def take(self, records: Iterable[Record]) -> None:
        """Take the next records of the journal.

        Raises:
            UserError: the journal does not begin with the session's opening.
        """
        for record in records:
            result = self._result
            if result is None:
                self._open(record)
                continue
            if result.difference is not None:
                return
            result.records += 1
            event = record.event
            known = type(event)
            if known is ReadingTaken:
                result.readings += 1
                self._reading(result, record)
            elif known in _OUTPUTS:
                result.findings += 1
                self._finding(result, record)
                self._hear(result, record)
            else:
                self._other(result, record)

    def result(self) -> Redone:
        """What the redo came to, once every block has been taken.

        Raises:
            UserError: there was no record at all.
        """
        result = self._result
        if result is None:
            raise UserError(["this journal holds no record: nothing to redo"])
        if result.difference is None:
            for gauge, wire in self._wires.items():
                wire.decoded.extend(wire.wire.closed(self._last_ns))
                self._note(result, wire.compare(gauge))
        result.open = len(self._found)
        if result.difference is None and self._found and self._closed == "done":
            now = self._found[0]
            result.difference = Difference(
                None, kind_of(type(now)), "", NOTHING, text_of(now), self._why(None, now)
            )
        return result

    def _open(self, record: Record) -> None:
        opening = record.event
        if not isinstance(opening, SessionOpened):
            raise UserError(["this journal does not begin with a session's opening"])
        self._versions.append((record.seq, opening.code_version))
        bench, found = begin(self._setup_of(opening))
        self._found.extend(found)
        self._result = Redone(opening, bench, records=1)
        for gauge in opening.gauges:
            self._wires[gauge] = _GaugeWire(partial(self._wire_of, opening, gauge))

    def _reading(self, result: Redone, record: Record) -> None:
        event: ReadingTaken = record.event
        gauge, t_ns = event.gauge, record.t_ns
        wire = self._wires.get(gauge)
        if wire is None:
            result.difference = _unknown_gauge(record)
            return
        try:
            decoded = wire.wire.feed(bytes.fromhex(event.raw), t_ns) if event.raw else []
        except ValueError:
            result.difference = _no_bytes(record)
            return
        if wire.written or wire.decoded or len(decoded) != 1 or not _same(event, decoded[0]):
            wire.written.append((record.seq, event))
            wire.decoded.extend(decoded)
            self._note(result, wire.compare(gauge))
        if not event.suspect:
            _, found = step(result.bench, Reading(gauge, event.at_ns or t_ns, event.length_nm))
            if found:
                self._found.extend(found)

    def _finding(self, result: Redone, record: Record) -> None:
        was = record.event
        if isinstance(was, Sized):
            result.sizes.append(was)
        elif isinstance(was, Judged):
            result.judged[was.about] = was
        if not self._found:
            text = text_of(was)
            why = self._why(was, None)
            result.difference = Difference(record.seq, kind_of(type(was)), "", text, NOTHING, why)
            return
        now = self._found.popleft()
        if isinstance(was, Asked) and isinstance(now, Asked) and not was.ask:
            now = replace(now, ask=0)  # recorded by a version that did not count its asks
        if was == now:
            return
        found = difference_of(record.seq, was, now)
        if found is None:
            result.reworded += 1
        else:
            result.difference = replace(found, because=self._why(was, now))

    def _other(self, result: Redone, record: Record) -> None:
        event, t_ns = record.event, record.t_ns
        self._last_ns = max(self._last_ns, t_ns)
        if isinstance(event, SessionResumed):
            for wire in self._wires.values():
                wire.start_anew()
        elif isinstance(event, VersionChanged):
            self._versions.append((record.seq, event.now))
        elif isinstance(event, SessionClosed):
            self._closed = event.how
        elif isinstance(event, _WIRE_EVENTS):
            try:
                self._wire_event(result, record)
            except ValueError:
                result.difference = _no_bytes(record)
        self._hear(result, record)

    def _hear(self, result: Redone, record: Record) -> None:
        """What happened, or was asked: the rules hear of it in the record's order."""
        known = to_input(record.event, record.t_ns)
        if known is not None:
            _, found = step(result.bench, known)
            self._found.extend(found)

    def _wire_event(self, result: Redone, record: Record) -> None:
        """Do to a gauge's wire what the daemon did to it."""
        event, t_ns = record.event, record.t_ns
        wire = self._wires.get(event.gauge)
        if wire is None:
            result.difference = _unknown_gauge(record)
            return
        if isinstance(event, WireOpened):
            wire.decoded.extend(wire.wire.opened(t_ns))
        elif isinstance(event, GaugeStalled):
            wire.decoded.extend(wire.wire.stalled(t_ns))
        elif isinstance(event, WireSent):
            wire.wire.sent(bytes.fromhex(event.raw), t_ns)
        elif isinstance(event, GaugeChanged):
            if event.state == "lost":
                wire.decoded.extend(wire.wire.closed(t_ns))
        else:
            wire.written.append((record.seq, event))
            if event.raw:
                wire.decoded.extend(wire.wire.feed(bytes.fromhex(event.raw), t_ns))
        self._note(result, wire.compare(event.gauge))

    def _note(self, result: Redone, compared: tuple[Difference | None, int]) -> None:
        difference, reworded = compared
        result.reworded += reworded
        if difference is not None and result.difference is None:
            result.difference = replace(difference, because=self._why(None, None))

    def _why(self, was: Event | None, now: Event | None) -> str:
        """Explain a difference of findings as far as the record allows."""
        then = self._versions[-1][1] if self._versions else ""
        if isinstance(was, Sized) and isinstance(now, Sized) and was.estimator != now.estimator:
            return (
                f"the estimator was '{was.estimator}' (barrelfit {then}); today's is "
                f"'{now.estimator}' (barrelfit {self._code_version})"
            )
        if any(version != self._code_version for _, version in self._versions):
            return f"recorded by barrelfit {self._recorders()}, redone by {self._code_version}"
        return "same version of barrelfit: the journal or this installation is not what it says"

    def _recorders(self) -> str:
        """The versions that recorded the session up to here."""
        first, *later = self._versions
        return ", ".join([first[1], *(f"from record {seq} on by {v}" for seq, v in later)])


def _unknown_gauge(record: Record) -> Difference:
    gauge = record.event.gauge
    return Difference(
        record.seq,
        kind_of(type(record.event)),
        "gauge",
        gauge,
        NOTHING,
        "no such gauge was set up",
    )


def _no_bytes(record: Record) -> Difference:
    event = record.event
    kind, raw = kind_of(type(event)), getattr(event, "raw", "")
    return Difference(record.seq, kind, "raw", raw, NOTHING, "not hexadecimal bytes a wire takes")


def _same(was: ReadingTaken, now: Outcome) -> bool:
    """Compare a reading with what its bytes give today; the quick way, for the plain case."""
    return (
        type(now) is WireReading
        and was.length_nm == now.length_nm
        and was.value == now.value
        and was.unit == now.unit
        and was.suspect == now.suspect
        and was.channel == now.channel
        and was.judgement == now.judgement
        and was.unit_assumed == now.unit_assumed
        and was.index == now.index
    )
