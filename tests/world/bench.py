"""One bench in virtual time: cable, daemon, disk, rules service, board, each of which can fail.

The pieces are the project's own (wire, gauge, findings queue, gate); what the system does between
them (delays, a process killed or stopped, a link cut) is played here, from a seed. Times are
virtual seconds; nothing sleeps.
"""

import random
from collections.abc import Iterator
from dataclasses import dataclass, field

from barrelfit.acquire.bench.asks_shown import AsksShown
from barrelfit.acquire.bench.findings_queue import FindingsQueue
from barrelfit.acquire.bench.gauge import BenchGauge
from barrelfit.acquire.bench.results_gate import ResultsGate
from barrelfit.acquire.bench.rules_pipe import SAID
from barrelfit.acquire.bench.supervisor import Supervisor
from barrelfit.acquire.inputs.setup import setup_of
from barrelfit.acquire.journal.events import (
    OUTPUT_TYPES,
    Event,
    SessionOpened,
    SessionResumed,
)
from barrelfit.acquire.redo.redo_journal import wire_of
from barrelfit.acquire.wires.gauge_port import GaugePort
from barrelfit.rules.events import Asked, PedalPressed
from barrelfit.simulators.line import Encoder
from tests.acquire.recorded import opening
from tests.world.parts import set_text, sheet_text

TERMINAL_BYTES = 4095  # what a tty keeps for a reader that does not read
START_S = 1.5  # a daemon that was killed is up again after this, and its rules after as long
BOARD_BACK_S = 2.0  # an own board finds a bus that came back so much later than the daemon does
LOOK_S = 0.05  # how often the daemon looks whether an ask has reached the bus
SURE = 0.3  # uncertainty of the gauges' setting in µm, so that sweeps need not go on for ever


@dataclass(frozen=True, slots=True)
class Line:
    """A record as it stands in the journal; `safe_s` is when it is on disk."""

    seq: int
    event: Event
    t_ns: int
    because: int | None
    safe_s: float


@dataclass
class Span:
    """A time in which something is away."""

    begin_s: float
    end_s: float

    def holds(self, now_s: float) -> bool:
        return self.begin_s <= now_s < self.end_s


@dataclass
class Clock:
    """Virtual time."""

    now_s: float = 10.0

    def monotonic_ns(self) -> int:
        return round(self.now_s * 1e9)


@dataclass
class Journal:
    """The disk and what waits for it; takes the place of a recorder."""

    clock: Clock
    chance: random.Random
    lines: list[Line] = field(default_factory=list)
    slow: list[Span] = field(default_factory=list)

    def record(
        self, event: Event, *, because: int | None = None, t_ns: int | None = None
    ) -> int | None:
        now_s = self.clock.now_s
        safe_s = now_s + self.chance.uniform(0.002, 0.012)
        safe_s = max([safe_s, *(s.end_s for s in self.slow if s.holds(now_s))])
        if self.lines:
            safe_s = max(safe_s, self.lines[-1].safe_s)
        stamp = self.clock.monotonic_ns() if t_ns is None else t_ns
        self.lines.append(Line(len(self.lines) + 1, event, stamp, because, safe_s))
        return len(self.lines)

    def safe(self) -> int:
        """How many records are on disk."""
        number = len(self.lines)
        while number and self.lines[number - 1].safe_s > self.clock.now_s:
            number -= 1
        return number

    def cut(self) -> int:
        """A kill: what is not on disk is gone; gives how many records stay."""
        del self.lines[self.safe() :]
        return len(self.lines)


def document(*, asks_facts: bool = False, says_average: bool = False) -> SessionOpened:
    """The first record: the shipped sheet with one depth, gauges set well, temperatures known.

    Args:
        asks_facts: whether the plan asks for facts, too.
        says_average: whether it is said that the displays do not average.
    """
    made = opening(
        sheet_text=sheet_text(), set_text=set_text(asks_facts=asks_facts), code_version="world"
    )
    setting = f'setting = {{ standard = "ring", u_um = {SURE} }}\n'
    setting += "averages_ms = 0\n" if says_average else ""
    config = made.config_text.replace('measures = "', f'{setting}measures = "')
    return opening(
        sheet_text=made.sheet_text,
        set_text=made.set_text,
        config_text=config,
        code_version=made.code_version,
    )


@dataclass
class Rules:
    """The rules service: it lives from the journal's copy, and answers by numbered messages."""

    queue: FindingsQueue
    born_s: float
    sent: int = 0


