"""One port of the bench: its source's bytes become journaled readings, faults and notes.

Mostly one gauge is behind it; behind a box with sockets there are several, each with a state of its
own. What happens to the port happens to all of them; its bytes stand with the first one's records.
"""

import asyncio
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

from barrelfit.acquire.bench.adapters import adapter_taken
from barrelfit.acquire.bus.payloads import GaugeHealth
from barrelfit.acquire.clock import Clock
from barrelfit.acquire.coded import said_of
from barrelfit.acquire.journal.events import UnitChanged, WireOpened, WireSent, of_outcome
from barrelfit.acquire.journal.port_events import BytesLeftOut, GaugeStalled, NameShared
from barrelfit.acquire.journal.recorder import Recorder
from barrelfit.acquire.wires.byte_source import ByteSource
from barrelfit.acquire.wires.gauge_port import GaugePort
from barrelfit.drivers.ask import AskedWire
from barrelfit.drivers.channels import OTHER_CHANNEL, SEVERAL_CHANNELS, of_gauges
from barrelfit.drivers.decode import Wire
from barrelfit.drivers.fuse import Fuse
from barrelfit.drivers.identity import NOT_THE_SAME, OTHER_GAUGE
from barrelfit.drivers.outcome import Outcome, Shown, WireFault
from barrelfit.rules.events import GaugeChanged
from barrelfit.rules.said import NOTHING, Said, decimal, said

ASK_LOOK_S: Final = 0.005
"""How often it is looked whether a request is due; an answer takes longer than that."""

WATCH_NS: Final = 1_000_000_000
"""How often it is looked whether the port's name has come to mean another adapter as well."""

STALL_MS: Final = 1000
"""As long as nobody read a port, times of what waited in it can't be told, and bytes may be lost.

The daemon looks twenty times a second."""

SILENT_NS: Final = 10_000_000_000
"""A gauge that sends by itself, or when asked, and says nothing for so long is told silent."""

ASLEEP_NS: Final = 120_000_000_000
"""After so long a silence a gauge may have switched itself off, and lost its zero."""

STEADY_NS: Final = 1_000_000_000
"""A gauge that sends all the time sends at least once in this time."""


@dataclass(slots=True)
class _Gauge:
    """What is known of one gauge behind a port."""

    name: str
    state: str = "lost"
    reason: Said = NOTHING
    last_ns: int | None = None
    unit: str = ""
    is_silent: bool = False

    @property
    def answers(self) -> bool:
        """Whether it has been heard since its port was opened."""
        return self.state == "answering"


