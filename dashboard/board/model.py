"""What a board knows of one bench: what has happened there, and what is only shown.

What has happened in the session is `acquire.fold`'s state, folded from the same records as the
report's; beside it stand live readings, sounds, and how the board stands with the bus. Nothing
here reads a clock. Times named `*_at_ns` are on the board's own monotonic clock (when a message
came in), times named `t_ns` on the bench's session clock.
"""

from array import array
from collections import deque
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final

from barrelfit.acquire.bus.jobs_told import JobsTold
from barrelfit.acquire.bus.payloads import ServiceHealth
from barrelfit.acquire.bus.plan_told import FactAsked, Planned
from barrelfit.acquire.bus.set_told import PartKnown
from barrelfit.acquire.fold.following import Following
from barrelfit.acquire.fold.state import SessionState
from barrelfit.rules.model import FeatureId
from barrelfit.rules.said import NOTHING, Said

TRACE_POINTS: Final = 3_000
TRACE_NS: Final = 30_000_000_000  # a little more than the trace on the screen
FAULTS_KEPT: Final = 20
CUES_KEPT: Final = 64
SESSIONS_KEPT: Final = 32
PRINTS_KEPT: Final = 4_096


@dataclass(frozen=True, slots=True)
class Link:
    """How the board stands with the bus: `up` is the broker, as the hub sees it."""

    up: bool
    why: str = ""


@dataclass(frozen=True, slots=True)
class Point:
    """One reading of the trace: session time and length as read, in ns and nm."""

    t_ns: int
    nm: int


@dataclass(frozen=True, slots=True)
class GaugeFault:
    """Something a gauge sent that is no number: when (UTC text), what, and its bytes in hex."""

    utc: str
    what: str
    raw: str


@dataclass(slots=True)
class GaugeSeen:
    """One gauge as the board knows it; `seen_at_ns` is when its last reading was taken.

    A scale has a `mass`, as it showed it in its unit, and no length.
    """

    name: str
    state: str = "unknown"
    reason: Said = NOTHING
    nm: int | None = None
    mass: str = ""
    decimals: int = 3
    unit: str = ""
    seen_at_ns: int | None = None
    readings: int = 0
    fault: str = ""
    faults: deque[GaugeFault] = field(default_factory=lambda: deque(maxlen=FAULTS_KEPT))


@dataclass(frozen=True, slots=True)
class Cue:
    """Something to hear and see: `name` is the cue's word, `number` grows by one each."""

    number: int
    name: str
    about: str


@dataclass(slots=True)
class Lag:
    """Turns session times into board times by the smallest delay seen lately.

    Two spans of a minute each: the smallest of both is used, so that clocks that drift apart
    by tens of ppm never add up to a false age.
    """

    offset_ns: int | None = None
    older_ns: int | None = None
    turned_at_ns: int = 0

    def note(self, now_ns: int, t_ns: int) -> None:
        """Take one message's delay into account."""
        delay = now_ns - t_ns
        if self.offset_ns is None or now_ns - self.turned_at_ns > 60_000_000_000:  # noqa: PLR2004
            self.older_ns, self.offset_ns, self.turned_at_ns = self.offset_ns, delay, now_ns
        self.offset_ns = min(self.offset_ns, delay)

    def board_time(self, t_ns: int) -> int | None:
        """Board time of a session time, None before anything was heard."""
        if self.offset_ns is None:
            return None
        if self.older_ns is None:
            return t_ns + self.offset_ns
        return t_ns + min(self.offset_ns, self.older_ns)


@dataclass(slots=True)
class Prints:
    """What the latest records looked like; as large before the first as ever after."""

    _seqs: "array[int]" = field(default_factory=lambda: array("q", [0]) * PRINTS_KEPT)
    _prints: "array[int]" = field(default_factory=lambda: array("q", [0]) * PRINTS_KEPT)

    def note(self, seq: int, print_: int) -> None:
        """Keep a record's print in place of an old one's."""
        self._seqs[seq % PRINTS_KEPT], self._prints[seq % PRINTS_KEPT] = seq, print_

    def differ(self, seq: int, print_: int) -> bool:
        """Whether a record that came again is another than it was; one long ago is not known."""
        place = seq % PRINTS_KEPT
        return self._seqs[place] == seq and self._prints[place] != print_


