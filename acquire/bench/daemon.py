"""The daemon of one bench: every task, port and file of a session hangs here.

Bytes arrive stamped, become journaled events and reach the disk; that needs nothing else. What is
on disk is told on the bus and shown to the rules service, whose findings come back through its pipe
into the same journal. Every task is a child of one group: when one fails, all end, and the failure
is told. Bus, rules service and board are kept by a supervisor: without them recording goes on.
"""

import asyncio
from collections.abc import Callable, Coroutine
from dataclasses import dataclass, field
from typing import Final

from barrelfit.acquire.bench.asks_shown import AsksShown
from barrelfit.acquire.bench.bus_copy import BusCopy
from barrelfit.acquire.bench.command_desk import CommandDesk
from barrelfit.acquire.bench.gauge import BenchGauge
from barrelfit.acquire.bench.listening import Listening
from barrelfit.acquire.bench.neighbours import Neighbours
from barrelfit.acquire.bench.pedal import BenchPedal
from barrelfit.acquire.bench.results_gate import ResultsGate
from barrelfit.acquire.bench.rules_child import RulesChild
from barrelfit.acquire.bench.supervisor import Supervisor
from barrelfit.acquire.bus.mqtt_bus import Where
from barrelfit.acquire.bus.payloads import ENCODE, Heartbeat, StateTold
from barrelfit.acquire.bus.proof import Speaker
from barrelfit.acquire.bus.snapshot import Telling
from barrelfit.acquire.clock import Clock, utc_text
from barrelfit.acquire.journal.events import READINGS, Event, SessionClosed
from barrelfit.acquire.journal.job_events import JobOrdered, JobPaused
from barrelfit.acquire.journal.port_events import AdapterChosen
from barrelfit.acquire.journal.recorder import JustRecorded, Recorder
from barrelfit.acquire.wires.byte_source import ByteSource
from barrelfit.acquire.wires.gauge_port import GaugePort
from barrelfit.drivers.identity import GaugeIdentity
from barrelfit.rules.said import NOTHING, Said, said

HEARTBEAT_S: Final = 0.5
TICK_S: Final = 0.05

Watcher = Callable[[int, Event], None]


@dataclass(frozen=True, slots=True)
class RunningSession:
    """An open session: its id and journal, and what its record held when it was opened.

    `findings` counts the rules' findings that are journaled already; `has_job` says whether there
    is a set to measure; `identities` is what each gauge has called itself, `ports` where it is and
    on which adapter. `changed` is what is other about the bench since it ended last.
    """

    id: str
    recorder: Recorder
    snapshot: Telling
    findings: int
    desk: CommandDesk
    has_job: bool = True
    identities: dict[str, GaugeIdentity] = field(default_factory=dict)
    ports: dict[str, GaugePort] = field(default_factory=dict)
    changed: Said = NOTHING


@dataclass(frozen=True, slots=True)
class Wires:
    """The gauges of the bench, by id, with the sources of their bytes; the pedal with its.

    Gauges behind one box are one port's (`BenchGauge`), whose source goes by the first of them.
    """

    gauges: dict[str, BenchGauge]
    sources: dict[str, ByteSource]
    to_another_port: dict[str, Callable[[Said], None]] = field(default_factory=dict)
    """Has a gauge be read at the port that it has now; takes the reason."""
    pedal: tuple[BenchPedal, ByteSource] | None = None


@dataclass(frozen=True, slots=True)
class Buses:
    """Where the bench's own bus is, and the shop's (None where it has none).

    `supervisor` keeps what outlives a session: the bus of the bench, its board.
    """

    own: Where
    shop: Where | None
    supervisor: Supervisor