class Bench:
    """The whole bench but the hand."""

    def __init__(
        self,
        chance: random.Random,
        *,
        own_board: bool,
        asks_facts: bool = False,
        says_average: bool = False,
    ) -> None:
        self.clock, self.chance, self.own_board = Clock(), chance, own_board
        self._board_back_s = 0.0
        self._board_seq = self._showing = 0
        self.journal = Journal(self.clock, chance)
        self.opened = document(asks_facts=asks_facts, says_average=says_average)
        self.setup = setup_of(self.opened)
        self.encoders = {
            name: Encoder.for_profile(gauge.profile) for name, gauge in self.opened.gauges.items()
        }
        self.down: dict[str, list[Span]] = {}
        self.doubled: list[Span] = []
        self.plugged = dict.fromkeys(self.opened.gauges, True)
        self.terminal = dict.fromkeys(self.opened.gauges, b"")
        self._back: list[tuple[float, bytes]] = []
        self._pressed: list[tuple[int, str]] = []
        self.rules: Rules | None = None
        self.gauges: dict[str, BenchGauge] = {}
        self._taken = self._safe_told = 0
        self.journal.record(self.opened)
        self._daemon_starts(resumed=False)

    # ------------------------------------------------------------ what can be away

    def is_down(self, what: str) -> bool:
        spans = self.down.get(what)
        return spans is not None and any(span.holds(self.clock.now_s) for span in spans)

    def away(self, what: str, seconds: float) -> None:
        now_s = self.clock.now_s
        self.down.setdefault(what, []).append(Span(now_s, now_s + seconds))

    def kill_daemon(self) -> None:
        """It and its children; bytes that arrive while nobody has the port open are gone."""
        self.journal.cut()
        self._back.clear()
        self.terminal = dict.fromkeys(self.terminal, b"")
        self.gauges, self.rules = {}, None
        for of_it in ("daemon stopped", "rules stopped"):  # what is started instead is not
            self.down.pop(of_it, None)
        self.away("daemon", START_S)
        self.away("rules", 2 * START_S)

    def kill_rules(self) -> None:
        """What it said and nobody has taken yet is gone with its pipe."""
        self.rules = None
        self._back.clear()
        self.down.pop("rules stopped", None)
        self.away("rules", START_S)

    # ------------------------------------------------------------ time goes on

    def press(self, action: str) -> None:
        """The pedal: its own wire to the daemon."""
        self._pressed.append((self.clock.monotonic_ns(), action))

    def pump(self) -> None:
        """Whatever is due now."""
        if self.is_down("daemon") or self.is_down("board"):
            self._board_back_s = self.clock.now_s + (BOARD_BACK_S if self.own_board else 0.0)
        if not self.is_down("daemon"):
            if not self.gauges:
                self._daemon_starts(resumed=True)
            if not self.is_down("daemon stopped"):
                self._daemon_works()
        if self.is_down("rules"):
            return
        if self.rules is None and self.gauges:
            self.rules = Rules(self._folded(), self.clock.now_s)
        if self.rules is not None and not self.is_down("rules stopped"):
            self._rules_work(self.rules)

    def send(self, gauge: str, mm: float) -> None:
        """One sample of a gauge: its bytes go down the cable, if there is one."""
        if self.is_down(f"cable {gauge}"):
            return
        digit_nm = 1000
        data = self.encoders[gauge].encode(round(mm * 1e6 / digit_nm) * digit_nm)
        if self.is_down("daemon") or not self.gauges:
            return
        if self.is_down("daemon stopped"):
            self.terminal[gauge] = (self.terminal[gauge] + data)[:TERMINAL_BYTES]
            return
        self.gauges[gauge].received(self.clock.monotonic_ns(), data)

    # ------------------------------------------------------------ the daemon

    def _daemon_starts(self, *, resumed: bool) -> None:
        if resumed:
            self.journal.record(SessionResumed(len(self.journal.lines)))
        self._taken = self._safe_told = self.journal.safe()
        supervisor = Supervisor(self.journal.record)
        self.asks_shown = AsksShown(
            self.opened.session, lambda: self._taken, supervisor, self.journal.record,
            self.clock.monotonic_ns,
        )  # fmt: skip
        if self.own_board:
            self.asks_shown.await_board()
            self._board_seq = self._showing = 0
        self._look_s = self.clock.now_s
        for name, setup in self.opened.gauges.items():
            wire = wire_of(self.opened, name)
            port = GaugePort(name, setup.port, lambda _path: None, lambda: (), lambda: ())
            gauge = BenchGauge(port, wire, self.journal, self.clock, self.clock.monotonic_ns)  # type: ignore[arg-type]
            self.gauges[name] = gauge
            self.plugged[name] = not self.is_down(f"cable {name}")
            if self.plugged[name]:
                gauge.changed(self.clock.monotonic_ns(), True, "")  # noqa: FBT003
        found = sum(isinstance(line.event, OUTPUT_TYPES) for line in self.journal.lines)
        self.gate = ResultsGate(self.opened.session, found, self._found)

    def _found(self, event: Event, because: int) -> int | None:
        return self.journal.record(event, because=because)

    def _daemon_works(self) -> None:
        now_ns = self.clock.monotonic_ns()
        for name, gauge in self.gauges.items():
            there, was_there = not self.is_down(f"cable {name}"), self.plugged[name]
            if there and not was_there:  # nothing is read of a port before it is open
                gauge.changed(now_ns, True, "")  # noqa: FBT003
            if self.terminal[name]:  # what waits is read before it shows that the port is gone
                waiting, self.terminal[name] = self.terminal[name], b""
                gauge.received(now_ns, waiting)
            if was_there and not there:
                gauge.changed(now_ns, False, "unplugged")  # noqa: FBT003
            self.plugged[name] = there
            gauge.tick()
        self._tell_asks()
        self._board_shows()
        for t_ns, action in self._pressed:
            self.journal.record(PedalPressed(t_ns, action), t_ns=now_ns)
        self._pressed.clear()
        due = [payload for at_s, payload in self._back if at_s <= self.clock.now_s]
        self._back = [(at_s, payload) for at_s, payload in self._back if at_s > self.clock.now_s]
        for payload in due:
            if self.gate.take(SAID.decode(payload)):  # type: ignore[arg-type]
                self.kill_rules()  # a service that says what can't be is ended, and begins anew

    def _tell_asks(self) -> None:
        """The bus takes what is on disk, if it can be reached; the daemon looks whether it has."""
        safe = self.journal.safe()
        for line in self.journal.lines[self._safe_told : safe]:
            self.asks_shown.on_disk(line.seq, line.event)
        self._safe_told = safe
        if not self.is_down("board"):
            self._taken = safe
        while self._look_s <= self.clock.now_s:
            self.asks_shown.look()
            self._look_s += LOOK_S

    def _board_shows(self) -> None:
        """The bench's own board says through its pipe what it shows."""
        if not self.own_board:
            return
        if self.has_board():
            safe = self.journal.safe()
            for line in self.journal.lines[self._board_seq : safe]:
                if isinstance(line.event, Asked):
                    self._showing = line.event.ask
            self._board_seq = safe
        if self._showing:
            self.asks_shown.shown(self.opened.session, self._showing)

    # ------------------------------------------------------------ the rules service

    def _folded(self) -> FindingsQueue:
        queue = FindingsQueue(self.opened.session, self.setup, self.opened.code_version)
        for line in self.journal.lines[: self.journal.safe()]:
            queue.take(line.seq, line.event, line.t_ns, line.because)
        return queue

    def _rules_work(self, rules: Rules) -> None:
        if self.is_down("link"):
            return
        for line in self.journal.lines[rules.queue.seq : self.journal.safe()]:
            rules.queue.take(line.seq, line.event, line.t_ns, line.because)
        while (message := rules.queue.unsent(rules.sent)) is not None:
            payload, rules.sent = message
            at_s = self.clock.now_s + self.chance.uniform(0.001, 0.02)
            at_s = max([at_s, *(earlier_s for earlier_s, _ in self._back)])  # a pipe keeps order
            twice = any(span.holds(self.clock.now_s) for span in self.doubled)
            self._back += [(at_s, payload)] * (2 if twice else 1)

    def has_board(self) -> bool:
        """Whether the board hears of the bench, and is not stopped."""
        away = any(self.is_down(what) for what in ("daemon", "board", "board stopped"))
        return not away and self.clock.now_s >= self._board_back_s

    def board_sees(self, upto: int) -> Iterator[Line]:
        """Records after number `upto` that have reached the board."""
        if self.has_board():
            yield from self.journal.lines[upto : self.journal.safe()]
