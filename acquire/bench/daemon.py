"""The daemon of one bench: every task, port and file of a session hangs here.

Bytes arrive stamped, become journaled events, reach the disk, then the bus; the rules service's
findings come back over the bus into the same journal. Every task is a child of one group: when
one fails, all end, and the failure is told.
"""

import asyncio
import contextlib
import json
import logging
import os
import sys
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Final

from barrelfit.acquire.bench.command_desk import CommandDesk
from barrelfit.acquire.bench.gauge import BenchGauge
from barrelfit.acquire.bench.override_desk import COMMAND_BYTES_MAX
from barrelfit.acquire.bench.pedal import BenchPedal
from barrelfit.acquire.bench.results_gate import ResultsGate
from barrelfit.acquire.bus.broker import BrokerAddress, EmbeddedBroker
from barrelfit.acquire.bus.mqtt_bus import BusDownError, BusLink, BusMessage, Testament
from barrelfit.acquire.bus.payloads import (
    CURSORS,
    ENCODE,
    HEARTBEATS,
    OBJECTS,
    Door,
    Heartbeat,
    Refusal,
    State,
)
from barrelfit.acquire.bus.publisher import Publisher
from barrelfit.acquire.bus.snapshot import Telling
from barrelfit.acquire.clock import Clock, utc_text
from barrelfit.acquire.inputs.bench_file import BenchFile
from barrelfit.acquire.journal.events import Event, SessionClosed
from barrelfit.acquire.journal.head_watch import HeadWatch
from barrelfit.acquire.journal.record_events import MessageRefused
from barrelfit.acquire.journal.recorder import JustRecorded, Recorder
from barrelfit.acquire.topics import (
    ANSWER,
    COMMAND,
    CURSOR,
    HEARTBEAT,
    RESULTS,
    SNAPSHOT,
    STATE,
    parse_topic,
    topic,
)
from barrelfit.acquire.wires.byte_source import ByteSource
from barrelfit.acquire.wires.gauge_port import GaugePort
from barrelfit.drivers.identity import Identity

HEARTBEAT_S: Final = 0.5
TICK_S: Final = 0.05
SNAPSHOT_S: Final = 0.1
CHILD_AGAIN_S: Final = (0.25, 10.0)  # one that ends right after its start is given time
GOODBYE_S: Final = 2.0
COMMANDS_MAX: Final = 64

log = logging.getLogger("barrelfit")

Watcher = Callable[[int, Event], None]


@dataclass(frozen=True, slots=True)
class Session:
    """An open session: its id and journal, and what its record held when it was opened.

    `findings` counts the rules' findings that are journaled already; `identities` is what each
    gauge has called itself, `ports` where it is and on which adapter.
    """

    id: str
    recorder: Recorder
    snapshot: Telling
    findings: int
    desk: CommandDesk
    identities: dict[str, Identity] = field(default_factory=dict)
    ports: dict[str, GaugePort] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Wires:
    """The gauges of the bench with the sources of their bytes, by gauge id; the pedal with its."""

    gauges: dict[str, BenchGauge]
    sources: dict[str, ByteSource]
    pedal: tuple[BenchPedal, ByteSource] | None = None


