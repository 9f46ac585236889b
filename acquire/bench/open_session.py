"""Opens a session: begins a journal, or goes on with one; makes gauges and the sources of bytes."""

import logging
import math
import secrets
from collections.abc import Callable
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

import msgspec

from barrelfit.acquire.bench.adapters import recall_adapter
from barrelfit.acquire.bench.command_desk import CommandDesk
from barrelfit.acquire.bench.daemon import RunningSession, Wires
from barrelfit.acquire.bench.earlier_sessions import free_name, last_session, unfinished_session
from barrelfit.acquire.bench.gauge import BenchGauge
from barrelfit.acquire.bench.jobs import FILES_NAME_JOBS, Jobs, NextSession
from barrelfit.acquire.bench.opening import CODE_VERSION, Opening
from barrelfit.acquire.bench.override_desk import OverrideDesk
from barrelfit.acquire.bench.pedal import BenchPedal
from barrelfit.acquire.bench.ports import not_there
from barrelfit.acquire.bench.sign_on_desk import SignOnDesk
from barrelfit.acquire.bus.link_file import BenchKeys
from barrelfit.acquire.bus.plan_told import SetTold
from barrelfit.acquire.bus.proof import Doorkeeper
from barrelfit.acquire.bus.snapshot import Telling
from barrelfit.acquire.clock import Clock, life_ns
from barrelfit.acquire.fold.state import SessionState
from barrelfit.acquire.inputs.bench_file import BenchFile, GaugeTable
from barrelfit.acquire.inputs.gauge_wire import wire_on_bench
from barrelfit.acquire.inputs.set_now import setup_now
from barrelfit.acquire.journal.codec import Record
from barrelfit.acquire.journal.disk import RealDisk
from barrelfit.acquire.journal.events import (
    OUTPUT_TYPES,
    READINGS,
    Event,
    FaultSeen,
    SessionOpened,
    WireNote,
    version_of,
)
from barrelfit.acquire.journal.job_events import BenchChanged, JobOrdered
from barrelfit.acquire.journal.lines import Stamp
from barrelfit.acquire.journal.parts import SUFFIX
from barrelfit.acquire.journal.record_events import SessionFollows, VersionChanged
from barrelfit.acquire.journal.recorder import JustRecorded, Recorder, stamp_of
from barrelfit.acquire.journal.writer import JournalFile, NotGoneOnWithError
from barrelfit.acquire.wires.busy_port import FirstOpening
from barrelfit.acquire.wires.chosen_source import ChosenSource
from barrelfit.acquire.wires.gauge_port import GaugePort
from barrelfit.acquire.wires.sources import source_for, typing_source
from barrelfit.drivers.identity import GaugeIdentity
from barrelfit.drivers.pedal import Pedal
from barrelfit.drivers.profile import Profile
from barrelfit.rules.said import NOTHING, Said

if TYPE_CHECKING:
    from barrelfit.acquire.wires.byte_source import ByteSource

log = logging.getLogger("barrelfit")


def open_session(
    opening: Opening, folder: Path, clock: Clock, keys: BenchKeys, *, fresh: bool
) -> RunningSession:
    """Begin a session's journal, or go on with the bench's last one if it was not finished.

    Args:
        opening: what to open it with.
        folder: where sessions are kept.
        clock: for the records' times.
        keys: of the devices that may give commands.
        fresh: begin a new one in any case.

    Raises:
        UserError: the disk refuses, or the unfinished session is damaged.
    """
    unfinished = None if fresh else unfinished_session(opening.document, folder)
    return open_next(NextSession(opening, unfinished), folder, clock, keys)


def open_next(
    wanted: NextSession, folder: Path, clock: Clock, keys: BenchKeys, jobs: Jobs | None = None
) -> RunningSession:
    """Begin a session's journal, or go on with the one that is named.

    Args:
        wanted: what to open it with, and what to go on with.
        folder: where sessions are kept.
        clock: for the records' times.
        keys: of the devices that may give commands.
        jobs: what may come after it; None where the bench file names the set.

    Raises:
        UserError: the disk refuses, or the session to go on with is damaged.
    """
    opening, resumed = wanted.opening, wanted.resumed
    before = last_session(opening.document.bench, folder)
    with_keys = (keys, jobs)
    try:
        return _opened(opening, folder, clock, with_keys, (before, resumed), wanted.changed)
    except NotGoneOnWithError as error:  # recording comes first; the record stays as it is
        log.warning("%s; a new session begins", error)
        anew = opening if jobs is None else opening.named(clock)
        return _opened(anew, folder, clock, with_keys, (before, None))