@dataclass(slots=True)
class Board:
    """Everything known of one bench. `slow` counts changes other than readings.

    `refused` counts messages that were not the bench's own, as this board met them,
    `bench_refused` as its daemon did, both by topic; `services` is how bus, rules and board stand.
    `answered` is the record of the last size or refusal that was seen to come, and when it came.
    """

    bench: str
    session: str = ""
    past: deque[str] = field(default_factory=lambda: deque(maxlen=SESSIONS_KEPT))
    slow: int = 0
    bad: int = 0
    refused: dict[str, int] = field(default_factory=dict)
    bench_refused: dict[str, int] = field(default_factory=dict)
    services: dict[str, ServiceHealth] = field(default_factory=dict)
    conflict: int | None = None
    daemon: str = "unknown"
    heard_at_ns: int | None = None
    lag: Lag = field(default_factory=Lag)
    following: Following = field(default_factory=Following)
    features: Sequence[Planned] = ()
    parts: Sequence[PartKnown] = ()
    choices: Mapping[str, list[str]] = field(default_factory=dict)
    jobs: JobsTold | None = None
    facts_asked: Sequence[FactAsked] = ()
    cautions: Mapping[str, Said] = field(default_factory=dict)
    pedal: Mapping[str, str] = field(default_factory=dict)
    not_recording: str = ""
    rules_seq: int = 0
    rules_moved_ns: int | None = None
    gauges: dict[str, GaugeSeen] = field(default_factory=dict)
    points: deque[Point] = field(default_factory=lambda: deque(maxlen=TRACE_POINTS))
    points_taken: int = 0
    points_gauge: str = ""
    cues: deque[Cue] = field(default_factory=lambda: deque(maxlen=CUES_KEPT))
    cues_made: int = 0
    answered: tuple[int, int] | None = None
    prints: Prints = field(default_factory=Prints)

    @property
    def state(self) -> SessionState:
        """What has happened in the session."""
        return self.following.state

    @property
    def seq(self) -> int:
        """The number of the last record that was heard of."""
        return self.following.seq

    @property
    def missed(self) -> int:
        """How many records of the journal never came over the bus."""
        return self.following.missed

    @property
    def job(self) -> str:
        """The job, empty where the bench has named none."""
        return self.state.opened.job if self.state.opened is not None else ""

    @property
    def operator(self) -> str:
        """Who is at the bench as told: signed on last, else began the job or set the bench up."""
        if self.state.people:
            return self.state.people[-1]
        return self.state.opened.who if self.state.opened is not None else ""

    @property
    def place(self) -> FeatureId | None:
        """The feature asked for now."""
        return self.state.at

    def cue(self, name: str, about: str = "") -> None:
        """Add a cue to be heard and seen."""
        self.cues_made += 1
        self.cues.append(Cue(self.cues_made, name, about))

    def gauge(self, name: str) -> GaugeSeen:
        """The gauge of that name, made when it is new."""
        return self.gauges.setdefault(name, GaugeSeen(name))

    def from_edge_nm(self, place: FeatureId | None) -> int | None:
        """How far from its edge a feature is measured, None where it is at no set place."""
        planned = self.planned(place)
        return planned.from_edge_nm if planned else None

    def planned(self, place: FeatureId | None) -> Planned | None:
        """What the plan tells of a feature, None where it is not in the plan."""
        return next((f for f in self.features if f.at == place), None)

    def measured(self, about: str) -> bool:
        """Whether every planned feature of a part (`P1`) or pair (`P1+B1`) has a size.

        Before that a verdict can only say what is missing: it is no verdict to act on.
        """
        parts = about.split("+")
        return all(f.at in self.state.sizes for f in self.features if f.at.part in parts)

    @property
    def last_verdict(self) -> str:
        """What the last verdict that can be acted on is about, empty before there is one."""
        judged = self.state.judged
        whole = [about for about in judged if self.measured(about)]
        return max(whole, key=lambda about: judged[about].seq, default="")

    @property
    def gauge_shown(self) -> str:
        """The gauge whose figure is shown: the one asked for, else the first by name with one."""
        asked = self.state.asked
        heard = (name for name, gauge in self.gauges.items() if gauge.nm is not None)
        return (asked.event.gauge if asked is not None else "") or min(heard, default="")