class Daemon:
    """Runs one session of one bench until it is cancelled."""

    def __init__(
        self,
        bench: str,
        session: RunningSession,
        wires: Wires,
        clock: Clock,
        speaker: Speaker,
        buses: Buses,
    ) -> None:
        """Put the parts together; nothing starts before `run`.

        Args:
            bench: the bench's name.
            session: the open session.
            wires: gauges and byte sources.
            clock: the session's clock.
            speaker: proves what the daemon says: one for all its sessions.
            buses: where it is said, and who keeps that running.
        """
        self._session = session
        self._wires = wires
        self._clock = clock
        self._recorder = session.recorder
        self._recorder.hear(self._recorded)
        self.supervisor = buses.supervisor
        self._listening = Listening(bench, session.desk, self._recorder, clock)
        self._listening.answered = self._answered
        self.order: JobOrdered | None = None
        self._ordered = asyncio.Event()
        self._neighbours = Neighbours(self._recorder.journal.path.parent, bench)
        sealed = speaker.seal
        for_both = ((bench, session.id), self._recorder, sealed, self)
        own = self._listening.on_own_bus()
        self.bus = BusCopy(*for_both, buses.own, own, keeps_order=True)
        self._copies = [self.bus]
        self.asks_shown = AsksShown(
            session.id,
            lambda: self.bus.taken_seq,
            self.supervisor,
            self._recorder.record,
            clock.monotonic_ns,
        )
        self._recorder.tell(self.asks_shown.on_disk)
        self._recorder.tell(self._on_disk)
        if buses.shop is not None:
            self._copies.append(BusCopy(*for_both, buses.shop, self._listening.on_shops_bus()))
        gate = ResultsGate(
            session.id,
            session.findings,
            lambda event, because: self._recorder.record(event, because=because),
        )
        self._rules = RulesChild(self._recorder, gate)

    async def run(self) -> None:
        """Run every task until cancelled, or until another job is ordered; then end the session.

        It ends with a goodbye, and with the journal on disk. Which job was ordered is `order`: then
        nobody is said goodbye to, because the bench goes on.
        """
        try:
            async with asyncio.TaskGroup() as group:
                recording = group.create_task(self._recorder.run())
                sources = [group.create_task(work) for work in self._reading()]
                kept = group.create_task(self.supervisor.keep(self._rules))
                told = [group.create_task(copy.run()) for copy in self._copies]
                told.append(group.create_task(self._beat()))
                told.append(group.create_task(self._tick()))
                told.append(group.create_task(self._listening.answer(self._copies)))
                try:
                    await self._ordered.wait()
                finally:
                    for source in sources:
                        source.cancel()
                    for gauge in self._wires.gauges.values():
                        gauge.tell_left_out(self._clock.monotonic_ns())
                    if self.order is None:
                        await asyncio.gather(*(copy.say_goodbye() for copy in self._copies))
                        self._neighbours.leave()
                    for task in (*told, kept, recording):
                        task.cancel()
        finally:
            self._recorder.close(self._last_word())

    def _last_word(self) -> SessionClosed | JobPaused | None:
        """How the session ends: a job that is not finished is gone on with, or put aside."""
        order = self.order
        if self._session.snapshot.finished:
            return SessionClosed("done")
        if order is None:
            return None
        if not self._session.has_job or order.what == "close":
            return SessionClosed("stopped")
        return JobPaused(order.who)

    def _answered(self, event: Event) -> None:
        if isinstance(event, JobOrdered):
            self.order = event
            self._ordered.set()

    def _reading(self) -> list[Coroutine[object, object, None]]:
        """The work of every byte source."""
        works = [source.run() for source in self._wires.sources.values()]
        if self._wires.pedal is not None:
            works.append(self._wires.pedal[1].run())
        works += [
            self._wires.gauges[name].ask(source) for name, source in self._wires.sources.items()
        ]
        return works

    def _recorded(self, recorded: JustRecorded) -> None:
        if type(recorded.event) in READINGS:
            return
        self._session.desk.hear(recorded.seq, recorded.event)
        if self._session.snapshot.take(recorded):
            for copy in self._copies:
                copy.changed()

    def _on_disk(self, _seq: int, event: Event) -> None:
        if isinstance(event, AdapterChosen):
            self._session.ports[event.gauge].choose(event.port, event.who)
            why = said("chosen_at", who=event.who, port=event.port)
            self._wires.to_another_port[event.gauge](why)

    def state(self, state: str) -> bytes:
        """The state message (`acquire.bench.bus_copy.Told`)."""
        head = self._recorder.journal.head
        utc = utc_text(self._clock.utc())
        return ENCODE(StateTold(state, self._session.id, head.seq, utc, head.hash))

    def snapshot(self) -> tuple[int, bytes]:
        """The snapshot message, and the last record that is in it."""
        seq = self._recorder.journal.last_seq
        return seq, self._session.snapshot.payload(seq, utc_text(self._clock.utc()))

    async def _beat(self) -> None:
        while True:
            self._recorder.watch_clock()
            self._listening.look_for_silence()
            journal = self._recorder.journal
            self._neighbours.tell(self._session.id, journal.head)
            self._listening.look_at(self._neighbours.others())
            head = journal.head  # both at once: another thread writes
            health = {name: gauge.health(name) for name, gauge in self._wires.gauges.items()}
            beat = Heartbeat(
                session=self._session.id,
                seq=head.seq,
                head=head.hash,
                utc=utc_text(self._clock.utc()),
                trouble=journal.trouble,
                gauges=health,
                services=self.supervisor.states,
                rules_seq=self._rules.read_seq,
                refused=self._listening.refused,
            )
            for copy in self._copies:
                copy.beat(ENCODE(beat))
            await asyncio.sleep(HEARTBEAT_S)

    async def _tick(self) -> None:
        while True:
            await asyncio.sleep(TICK_S)
            self.asks_shown.look()
            for name in self._wires.sources:
                self._wires.gauges[name].tick()
            if self._wires.pedal is not None:
                self._wires.pedal[0].tick()