def _opened(
    opening: Opening,
    folder: Path,
    clock: Clock,
    with_keys: tuple[BenchKeys, Jobs | None],
    earlier: tuple[Path | None, Path | None],
    changed: BenchChanged | None = None,
) -> RunningSession:
    """Begin a session, or go on with one; `earlier` are the last one and that to go on with.

    `changed` is what is other about the bench since that one ended.
    """
    document, (before, unfinished), (keys, jobs) = opening.document, earlier, with_keys
    stamp = _stamper(clock)
    session = (
        unfinished.name.removesuffix(SUFFIX) if unfinished else free_name(document.session, folder)
    )
    overrides = OverrideDesk(
        session, opening.leads, lambda: secrets.token_urlsafe(18), opening.sign_in
    )
    known = _Known(
        _empty_snapshot(opening, session, jobs),
        CommandDesk(
            overrides,
            jobs.door if jobs else Doorkeeper(opening.bench.bench, dict(keys.devices)),
            lambda gauge, port: not_there(known.ports, gauge, port),
            lambda order: _job_problem(jobs, order, document),
            SignOnDesk(opening.people, lambda: secrets.token_urlsafe(18)),
        ),
        opening.bench,
    )
    if unfinished is not None:
        journal = JournalFile.resume(unfinished, RealDisk(), stamp, known.hear)
        if known.version != CODE_VERSION:
            journal.append(VersionChanged(known.version, CODE_VERSION))
        if changed is not None:
            journal.append(changed)
            known.forget_gauges()
    else:
        document = msgspec.structs.replace(document, session=session)
        journal = JournalFile.create(folder / f"{session}{SUFFIX}", RealDisk(), stamp)
        seq = journal.append(document)
        journal.append(SessionFollows(before.name.removesuffix(SUFFIX) if before else ""))
        known.snapshot.take(JustRecorded(seq, None, document))
        known.desk.hear(seq, document)
    for gauge, port in opening.ports.taken.items():
        known.ports[gauge].choose(port, document.who)
    recorder = Recorder(journal, clock, opening.signer)
    return RunningSession(
        id=session,
        recorder=recorder,
        snapshot=known.snapshot,
        findings=known.findings,
        desk=known.desk,
        has_job=bool(document.set_text),
        identities=known.identities,
        ports=known.ports,
        changed=NOTHING if changed is None else changed.changes,
    )


T = TypeVar("T")


def _of_each_port(bench: BenchFile, make: Callable[[GaugeTable], T]) -> dict[str, T]:
    """Something made for each port of the first of its gauges, by the id of each of them."""
    made = ((tables, make(tables[0])) for tables in bench.by_port)
    return {table.id: one for tables, one in made for table in tables}


@dataclass(slots=True)
class _Known:
    """What a session's record tells of it: all that must be known to go on with it."""

    snapshot: Telling
    desk: CommandDesk
    bench: BenchFile
    findings: int = 0
    version: str = ""
    identities: dict[str, GaugeIdentity] = field(init=False)
    ports: dict[str, GaugePort] = field(init=False)

    def __post_init__(self) -> None:
        """Begin with gauges of which nothing is known."""
        self.forget_gauges()

    def forget_gauges(self) -> None:
        """The bench was set up otherwise: whatever a gauge called itself, it may be another."""
        self.identities = _of_each_port(self.bench, lambda _: GaugeIdentity())
        self.ports = _of_each_port(self.bench, lambda first: GaugePort(first.id, first.port))

    def hear(self, record: Record) -> None:
        """Take a record that stands in the journal already."""
        event = record.event
        if type(event) in READINGS:
            return
        if isinstance(event, BenchChanged):
            self.forget_gauges()
        self.version = version_of(event) or self.version
        self.snapshot.take(record)
        self.desk.hear(record.seq, event)
        _recall(self.identities, event)
        recall_adapter(self.ports, event)
        self.findings += isinstance(event, OUTPUT_TYPES)


