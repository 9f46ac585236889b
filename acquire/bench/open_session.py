"""Opens a session: checks everything a bench file points at, then begins or goes on with a journal.

All problems are found before a port, a broker or a file is touched, and told together.
"""

import logging
import math
import secrets
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from getpass import getuser
from importlib.metadata import version
from pathlib import Path
from typing import TYPE_CHECKING, Final, TypeVar

import msgspec

from barrelfit.acquire.bench.adapters import recall_adapter
from barrelfit.acquire.bench.command_desk import CommandDesk
from barrelfit.acquire.bench.daemon import RunningSession, Wires
from barrelfit.acquire.bench.earlier_sessions import free_name, last_session, unfinished_session
from barrelfit.acquire.bench.gauge import BenchGauge
from barrelfit.acquire.bench.override_desk import OverrideDesk
from barrelfit.acquire.bench.pedal import BenchPedal
from barrelfit.acquire.bench.ports import Ports, not_there
from barrelfit.acquire.bus.link_file import BenchKeys
from barrelfit.acquire.bus.plan_told import SetTold
from barrelfit.acquire.bus.proof import Doorkeeper
from barrelfit.acquire.bus.snapshot import Telling
from barrelfit.acquire.clock import Clock, life_ns, utc_text
from barrelfit.acquire.errors import UserError
from barrelfit.acquire.inputs.bench_file import BenchFile
from barrelfit.acquire.inputs.gauge_profiles import profile_text, proven_profile
from barrelfit.acquire.inputs.gauge_wire import profile_on_bench, wire_on_bench
from barrelfit.acquire.inputs.leads import Lead, leads_from
from barrelfit.acquire.inputs.plain_set import plain_set_text
from barrelfit.acquire.inputs.set_file import check_materials, hash_photos, load_materials, sheet_of
from barrelfit.acquire.inputs.set_now import setup_now
from barrelfit.acquire.inputs.setup import MATERIALS, PHOTOS, setup_of
from barrelfit.acquire.inputs.shelf import file_text, sheet_text, shipped_text
from barrelfit.acquire.inputs.sign_in import SignIn, sign_in_from
from barrelfit.acquire.journal.codec import Record
from barrelfit.acquire.journal.disk import RealDisk
from barrelfit.acquire.journal.events import (
    OUTPUT_TYPES,
    Event,
    FaultSeen,
    GaugeSetup,
    ReadingTaken,
    SessionOpened,
    WireNote,
    version_of,
)
from barrelfit.acquire.journal.lines import Stamp
from barrelfit.acquire.journal.parts import SUFFIX
from barrelfit.acquire.journal.record_events import SessionFollows, VersionChanged
from barrelfit.acquire.journal.recorder import JustRecorded, Recorder, Signer, stamp_of
from barrelfit.acquire.journal.writer import JournalFile, NotGoneOnWithError
from barrelfit.acquire.wires.busy_port import FirstOpening
from barrelfit.acquire.wires.chosen_source import ChosenSource
from barrelfit.acquire.wires.gauge_port import GaugePort
from barrelfit.acquire.wires.sources import source_for, typing_source
from barrelfit.drivers.errors import DriverError
from barrelfit.drivers.identity import GaugeIdentity
from barrelfit.drivers.pedal import Pedal
from barrelfit.drivers.profile import Profile
from barrelfit.rules.bench.setup import Setup
from barrelfit.rules.engine.sheet import Sheet
from barrelfit.rules.errors import RulesError

if TYPE_CHECKING:
    from barrelfit.acquire.wires.byte_source import ByteSource

T = TypeVar("T")

log = logging.getLogger("barrelfit")

CODE_VERSION: Final = version("barrelfit")
AS_WRITTEN: Final = Ports()


@dataclass(frozen=True, slots=True)
class Opening:
    """A bench file whose every reference has been read and checked."""

    bench: BenchFile
    document: SessionOpened
    profiles: dict[str, Profile]
    setup: Setup
    leads: dict[str, Lead]
    sign_in: SignIn | None
    signer: Signer | None = None
    ports: Ports = AS_WRITTEN


