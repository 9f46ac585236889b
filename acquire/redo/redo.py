"""Runs a recorded session again: its bytes through today's drivers, its events through the rules.

Every reading, fault and note must come out of the journaled bytes again, and every finding of the
rules must be the journaled one, in order. The first difference is told with both values. Words
may have been put better since (`reworded` counts them); numbers, codes and verdicts may not
change. A float, which only an uncertainty is, may differ in its last bits (relative 1e-9: another
build of a numerical library).

What another version recorded is held to that only up to the first finding that differs, since
rules change on purpose; then its sizes and verdicts are compared (`redo.other_version`). Where this
version went on after another, it took over what stood (`rules.bench.taken_over`), as a redo does.

Pure, with bounded memory: blocks of records in, a result out.
"""

from collections import deque
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field, replace
from functools import partial
from typing import Final

from barrelfit.acquire.errors import UserError
from barrelfit.acquire.fold.other_versions import OtherVersions
from barrelfit.acquire.inputs.bench_changes import with_bench
from barrelfit.acquire.journal.codec import Record
from barrelfit.acquire.journal.codes import code_said
from barrelfit.acquire.journal.events import (
    OUTPUT_TYPES,
    Event,
    FaultSeen,
    MassTaken,
    ReadingTaken,
    SessionClosed,
    SessionOpened,
    SessionResumed,
    WireNote,
    WireOpened,
    WireSent,
    kind_of,
    to_input,
)
from barrelfit.acquire.journal.job_events import BenchChanged
from barrelfit.acquire.journal.port_events import GaugeStalled
from barrelfit.acquire.journal.record_events import VersionChanged
from barrelfit.acquire.redo.differences import Difference, difference_of, is_reworded, text_of
from barrelfit.acquire.redo.gauge_wire import GaugeWire
from barrelfit.acquire.redo.other_version import Compared, Steered
from barrelfit.drivers.decode import Wire
from barrelfit.drivers.outcome import Outcome, WireReading
from barrelfit.rules.bench.set_anew import set_anew
from barrelfit.rules.bench.setup import Setup
from barrelfit.rules.bench.state import Bench
from barrelfit.rules.bench.step import begin, step
from barrelfit.rules.bench.taken_over import take_over
from barrelfit.rules.events import Asked, GaugeChanged, Input, Judged, Output, Reading, Sized
from barrelfit.rules.hints import Coached, PartAway
from barrelfit.rules.said import NOTHING, Said, said

NO_VALUE: Final = "nothing"
_HINTS: Final[frozenset[type]] = frozenset({Coached, PartAway})
_OUTPUTS: Final = frozenset(OUTPUT_TYPES)
_WIRE_EVENTS: Final = (
    *(MassTaken, FaultSeen, WireNote, WireOpened, GaugeStalled, WireSent),
    GaugeChanged,
)


