"""What a board knows of one bench: the state that `dashboard.board.fold` folds bus messages into.

All of it comes from the bus; nothing here reads a clock. Times named `*_at_ns` are on the board's
own monotonic clock (when a message came in), times named `t_ns` on the bench's session clock.
"""

from array import array
from collections import deque
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Final

TRACE_POINTS: Final = 3_000
TRACE_NS: Final = 30_000_000_000  # a little more than the trace on the screen
FAULTS_KEPT: Final = 20
CUES_KEPT: Final = 64
EVENTS_KEPT: Final = 2_000
SESSIONS_KEPT: Final = 32
PRINTS_KEPT: Final = 4_096

Event = Mapping[str, Any]
Place = tuple[str, str, str, str]


def place_of(at: Mapping[str, Any] | None) -> Place | None:
    """The four words of a feature's id as a key: part, feature, depth, direction."""
    if not at:
        return None
    return (
        str(at.get("part", "")),
        str(at.get("feature", "")),
        str(at.get("depth", "") or ""),
        str(at.get("direction", "") or ""),
    )


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
class Fault:
    """Something a gauge sent that is no number: when (UTC text), what, and its bytes in hex."""

    utc: str
    what: str
    raw: str


@dataclass(slots=True)
class Gauge:
    """One gauge as the board knows it; `seen_at_ns` is when its last reading was taken."""

    name: str
    state: str = "unknown"
    reason: str = ""
    nm: int | None = None
    decimals: int = 3
    unit: str = ""
    seen_at_ns: int | None = None
    readings: int = 0
    fault: str = ""
    faults: deque[Fault] = field(default_factory=lambda: deque(maxlen=FAULTS_KEPT))


@dataclass(frozen=True, slots=True)
class Pass:
    """A counted pass: its number, the size it held in nm, and the session times it spans."""

    number: int
    nm: int
    start_ns: int
    end_ns: int


@dataclass(slots=True)
class Sweep:
    """The sweep going on or just finished at one feature.

    `doubt_nm` is half of the size's interval while the bench asks for more passes; `least` is how
    many passes are asked for at least while the part is put down, 0 else.
    """

    place: Place
    contact_ns: int
    passes: list[Pass] = field(default_factory=list)
    doubt_nm: int | None = None
    least: int = 0


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
    """Everything known of one bench. `slow` counts changes other than readings."""

    bench: str
    session: str = ""
    past: deque[str] = field(default_factory=lambda: deque(maxlen=SESSIONS_KEPT))
    seq: int = 0
    slow: int = 0
    missing: set[int] = field(default_factory=set)
    lost_count: int = 0
    bad: int = 0
    conflict: int | None = None
    daemon: str = "unknown"
    heard_at_ns: int | None = None
    lag: Lag = field(default_factory=Lag)
    job: str = ""
    who: str = ""
    not_recording: str = ""
    asked: Event | None = None
    undo_seq: int = 0
    not_counted: bool = False
    done: int = 0
    total: int = 0
    gauges: dict[str, Gauge] = field(default_factory=dict)
    sweep: Sweep | None = None
    points: deque[Point] = field(default_factory=lambda: deque(maxlen=TRACE_POINTS))
    points_taken: int = 0
    points_gauge: str = ""
    last_result: tuple[str, Event] | None = None
    sizes: dict[Place, Event] = field(default_factory=dict)
    sizes_seq: dict[Place, int] = field(default_factory=dict)
    refusals: dict[Place, int] = field(default_factory=dict)
    judged: dict[str, Event] = field(default_factory=dict)
    judged_seq: dict[str, int] = field(default_factory=dict)
    overrides: dict[str, Event] = field(default_factory=dict)
    requests: dict[str, Event] = field(default_factory=dict)
    last_judged: str = ""
    features: list[tuple[Place, str]] = field(default_factory=list)
    from_edge_nm: dict[Place, int] = field(default_factory=dict)
    limits: Any = None
    matched: Event | None = None
    set_done: Event | None = None
    cues: deque[Cue] = field(default_factory=lambda: deque(maxlen=CUES_KEPT))
    cues_made: int = 0
    kept: deque[Event] = field(default_factory=lambda: deque(maxlen=EVENTS_KEPT))
    prints: Prints = field(default_factory=Prints)
    gap_end: int = 0
    whole: bool = False

    def cue(self, name: str, about: str = "") -> None:
        """Add a cue to be heard and seen."""
        self.cues_made += 1
        self.cues.append(Cue(self.cues_made, name, about))

    def gauge(self, name: str) -> Gauge:
        """The gauge of that name, made when it is new."""
        return self.gauges.setdefault(name, Gauge(name))

    def measured(self, about: str) -> bool:
        """Whether every planned feature of a part (`P1`) or pair (`P1+B1`) has a size.

        Before that a verdict can only say what is missing: it is no verdict to act on.
        """
        parts = about.split("+")
        return all(place in self.sizes for place, _ in self.features if place[0] in parts)

    @property
    def last_verdict(self) -> str:
        """What the last verdict that can be acted on is about, empty before there is one."""
        if not self.last_judged or self.measured(self.last_judged):
            return self.last_judged
        whole = [about for about in self.judged if self.measured(about)]
        return max(whole, key=lambda about: self.judged_seq.get(about, 0), default="")

    @property
    def gauge_shown(self) -> str:
        """The gauge whose figure is shown: the one asked for, else the first by name with one."""
        wanted = str(self.asked.get("gauge", "") or "") if self.asked else ""
        heard = (name for name, gauge in self.gauges.items() if gauge.nm is not None)
        return wanted or min(heard, default="")

    @property
    def missed(self) -> int:
        """How many records of the journal never came over the bus."""
        return len(self.missing) + self.lost_count

    @property
    def place(self) -> Place | None:
        """The feature asked for now."""
        return place_of(self.asked.get("at")) if self.asked else None