@dataclass(frozen=True, slots=True)
class _Texts:
    """Of sheet and set, the sheet read, and what else the session depends on, by name."""

    sheet_text: str
    set_text: str
    sheet: Sheet
    settings: dict[str, str]


def read_opening(
    bench: BenchFile,
    config_text: str,
    name: str,
    clock: Clock,
    ports: Ports = AS_WRITTEN,
) -> Opening:
    """Read everything a bench file points at.

    Args:
        bench: the checked bench file.
        config_text: its text.
        name: how messages call it.
        clock: for the session's name.
        ports: what is known of the gauges' ports beside the bench file.

    Raises:
        UserError: with every problem of profiles, sheet, set, materials and ports.
    """
    problems: list[str] = []
    texts = _gather(problems, partial(_texts, bench, name))
    profiles: dict[str, Profile] = {}
    setups: dict[str, GaugeSetup] = {}
    for table in bench.gauge:
        text = _gather(problems, partial(profile_text, table.profile))
        plain = text and _gather(problems, partial(proven_profile, text, table.profile))
        profile = plain and _gather(problems, partial(profile_on_bench, plain, table))
        if text and profile:
            profiles[table.id] = profile
            movement = str(table.movement)
            setups[table.id] = GaugeSetup(table.profile, text, movement, movement, table.port)
    named = [(("gauge", n, "material"), table.material) for n, table in enumerate(bench.gauge)]
    _gather(problems, partial(check_materials, named, load_materials(), config_text, name))
    problems += ports.problems(bench)
    leads, sign_in = _gather(problems, partial(_leads, bench)) or ({}, None)
    signer = _gather(problems, partial(_signer, bench))
    if problems or texts is None:
        raise UserError(problems)
    document = _document(bench, config_text, texts, setups, clock)
    setup = _gather(problems, partial(setup_of, document))
    if setup is None:
        raise UserError(problems)
    return Opening(bench, document, profiles, setup, leads, sign_in, signer, ports)


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
    document = opening.document
    before = last_session(document.bench, folder)
    unfinished = None if fresh else unfinished_session(document, folder)
    try:
        return _opened(opening, folder, clock, keys, (before, unfinished))
    except NotGoneOnWithError as error:  # recording comes first; the record stays as it is
        log.warning("%s; a new session begins", error.problems[0])
        return _opened(opening, folder, clock, keys, (before, None))


def _opened(
    opening: Opening,
    folder: Path,
    clock: Clock,
    keys: BenchKeys,
    earlier: tuple[Path | None, Path | None],
) -> RunningSession:
    """Begin a session, or go on with one; `earlier` are the last one and that to go on with."""
    document, (before, unfinished) = opening.document, earlier
    stamp = _stamper(clock)
    session = (
        unfinished.name.removesuffix(SUFFIX) if unfinished else free_name(document.session, folder)
    )
    overrides = OverrideDesk(
        session, opening.leads, lambda: secrets.token_urlsafe(18), opening.sign_in
    )
    known = _Known(
        _empty_snapshot(opening, session),
        CommandDesk(
            overrides,
            Doorkeeper(opening.bench.bench, dict(keys.devices)),
            lambda gauge, port: not_there(known.ports, gauge, port),
        ),
        {table.id: GaugeIdentity() for table in opening.bench.gauge},
        {table.id: GaugePort(table.id, table.port) for table in opening.bench.gauge},
    )
    if unfinished is not None:
        journal = JournalFile.resume(unfinished, RealDisk(), stamp, known.hear)
        if known.version != CODE_VERSION:
            journal.append(VersionChanged(known.version, CODE_VERSION))
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
        session, recorder, known.snapshot, known.findings, known.desk, known.identities, known.ports
    )


@dataclass(slots=True)
class _Known:
    """What a session's record tells of it: all that must be known to go on with it."""

    snapshot: Telling
    desk: CommandDesk
    identities: dict[str, GaugeIdentity]
    ports: dict[str, GaugePort]
    findings: int = 0
    version: str = ""

    def hear(self, record: Record) -> None:
        """Take a record that stands in the journal already."""
        event = record.event
        if isinstance(event, ReadingTaken):  # nearly all of them, and there is nothing to learn
            return
        self.version = version_of(event) or self.version
        self.snapshot.take(record)
        self.desk.hear(record.seq, event)
        _recall(self.identities, event)
        recall_adapter(self.ports, event)
        self.findings += isinstance(event, OUTPUT_TYPES)