class Daemon:
    """Runs one session of one bench until it is cancelled."""

    def __init__(
        self, bench: BenchFile, session: Session, wires: Wires, clock: Clock, watcher: Watcher
    ) -> None:
        """Put the parts together; nothing starts before `run`.

        Args:
            bench: the checked bench file.
            session: the open session.
            wires: gauges and byte sources.
            clock: the session's clock.
            watcher: hears of every event with its seq, once it is on disk.
        """
        self._name = bench.bench
        self._session = session
        self._wires = wires
        self._clock = clock
        self._recorder = session.recorder
        self._recorder.hear(self._recorded)
        self._recorder.tell(watcher)
        self._snapshot_due = asyncio.Event()
        self._commands: asyncio.Queue[bytes] = asyncio.Queue(COMMANDS_MAX)
        self._heads = HeadWatch(bench.bench)
        self._door = Door(self._refused)
        self._gate = ResultsGate(session.id, session.findings, self._record_finding)

    async def run(self, address: BrokerAddress, broker: EmbeddedBroker | None) -> None:
        """Run every task until cancelled; then say goodbye and bring the journal to disk."""
        own = tuple(topic(self._name, leaf) for leaf in (RESULTS, CURSOR, COMMAND))
        wanted = (*own, topic("+", HEARTBEAT))  # all benches': they are each other's witnesses
        will = Testament(topic(self._name, STATE), self._state("offline"))
        link = BusLink(address, self._name, wanted, self._receive, self._changed, will)
        self._link = link
        self._publisher = Publisher(self._recorder, link, self._name, self._session.id)
        try:
            async with asyncio.TaskGroup() as group:
                if broker is not None:
                    group.create_task(broker.watch())
                group.create_task(self._recorder.run())
                group.create_task(self._publisher.run())
                link_task = group.create_task(link.run())
                group.create_task(self._beat())
                group.create_task(self._tick())
                group.create_task(self._tell_snapshot())
                group.create_task(self._answer_commands())
                group.create_task(self._keep_rules(address))
                sources = [
                    group.create_task(source.run()) for source in self._wires.sources.values()
                ]
                if self._wires.pedal is not None:
                    sources.append(group.create_task(self._wires.pedal[1].run()))
                sources += [
                    group.create_task(gauge.ask(self._wires.sources[name]))
                    for name, gauge in self._wires.gauges.items()
                ]
                try:
                    await asyncio.Event().wait()
                finally:
                    for source in sources:
                        source.cancel()
                    for gauge in self._wires.gauges.values():
                        gauge.tell_left_out(self._clock.monotonic_ns())
                    await self._say_goodbye()
                    link_task.cancel()
        finally:
            finished = self._session.snapshot.finished
            self._recorder.close(SessionClosed("done") if finished else None)

    def _record_finding(self, event: Event, because: int) -> None:
        self._recorder.record(event, because=because)

    def _recorded(self, recorded: JustRecorded) -> None:
        self._session.desk.hear(recorded.seq, recorded.event)
        if self._session.snapshot.take(recorded):
            self._snapshot_due.set()

    def _receive(self, message: BusMessage) -> None:
        came = (message.topic, message.payload)
        if message.topic.endswith(RESULTS) and not message.retained:
            if problem := self._gate.take(message.payload):
                self._door.refuse(*came, problem)
        elif message.topic.endswith(COMMAND) and not message.retained:
            if self._door.take(*came, OBJECTS, COMMAND_BYTES_MAX) is None:
                return  # nobody could be answered: it has no id
            if self._commands.full():
                log.warning("more commands than can be taken: one was passed over")
            else:
                self._commands.put_nowait(message.payload)
        elif message.topic.endswith(CURSOR):
            self._heard_cursor(message)
        elif message.topic.endswith(HEARTBEAT):
            self._heard_beat(message)

    def _heard_cursor(self, message: BusMessage) -> None:
        cursor = self._door.take(message.topic, message.payload, CURSORS)
        if cursor is not None and cursor.session == self._session.id:
            self._publisher.heard_cursor(cursor.seq)

    def _heard_beat(self, message: BusMessage) -> None:
        """Record another bench's head hash when it is time to."""
        parsed = parse_topic(message.topic)
        beat = self._door.take(message.topic, message.payload, HEARTBEATS)
        if parsed is not None and beat is not None:
            head = (beat.session, beat.seq, beat.head)
            for event in self._heads.heard(parsed[0], head, _life_ns()):
                self._recorder.record(event)

    def _refused(self, refusal: Refusal) -> None:
        if refusal.worth_telling:
            place, problem, count = refusal.place, refusal.problem, refusal.count
            log.warning("%s: refused (%d): %s", place, count, problem)
            self._recorder.record(MessageRefused(place, problem, refusal.start, count))

    async def _answer_commands(self) -> None:
        """Take commands one by one; what they lead to is on disk before they are answered."""
        while True:
            payload = await self._commands.get()
            now_ns, utc_s = self._clock.monotonic_ns(), self._clock.utc().timestamp()
            answer, event = self._session.desk.take(payload, now_ns, utc_s)
            if event is not None:
                seq = self._recorder.record(event)
                if seq is None:
                    answer = {"id": answer["id"], "ok": False, "sentence": "nothing is recorded"}
                else:
                    await self._recorder.until_durable(seq)
            with contextlib.suppress(BusDownError):  # whoever asked hears nothing and asks again
                await self._link.publish(topic(self._name, ANSWER), ENCODE(answer))

    def _changed(self, up: bool) -> None:  # noqa: FBT001  the bus link's callback
        self._publisher.connected(up)
        if up:
            self._snapshot_due.set()

    def _state(self, state: str) -> bytes:
        head = self._recorder.journal.head
        utc = utc_text(self._clock.utc())
        return ENCODE(State(state, self._session.id, head.seq, utc, head.hash))

    async def _beat(self) -> None:
        while True:
            self._recorder.watch_clock()
            for event in self._heads.tick(_life_ns()):
                self._recorder.record(event)
            journal = self._recorder.journal
            head = journal.head  # both at once: another thread writes
            health = {name: gauge.health() for name, gauge in self._wires.gauges.items()}
            beat = Heartbeat(
                session=self._session.id,
                seq=head.seq,
                head=head.hash,
                utc=utc_text(self._clock.utc()),
                trouble=journal.trouble,
                gauges=health,
            )
            await self._link.tell(topic(self._name, HEARTBEAT), ENCODE(beat))
            await asyncio.sleep(HEARTBEAT_S)

    async def _tick(self) -> None:
        while True:
            await asyncio.sleep(TICK_S)
            for gauge in self._wires.gauges.values():
                gauge.tick()
            if self._wires.pedal is not None:
                self._wires.pedal[0].tick()

    async def _tell_snapshot(self) -> None:
        """Publish the retained state and snapshot whenever they changed, and after a reconnect."""
        while True:
            await self._snapshot_due.wait()
            self._snapshot_due.clear()
            # What the snapshot shows must be on disk before anyone sees it.
            seq = self._recorder.journal.last_seq
            payload = self._session.snapshot.payload(seq, utc_text(self._clock.utc()))
            await self._recorder.until_durable(seq)
            try:
                await self._link.publish(
                    topic(self._name, STATE), self._state("online"), retain=True
                )
                await self._link.publish(topic(self._name, SNAPSHOT), payload, retain=True)
            except BusDownError:
                continue  # the next connect asks for it again
            await asyncio.sleep(SNAPSHOT_S)

    async def _say_goodbye(self) -> None:
        with contextlib.suppress(BusDownError, TimeoutError):
            async with asyncio.timeout(GOODBYE_S):
                await self._link.publish(
                    topic(self._name, STATE), self._state("offline"), retain=True
                )

    async def _keep_rules(self, address: BrokerAddress) -> None:
        """Run the rules service; start it again when it ends."""
        order = {
            "host": address.host,
            "port": address.port,
            "user": address.user,
            "password": address.password,
            "bench": self._name,
            "journal": str(self._recorder.journal.path),
        }
        await self._recorder.until_durable(1)
        loop, again_s = asyncio.get_running_loop(), CHILD_AGAIN_S[0]
        while True:
            began = loop.time()
            child = await asyncio.create_subprocess_exec(
                *(sys.executable, "-m", "barrelfit.acquire.bench.rules_service"),
                stdin=asyncio.subprocess.PIPE,
                # Its matrices are small: more threads would cost memory and win nothing.
                env={"OPENBLAS_NUM_THREADS": "1", **os.environ},
                start_new_session=True,  # Ctrl-C is for us: the child ends with our goodbye
            )
            try:
                if child.stdin is not None:
                    child.stdin.write(json.dumps(order).encode() + b"\n")
                code = await child.wait()
            finally:
                if child.stdin is not None:
                    child.stdin.close()
                if child.returncode is None:
                    await child.wait()
            lived_long = loop.time() - began > CHILD_AGAIN_S[1]
            again_s = CHILD_AGAIN_S[0] if lived_long else min(2 * again_s, CHILD_AGAIN_S[1])
            log.error("the rules service ended (%s); starting it again in %g s", code, again_s)
            await asyncio.sleep(again_s)


def _life_ns() -> int:
    """Time as it passes here, however fast a simulated session runs, in ns."""
    return round(asyncio.get_running_loop().time() * 1e9)