@dataclass(slots=True)
class Redone:
    """What a redo came to. `open` counts findings the journal ended too early to hold.

    `compared` is filled where another version recorded a stretch in which the rules now say
    something else: its sizes and verdicts, each then and now; `first` is the first word that
    differs there. `recorders` tells who recorded what.
    """

    opening: SessionOpened
    bench: Bench
    records: int = 0
    readings: int = 0
    findings: int = 0
    reworded: int = 0
    open: int = 0
    recorders: Said = NOTHING
    difference: Difference | None = None
    first: Difference | None = None
    compared: list[Compared] = field(default_factory=list)
    sizes: list[Sized] = field(default_factory=list)
    judged: dict[str, Judged] = field(default_factory=dict)

    @property
    def is_same(self) -> bool:
        """Whether every size and verdict is the same, and every word that this version wrote."""
        return self.difference is None and all(one.is_same for one in self.compared)


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
        self._opening: SessionOpened
        self._setup: Setup
        self._wires: dict[str, GaugeWire] = {}
        self._found: deque[Output] = deque()
        self._result: Redone | None = None
        self._closed = ""
        self._steered: Steered | None = None
        self._by = OtherVersions(code_version)
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
                continue
            takes_over = self._by.take(record)
            if known in _OUTPUTS:
                result.findings += 1
                self._finding(result, record)
            else:
                self._other(result, record)
            if takes_over:
                self._take_over(result)

    def result(self) -> Redone:
        """What the redo came to, once every block has been taken.

        Raises:
            UserError: there was no record at all.
        """
        result = self._result
        if result is None:
            raise UserError([said("nothing_to_redo")])
        if result.difference is None:
            for wire in self._wires.values():
                wire.take(wire.wire.closed(self._last_ns))
                self._note(result, wire.compare())
        result.open = len(self._found)
        if result.difference is None and self._found and self._closed == "done":
            now = self._found[0]
            kind = kind_of(type(now))
            self._differs(result, Difference(None, kind, "", NO_VALUE, text_of(now)), None, now)
        self._compare(result)
        result.recorders = self._recorders()
        return result

    def _open(self, record: Record) -> None:
        opening = record.event
        if not isinstance(opening, SessionOpened):
            raise UserError([said("no_opening")])
        self._versions.append((record.seq, opening.code_version))
        self._by.take(record)
        self._opening = opening
        self._setup = self._setup_of(opening)
        bench, found = begin(self._setup)
        self._found.extend(found)
        self._result = Redone(opening, bench, records=1)
        self._make_wires(opening)

    def _set_anew(self, result: Redone, event: BenchChanged) -> None:
        """The bench was set up otherwise: other wires, other gauges for the rules."""
        self._opening = with_bench(self._opening, event)
        self._setup = self._setup_of(self._opening)
        self._make_wires(self._opening)
        found = set_anew(result.bench, self._setup)
        if self._steered is None:
            self._found.extend(found)

    def _make_wires(self, opening: SessionOpened) -> None:
        self._wires = {}
        for gauge in opening.gauges:
            if gauge not in self._wires:
                made = GaugeWire(gauge, partial(self._wire_of, opening, gauge))
                others = made.wire.behind.values()
                self._wires |= dict.fromkeys((gauge, *others), made)

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
        if not (wire.is_plain(gauge, decoded) and _same(event, decoded[0])):
            wire.written.append((record.seq, event))
            wire.take(decoded)
            self._note(result, wire.compare())
        if not event.suspect:
            self._step(result, Reading(gauge, event.at_ns or t_ns, event.length_nm))

    def _step(self, result: Redone, event: Input) -> None:
        if self._steered is not None:
            self._steered.hear(event)
            return
        _, found = step(result.bench, event)
        if found:
            self._found.extend(found)

    def _finding(self, result: Redone, record: Record) -> None:
        was = record.event
        if isinstance(was, Sized):
            result.sizes.append(was)
        elif isinstance(was, Judged):
            result.judged[was.about] = was
        if self._steered is None:
            self._word_by_word(result, record.seq, was)
        if self._steered is not None:
            self._steered.said(was, record.t_ns)
        elif result.difference is None:
            self._hear(result, record)

    def _word_by_word(self, result: Redone, seq: int, was: Output) -> None:
        while self._by.foreign and self._found and type(self._found[0]) in _HINTS - {type(was)}:
            self._found.popleft()  # what helps a hand says nothing else of its part
        if not self._found:
            found = Difference(seq, kind_of(type(was)), "", text_of(was), NO_VALUE)
            self._differs(result, found, was, None)
            return
        now = self._found[0]
        if isinstance(was, Asked) and isinstance(now, Asked) and not was.ask:
            now = replace(now, ask=0)  # recorded by a version that did not count its asks
        different = None if was == now else difference_of(seq, was, now)
        if different is not None:
            self._differs(result, different, was, now)
            return
        result.reworded += is_reworded(was, now)
        self._found.popleft()

    def _differs(
        self, result: Redone, found: Difference, was: Output | None, now: Output | None
    ) -> None:
        """The rules say something else: no more words of a stretch by another version."""
        found = replace(found, because=self._why(was, now))
        if not self._by.foreign:
            result.difference = found
            return
        result.first = result.first or found
        asked = self._by.state.asked
        self._steered = Steered(result.bench, asked.event.at if asked else None, self._found)
        self._found.clear()

    def _compare(self, result: Redone) -> None:
        if self._steered is not None:
            result.compared += self._steered.compared(self._by.state)
            self._steered = None

    def _take_over(self, result: Redone) -> None:
        """This version went on after another, with what stood in the record."""
        self._compare(result)
        result.bench, found = take_over(self._setup, self._by.standing(self._setup))
        self._found = deque(found)

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
        elif isinstance(event, BenchChanged):
            self._set_anew(result, event)
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
            self._step(result, known)

    def _wire_event(self, result: Redone, record: Record) -> None:
        """Do to a gauge's wire what the daemon did to it."""
        event, t_ns = record.event, record.t_ns
        wire = self._wires.get(event.gauge)
        if wire is None:
            result.difference = _unknown_gauge(record)
            return
        if isinstance(event, WireOpened):
            wire.take(wire.wire.opened(t_ns))
        elif isinstance(event, GaugeStalled):
            wire.take(wire.wire.stalled(t_ns))
        elif isinstance(event, WireSent):
            wire.wire.sent(bytes.fromhex(event.raw), t_ns)
        elif isinstance(event, GaugeChanged):
            if event.state == "lost":
                wire.take(wire.wire.closed(t_ns))
        else:
            wire.written.append((record.seq, event))
            if event.raw:
                wire.take(wire.wire.feed(bytes.fromhex(event.raw), t_ns))
        self._note(result, wire.compare())

    def _note(self, result: Redone, compared: tuple[Difference | None, int]) -> None:
        difference, reworded = compared
        result.reworded += reworded
        if difference is not None and result.difference is None:
            result.difference = replace(difference, because=self._why(None, None))

    def _why(self, was: Event | None, now: Event | None) -> Said:
        """Explain a difference of findings as far as the record allows."""
        then = self._versions[-1][1] if self._versions else ""
        if isinstance(was, Sized) and isinstance(now, Sized) and was.estimator != now.estimator:
            return said(
                "another_estimator",
                was=code_said("sized", "estimator", was.estimator),
                then=then,
                now=code_said("sized", "estimator", now.estimator),
                today=self._code_version,
            )
        if any(version != self._code_version for _, version in self._versions):
            return said("another_version", then=self._recorders(), today=self._code_version)
        return said("same_version")

    def _recorders(self) -> Said:
        """The versions that recorded the session up to here."""
        first, *later = self._versions
        others = (said("from_record_on", seq=seq, version=v) for seq, v in later)
        return said("listed", parts=(first[1], *others))


def _unknown_gauge(record: Record) -> Difference:
    gauge = record.event.gauge
    kind, why = kind_of(type(record.event)), said("no_gauge_set_up")
    return Difference(record.seq, kind, "gauge", gauge, NO_VALUE, why)


def _no_bytes(record: Record) -> Difference:
    event = record.event
    kind, raw = kind_of(type(event)), getattr(event, "raw", "")
    return Difference(record.seq, kind, "raw", raw, NO_VALUE, said("no_hex_bytes"))


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