def _recall(identities: dict[str, GaugeIdentity], event: Event) -> None:
    """Take what a gauge of an unfinished session called itself."""
    if isinstance(event, WireNote | FaultSeen) and event.gauge in identities:
        what = event.note if isinstance(event, WireNote) else event.fault
        identities[event.gauge].recall(what, bytes.fromhex(event.raw))


def make_wires(opening: Opening, session: RunningSession, clock: Clock) -> Wires:
    """Gauges with their wires, and the sources that will feed them."""
    recorder, busy_s = session.recorder, float(opening.bench.busy_s)
    first = partial(opening.ports.first_opening, busy_s)
    gauges: dict[str, BenchGauge] = {}
    sources: dict[str, ByteSource] = {}
    to_another: dict[str, Callable[[Said], None]] = {}
    for table, *others in opening.bench.by_port:
        profile = opening.profiles[table.id]
        wire = wire_on_bench(profile, table, *others)
        wire.identity = session.identities[table.id]
        port = session.ports[table.id]
        gauge = BenchGauge(port, wire, recorder, clock, life_ns)
        make = partial(_source, port, profile, clock, gauge, first)
        source = ChosenSource(make, clock, gauge.changed)
        sources[table.id] = source
        for one in (table, *others):
            gauges[one.id], to_another[one.id] = gauge, source.begin_anew
    return Wires(gauges, sources, to_another, _pedal(opening.bench, recorder, clock, first()))


def _source(
    port: GaugePort,
    profile: Profile,
    clock: Clock,
    gauge: BenchGauge,
    first: Callable[[], FirstOpening],
    is_first: bool,  # noqa: FBT001  as `ChosenSource` asks
) -> "ByteSource":
    """The source of a gauge's port; once a bench runs, who holds a port ends it no more."""
    opening = first() if is_first else FirstOpening(math.inf)
    return source_for(port, profile, clock, gauge.received, gauge.changed, opening)


def _pedal(
    bench: BenchFile, recorder: Recorder, clock: Clock, first: FirstOpening
) -> "tuple[BenchPedal, ByteSource] | None":
    """The foot pedal with its source, None where the bench has none."""
    table = bench.pedal
    if table is None:
        return None
    actions = {"press": table.press, "long": table.long, "double": table.double}
    keys = Pedal(actions, table.long_ms, table.double_ms)
    pedal = BenchPedal(keys, table.port, recorder, clock)
    # A pedal measures nothing: whichever is there under its name will do.
    port = GaugePort("pedal", table.port, listed=list)
    return pedal, typing_source(port, clock, pedal.received, pedal.changed, first)


def _job_problem(jobs: Jobs | None, order: JobOrdered, document: SessionOpened) -> Said | None:
    """Why an order of a job can't be followed while a session runs; None where it can."""
    if jobs is None:
        return FILES_NAME_JOBS
    return jobs.problem(order, running=bool(document.set_text))


def _empty_snapshot(opening: Opening, session: str, jobs: Jobs | None) -> Telling:
    setup, table = opening.setup, opening.bench.pedal
    told = None if jobs is None else jobs.told(session)
    pedal: dict[str, str] = {}
    if table is not None:
        pedal = {table.press: "press", table.long: "long", table.double: "double"}
    elif opening.bench.simulation is not None:  # its pedal is simulated, too
        pedal = {"next": "press", "again": "long", "undo": "double"}

    def set_told(state: SessionState) -> SetTold:
        now = setup_now(setup, state)
        if jobs is None or told is None:
            return SetTold.of(now, pedal=pedal)
        sizes = (stood.event for stood in state.sizes.values())
        return SetTold.of(now, jobs.told_of(told, now.engine, sizes), pedal)

    return Telling(opening.bench.bench, session, set_told)


def _stamper(clock: Clock) -> Callable[[], Stamp]:
    return lambda: stamp_of(clock)