class BenchGauge:
    """Stands between a byte source and the journal; knows whether each gauge answers."""

    def __init__(
        self,
        port: GaugePort,
        wire: Wire,
        recorder: Recorder,
        clock: Clock,
        life_ns: Callable[[], int] = lambda: 0,
    ) -> None:
        """Put a gauge together.

        Args:
            port: its port, with its id and what is known of its adapter.
            wire: decodes its bytes, and knows when a gauge that must be asked is asked.
            recorder: takes what comes of them.
            clock: the session's.
            life_ns: time as it passes here, by which it is known that nobody read the port.
        """
        self.name = port.gauge
        self._port = port
        self._shared = port.shared
        self._watched_ns = 0
        self._wire = wire
        self._recorder = recorder
        self._clock = clock
        self._life_ns = life_ns
        self._looked_ns = life_ns()
        self._fuse = Fuse()
        self._is_mixed = False
        self._is_open = False
        self._strange: set[str] = set()
        names = dict.fromkeys((port.gauge, *wire.behind.values()))
        unopened = said("port_not_opened_yet")
        self._gauges = {name: _Gauge(name, reason=unopened) for name in names}
        self._taken_ns: int | None = None

    def received(self, t_ns: int, data: bytes) -> None:
        """Take bytes that arrived at `t_ns`."""
        if self._fuse.blown:
            self._fuse.leave_out(data)
            return
        t_ns = self._look_for_stall() or t_ns
        outcomes = self._wire.feed(data, t_ns)
        self._journal(outcomes)
        if why := self._fuse.took(outcomes, len(data), t_ns):
            self._taken_ns = None
            self._journal(self._wire.closed(t_ns))
            self._say("lost", said_of(why), t_ns)

    async def ask(self, source: ByteSource) -> None:
        """Ask a gauge that answers only when asked, again and again; others are left alone."""
        while isinstance(self._wire, AskedWire):
            now_ns = self._clock.monotonic_ns()
            request = self._wire.poll(now_ns) if not self._is_lost else b""
            # Only what was written is waited for; no byte can be received before this task waits.
            if request and source.write(request):
                self._wire.sent(request, now_ns)
                self._recorder.record(WireSent(self.name, request.hex()), t_ns=now_ns)
            await asyncio.sleep(ASK_LOOK_S)

    def changed(self, t_ns: int, present: bool, reason: Said) -> None:  # noqa: FBT001  a source's callback
        """Hear that the port came or went."""
        self._taken_ns = None
        self.tell_left_out(t_ns)
        if present:
            self._is_open = True
            self._open(reason, t_ns)
        else:
            if self._is_open:
                self._port.lost()
            self._is_open = False
            self._journal(self._wire.closed(t_ns))
            self._say("lost", reason, t_ns)

    def tell_left_out(self, t_ns: int) -> None:
        """Record how many bytes were left out of a gauge that was cut off, where there were any."""
        count, sample = self._fuse.left_out()
        if count:
            self._recorder.record(BytesLeftOut(self.name, count, sample.hex()), t_ns=t_ns)

    def tick(self) -> None:
        """Call now and then: a frame that waits too long for its rest is given up."""
        self._look_for_stall()
        now_ns = self._clock.monotonic_ns()
        if self._is_open and self._fuse.is_due(now_ns):
            self.tell_left_out(now_ns)
            self._open(said("tried_again"), now_ns)
        if not self._is_lost:
            self._journal(self._wire.idle(now_ns))
        self._look_for_silence(now_ns)
        if now_ns - self._watched_ns >= WATCH_NS:
            self._watched_ns = now_ns
            self._watch_name(now_ns)

    def health(self, name: str = "") -> GaugeHealth:
        """A gauge's state and the age of its last reading, for the heartbeat.

        Args:
            name: which of the port's gauges; empty for the first.
        """
        gauge = self._gauges[name or self.name]
        if gauge.last_ns is None:
            return GaugeHealth(gauge.state, gauge.reason)
        age_ms = (self._clock.monotonic_ns() - gauge.last_ns) // 1_000_000
        return GaugeHealth(gauge.state, gauge.reason, age_ms)

    @property
    def _is_lost(self) -> bool:
        """Whether nothing can be heard of the port; its first gauge tells, like any other."""
        return self._gauges[self.name].state == "lost"

    def _open(self, reason: Said, t_ns: int) -> None:
        """Hear the gauge from now on: what waits in its port is old."""
        self._fuse.mend(t_ns)
        self._is_mixed = False
        self._strange.clear()
        self._recorder.record(WireOpened(self.name, self._port.name), t_ns=t_ns)
        self._record_adapter(t_ns)
        self._journal(self._wire.opened(t_ns))
        self._say("present", reason, t_ns)

    def _look_for_silence(self, t_ns: int) -> None:
        """Tell once that a gauge which should be heard all the time is not."""
        if self._wire.profile.sends == "button":
            return
        for gauge in self._gauges.values():
            if gauge.last_ns is None or t_ns - gauge.last_ns < SILENT_NS:
                continue
            if gauge.answers and not gauge.is_silent:
                gauge.is_silent = True
                self._say_of(gauge, "answering", said("is_silent"), t_ns)

    def _heard_again(self, gauge: _Gauge, t_ns: int) -> None:
        silent_ns = t_ns - gauge.last_ns if gauge.last_ns is not None else 0
        gauge.last_ns = t_ns
        if not gauge.is_silent:
            return
        gauge.is_silent = False
        if gauge.answers:
            slept = said("was_silent", minutes=round(silent_ns / 60e9))
            self._say_of(gauge, "answering", slept if silent_ns >= ASLEEP_NS else NOTHING, t_ns)

    def _look_for_stall(self) -> int | None:
        """Void what a stop of this process left without its time; called whenever we run.

        A stop that was over within a second leaves readings that came together, see `_times`.

        Returns:
            When it was found, None where there was none. A time that was taken before may be of
            before the stop, and what waited would look as if it had come after a long quiet.
        """
        life_ns = self._life_ns()
        stood_ms = (life_ns - self._looked_ns) // 1_000_000
        self._looked_ns = life_ns
        if stood_ms < STALL_MS or self._is_lost:
            return None
        t_ns = self._clock.monotonic_ns()
        self._taken_ns = None
        self._journal(self._wire.closed(t_ns))  # what a line held before, before the stop is told
        self._recorder.record(GaugeStalled(self.name, stood_ms), t_ns=t_ns)
        self._journal(self._wire.stalled(t_ns))
        reason = said("stood_still", time=decimal(f"{stood_ms / 1000:.1f}"))
        self._say("present", reason, t_ns)
        return t_ns

    def _watch_name(self, t_ns: int) -> None:
        """Tell once that the port's name has come to mean more than one adapter."""
        sentence = NOTHING if self._is_lost else self._port.watch()
        if self._port.shared == self._shared:
            return
        self._shared = self._port.shared
        shared = NameShared(self.name, self._port.name, " and ".join(self._shared))
        self._recorder.record(shared, t_ns=t_ns)
        for gauge in self._gauges.values() if sentence else ():
            self._say_of(gauge, gauge.state, sentence, t_ns)

    def _record_adapter(self, t_ns: int) -> None:
        taken = adapter_taken(self._port)
        if taken is not None:
            self._recorder.record(taken, t_ns=t_ns)

    def _say(self, state: str, reason: Said, t_ns: int) -> None:
        """What happens to the port happens to all its gauges."""
        for gauge in self._gauges.values():
            self._say_of(gauge, state, reason, t_ns)

    def _say_of(self, gauge: _Gauge, state: str, reason: Said, t_ns: int) -> None:
        gauge.state, gauge.reason = state, reason
        self._recorder.record(GaugeChanged(gauge.name, t_ns, state, reason), t_ns=t_ns)

    def _journal(self, outcomes: list[Outcome]) -> None:
        if not outcomes:
            return
        if len(outcomes) == 1 and isinstance(outcomes[0], Shown):
            self._journal_one(outcomes[0])
            return
        times = self._times(outcomes)
        at_ns = 0
        for outcome in outcomes:
            if isinstance(outcome, Shown):
                if outcome.index == 0:  # the values of one line were taken together
                    at_ns = times.pop(0) if times else 0
                self._hear(outcome)
            elif isinstance(outcome, WireFault) and outcome.fault == OTHER_GAUGE:
                self._say("present", said_of(outcome.hint), outcome.t_ns)
            for name, one in of_gauges(outcome, self.name, self._wire.behind):
                self._recorder.record(of_outcome(name, one, at_ns), t_ns=one.t_ns)

    def _journal_one(self, reading: Shown) -> None:
        """Nearly all that comes, by a shorter way."""
        if reading.index == 0:
            self._taken_ns = reading.t_ns
        self._hear(reading)
        name = self._wire.behind.get(reading.channel, self.name)
        self._recorder.record(of_outcome(name, reading), t_ns=reading.t_ns)

    def _hear(self, reading: Shown) -> None:
        """A reading came: the gauge's own, as far as the wire says whose it is."""
        if reading.suspect == OTHER_CHANNEL:
            self._tell_strange(reading)
            return
        gauge = self._gauges[self._wire.behind.get(reading.channel, self.name)]
        self._heard_again(gauge, reading.t_ns)
        if reading.suspect == SEVERAL_CHANNELS:
            if not self._is_mixed:
                self._is_mixed = True
                self._say("present", said("several_channels"), reading.t_ns)
            return
        if not gauge.answers and reading.suspect != NOT_THE_SAME:
            self._say_of(gauge, "answering", NOTHING, reading.t_ns)
        if gauge.unit not in {"", reading.unit}:
            changed = UnitChanged(gauge.name, gauge.unit, reading.unit)
            self._recorder.record(changed, t_ns=reading.t_ns)
        gauge.unit = reading.unit

    def _tell_strange(self, reading: Shown) -> None:
        """Tell once of a channel that the bench file names no gauge for."""
        if reading.channel in self._strange:
            return
        self._strange.add(reading.channel)
        why = said("unnamed_channel", channel=reading.channel)
        for gauge in self._gauges.values():
            self._say_of(gauge, gauge.state, why, reading.t_ns)

    def _times(self, outcomes: list[Outcome]) -> list[int]:
        """When readings that one read brought together were taken: evenly since the last one.

        A system or an adapter that was busy delivers several readings at once; without times of
        their own they would look like repeats. Empty when there is one reading or none, and after
        a pause too long for a gauge that was sending all the time.
        """
        arrived = [o.t_ns for o in outcomes if isinstance(o, Shown) and o.index == 0]
        before, number = self._taken_ns, len(arrived)
        if arrived:
            self._taken_ns = arrived[-1]
        if before is None or number <= 1:
            return []
        step_ns = (arrived[-1] - before) // number
        if not 0 < step_ns <= STEADY_NS:
            return []
        return [before + step_ns * place for place in range(1, number + 1)]