def _recall(identities: dict[str, GaugeIdentity], event: Event) -> None:
    """Take what a gauge of an unfinished session called itself."""
    if isinstance(event, WireNote):
        identities[event.gauge].recall(event.note, bytes.fromhex(event.raw))
    elif isinstance(event, FaultSeen):
        identities[event.gauge].recall(event.fault, bytes.fromhex(event.raw))


def make_wires(opening: Opening, session: RunningSession, clock: Clock) -> Wires:
    """Gauges with their wires, and the sources that will feed them."""
    recorder, busy_s = session.recorder, float(opening.bench.busy_s)
    first = partial(opening.ports.first_opening, busy_s)
    gauges: dict[str, BenchGauge] = {}
    sources: dict[str, ByteSource] = {}
    to_another: dict[str, Callable[[str], None]] = {}
    for table in opening.bench.gauge:
        profile = opening.profiles[table.id]
        wire = wire_on_bench(profile, table)
        wire.identity = session.identities[table.id]
        port = session.ports[table.id]
        gauge = BenchGauge(port, wire, recorder, clock, life_ns)
        gauges[table.id] = gauge
        make = partial(_source, port, profile, clock, gauge, first)
        source = ChosenSource(make, clock, gauge.changed)
        sources[table.id], to_another[table.id] = source, source.begin_anew
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


def _signer(bench: BenchFile) -> Signer | None:
    if bench.sign is None:
        return None
    from barrelfit.acquire.journal.signing import load_private_key, sign_head  # noqa: PLC0415  slow to load

    key, who = load_private_key(bench.sign.key.expanduser()), bench.sign.who
    return lambda head_hash: sign_head(key, head_hash, who)


def _texts(bench: BenchFile, name: str) -> _Texts:
    text = sheet_text(bench.sheet)
    sheet = sheet_of(text, bench.sheet)
    settings = {MATERIALS: shipped_text("rules", "data", MATERIALS)}
    if bench.set.file is None:
        return _Texts(text, plain_set_text(bench.set, sheet, name), sheet, settings)
    written = file_text(bench.set.file)
    hashes = hash_photos(written, sheet, bench.set.file)
    if hashes:
        settings[PHOTOS] = msgspec.json.encode(hashes).decode()
    return _Texts(text, written, sheet, settings)


def _leads(bench: BenchFile) -> tuple[dict[str, Lead], SignIn | None]:
    if bench.leads is None:
        return {}, None
    text, name = file_text(bench.leads), str(bench.leads)
    leads = leads_from(text, name)
    sign_in, problems = sign_in_from(text, name)
    if problems:
        raise UserError(problems)
    return leads, sign_in


def _document(
    bench: BenchFile,
    config_text: str,
    texts: _Texts,
    setups: dict[str, GaugeSetup],
    clock: Clock,
) -> SessionOpened:
    moment = utc_text(clock.utc())
    compact = moment[:19].replace("-", "").replace(":", "")
    return SessionOpened(
        session=f"{bench.bench}-{compact}Z",
        bench=bench.bench,
        who=bench.who or getuser(),
        job=bench.set.job,
        code_version=CODE_VERSION,
        sheet_id=texts.sheet.id,
        sheet_revision=texts.sheet.revision,
        sheet_text=texts.sheet_text,
        set_text=texts.set_text,
        config_text=config_text,
        gauges=setups,
        guard_factor=float(bench.verdict.guard_factor),
        settings=texts.settings,
        simulated=bench.simulation is not None,
    )


def _empty_snapshot(opening: Opening, session: str) -> Telling:
    setup = opening.setup
    return Telling(opening.bench.bench, session, lambda state: SetTold.of(setup_now(setup, state)))


def _stamper(clock: Clock) -> Callable[[], Stamp]:
    return lambda: stamp_of(clock)


def _gather(problems: list[str], make: Callable[[], T]) -> T | None:
    """Make a thing, or collect what keeps it from being made."""
    try:
        return make()
    except (UserError, DriverError, RulesError) as error:
        problems += error.problems
        return None
