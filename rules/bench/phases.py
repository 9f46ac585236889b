"""What a bench is doing: one class a phase, each with just what that phase needs.

    Waiting   its ask is on its way into the record and onto the board: nothing counts yet
    Armed     the next contact begins a sweep of the asked feature, or one is under way
    Leaving   what is in the gauge must come away before the next sweep may begin
    ToTell    a fact is asked for: seen, read, cleaned, marked, tried or weighed
    ByHand    no gauge of this bench measures what is asked for: it is typed in
    Done      nothing is left to ask for

A sweep uses only readings that stand in the record after its ask does: only the record proves that
anybody could know what was asked. From which phase which event leads to which is `step.TABLE`.
"""

from dataclasses import dataclass, field, replace
from typing import Final, Literal

from barrelfit.rules.bench.coach import Coach
from barrelfit.rules.bench.departure import Departure
from barrelfit.rules.bench.enough import Looks, Stays
from barrelfit.rules.bench.setup import GaugeOnBench
from barrelfit.rules.bench.unseen import Unseen, unknown_stays, unseen_again
from barrelfit.rules.engine.expectation import Expected
from barrelfit.rules.judge.plan import PlannedFeature
from barrelfit.rules.model import FeatureId
from barrelfit.rules.sweep import Left, PassFound, SweepContact
from barrelfit.rules.sweep.movements import entry_of
from barrelfit.rules.sweep.stream import AnySweep, sweep_of

Why = Literal["first", "anew", "discard", "undecided", "alike", "sure"]
"""Why a feature is asked for: it has no size; it is to have another one; a second sweep is to bear
out a discard, or to decide what was too near a limit; its part may be the one measured before; or
a press has said that it is another, and one more is to say so for sure."""

READ_NS: Final = 1_500_000_000
"""Nobody reads what is new on the board and does it, or does no more what stood there before, any
sooner (an estimate: a look up, a choice, and the way of a gauge that is moving already)."""

LATE_NS: Final = 1_000_000_000
"""What is shown so long after it was asked for came late (an estimate: a board that works takes a
few hundredths of a second, a busy machine some tenths): a hand may have looked in between, and
taken what stood there before. Any sooner, whoever looks sees what was swept just now."""

RECENT_NS: Final = 5_000_000_000
"""A hand that sweeps is at the crest more often than that."""

PLACE_NS: Final = 700_000_000
"""Of a leaf only the number of the place is new, so that its next place is sooner read; a press
that comes even sooner is left over from the place before."""

REPEATS: Final = frozenset({"discard", "undecided"})
"""A size found for these stands beside the one before."""

DOUBTED: Final = frozenset({"alike", "sure"})
"""It is asked whether parts are two each; what is measured meanwhile is measured once more."""


@dataclass(frozen=True, slots=True)
class Ask:
    """What is asked for, why, and the gauge for it; None: no gauge of this bench measures it."""

    planned: PlannedFeature
    gauge: GaugeOnBench | None
    why: Why = "first"

    @property
    def at(self) -> FeatureId:
        """The feature."""
        return self.planned.at


@dataclass(frozen=True, slots=True)
class Hold:
    """What a gauge may still hold: the feature (None: not known whose), and how it is missed."""

    gauge: GaugeOnBench
    at: FeatureId | None
    stays: Stays


def unseen(held: Hold) -> Hold:
    """The same after a time in which nobody saw the gauge.

    It may hold another part by now, and be set otherwise.
    """
    return replace(held, at=None, stays=replace(held.stays, is_sure=False))


def watched(held: Hold, departure: Departure | None) -> Hold:
    """The same as far as its departure was watched: what was away and is back may be another."""
    was_away = departure is not None and departure.was_away
    return replace(held, at=None) if was_away else held


class Crest:
    """What a gauge reads with a part right in it: of all readings the one nearest to that.

    One reading alone may be a bounce, so it is the second nearest.
    """

    def __init__(self, gauge: GaugeOnBench) -> None:
        self._sign = entry_of(gauge.traits.movement).crest_sign
        self._first: int | None = None
        self._second: int | None = None

    def push(self, length_nm: int) -> None:
        """Take one reading."""
        height = self._sign * length_nm
        if self._first is None or height > self._first:
            self._first, self._second = height, self._first
        elif self._second is None or height > self._second:
            self._second = height

    @property
    def nm(self) -> int:
        """The reading, in nm; 0 before any."""
        height = self._first if self._second is None else self._second
        return self._sign * (height or 0)


class RecentCrest:
    """The same of the last readings: what a gauge read once, set otherwise, is forgotten."""

    def __init__(self, gauge: GaugeOnBench) -> None:
        self._gauge = gauge
        self._before, self._now = Crest(gauge), Crest(gauge)
        self._since_ns: int | None = None

    def push(self, t_ns: int, length_nm: int) -> None:
        """Take one reading."""
        if self._since_ns is None or t_ns - self._since_ns >= RECENT_NS:
            self._since_ns, self._before, self._now = t_ns, self._now, Crest(self._gauge)
        for crest in (self._before, self._now):
            crest.push(length_nm)

    @property
    def nm(self) -> int:
        """The reading, in nm; 0 before any."""
        return self._before.nm


class Watch:
    """Looks at what a gauge holds while nothing that it sweeps counts.

    Args:
        gauge: the gauge.
        held: what it is known to hold; None for nothing.
        unseen: what is known of what may have come in while nobody saw it; None for nothing.
    """

    def __init__(
        self, gauge: GaugeOnBench, held: Hold | None = None, unseen: Unseen | None = None
    ) -> None:
        self._gauge = gauge
        self._held = held
        self._unseen = unseen
        self._begin()

    def _begin(self) -> None:
        traits, held = self._gauge.traits, self._held
        self._departure = held.stays.departure(traits) if held is not None else None
        self._sweep = sweep_of(traits)
        self._crest = RecentCrest(self._gauge)
        self._touched = False
        self._last_ns: int | None = held.stays.last_ns if held is not None else None

    def push(self, t_ns: int, length_nm: int) -> None:
        """Take one reading."""
        self._last_ns = t_ns
        if self._departure is not None:
            if not self._departure.gone(t_ns, length_nm):
                return
            self._held = self._departure = None
        self._crest.push(t_ns, length_nm)
        if self._unseen is not None:
            self._unseen.push(t_ns, length_nm)
        for note in self._sweep.push(t_ns, length_nm):
            if isinstance(note, SweepContact):
                self._touched = True
            elif isinstance(note, Left):
                self._touched, self._unseen = False, None
                self._crest = RecentCrest(self._gauge)

    def interrupted(self, asked: FeatureId | None) -> None:
        """Nobody saw what came of it meanwhile: it may be there still, or another in its place.

        Args:
            asked: what could be seen to be asked of the gauge; None for nothing.
        """
        hold = self.hold
        self._held = unseen(hold) if hold is not None else None
        again = unseen_again(self._gauge, self._unseen, asked)
        self._unseen = again if hold is None else None
        self._begin()

    @property
    def unseen(self) -> Unseen | None:
        """What is known of what may have come into the empty gauge while nobody saw it."""
        return None if self.swept or self._held is not None else self._unseen

    @property
    def swept(self) -> bool:
        """Whether something came into the gauge that nobody knows, and stays there."""
        return self._held is None and self._touched

    @property
    def hold(self) -> Hold | None:
        """What is in the gauge; None for nothing."""
        held = self._held
        if held is None and not self._touched:
            return None
        at, stays = (
            (None, unknown_stays(self._gauge, self._crest.nm))
            if held is None
            else (held.at, held.stays)
        )
        hold = Hold(self._gauge, at, held_since(stays, self._gauge, self._last_ns))
        return watched(hold, self._departure)


def held_since(stays: Stays, gauge: GaugeOnBench, last_ns: int | None) -> Stays:
    """The same, with when a gauge sent last that sends only on its button."""
    by_press = entry_of(gauge.traits.movement).by_press
    return replace(stays, last_ns=last_ns) if by_press else stays


@dataclass(slots=True)
class Waiting:
    """The session's ask `number` has not come back as a record.

    `watch` looks at what its gauge holds meanwhile: that is not what is asked for, since nobody
    could know, unless it is the right part that stayed; nobody could see what is asked for since
    `since_ns`. `recorded`: it has come back, but the board that the bench has of its own does not
    show it yet. `chosen_ns`: when a person asked for it (None: nobody did); whoever has not just
    done so may be on the way with what was asked before, and until `unread_ns` nobody can have read
    the new one.
    """

    ask: Ask
    gauge: GaugeOnBench
    number: int
    watch: Watch
    since_ns: int
    recorded: bool = False
    chosen_ns: int | None = None
    unread_ns: int | None = None


@dataclass(slots=True)
class Armed:
    """A sweep of what is asked for, begun or not.

    `touched` says whether the part is in the gauge; `departure` watches for it to leave once there
    are passes enough. After an interruption `since` is swept alone, too: should another part have
    come back, it is what counts. The rest is for telling (`told`, once) that a gauge reads far from
    what is `expected`: the `nearest` that it came since the contact (how far away it is, and what
    it read), and what other gauges do. `unseen` is what may have come in while nobody saw it.
    """

    ask: Ask
    gauge: GaugeOnBench
    sweep: AnySweep
    looks: Looks
    crest: Crest
    coach: Coach
    passes: int = 0
    last_ns: int = 0
    touched: bool = False
    departure: Departure | None = None
    since: AnySweep | None = None
    contact_ns: int | None = None
    told: bool = False
    expected: Expected | None = None
    nearest: tuple[int, int] | None = None
    strays: dict[str, AnySweep] = field(default_factory=dict)
    held: Hold | None = None
    unseen: Unseen | None = None

    @classmethod
    def fresh(cls, ask: Ask, gauge: GaugeOnBench, held: Hold | None = None) -> "Armed":
        """Begin with nothing swept; `held` is in the gauge and may be swept at once."""
        looks = Looks(gauge.passes, gauge.traits)
        coach = Coach(gauge.passes, gauge.traits)
        armed = cls(ask, gauge, sweep_of(gauge.traits), looks, Crest(gauge), coach, held=held)
        if held is not None and not entry_of(gauge.traits.movement).by_press:
            armed.departure = held.stays.departure(gauge.traits)
        return armed

    def touched_at(self, t_ns: int) -> None:
        """A part came into the gauge."""
        if self.held is not None:
            self.held = self.departure = None
        self.touched, self.contact_ns, self.told, self.nearest = True, t_ns, False, None

    def interrupted(self) -> None:
        """The part was put down before there were passes enough."""
        self.touched = False
        self.since = sweep_of(self.gauge.traits)
        self.looks.interrupted()

    def start_anew(self, since: AnySweep, note: PassFound) -> None:
        """Go on with what was swept since the interruption alone; `note` is its last pass."""
        self.sweep, self.since, self.departure = since, None, None
        self.looks = Looks(self.gauge.passes, self.gauge.traits)
        self.looks.passed(note)
        self.passes = since.passes

    @property
    def of(self) -> FeatureId | None:
        """Of what the part in the gauge is; None where it may have come in while nobody saw it."""
        may_be_another = self.unseen is not None and self.unseen.at != self.ask.at
        return None if may_be_another else self.ask.at

    @property
    def stays(self) -> Stays:
        """How it shows that the part has left."""
        return held_since(self.looks.stays(self.crest.nm), self.gauge, self.last_ns)


@dataclass(slots=True)
class Leaving:
    """What the gauge holds must come away; `departure` watches for it.

    What nobody knows may have come in just now, and its size is not known yet: its `watch` goes on.
    `unread_ns` is as of `Waiting`.
    """

    ask: Ask
    gauge: GaugeOnBench
    held: Hold
    watch: Watch | None = None
    unread_ns: int | None = None
    departure: Departure = field(init=False)

    def __post_init__(self) -> None:
        """Begin to watch."""
        self.departure = self.held.stays.departure(self.gauge.traits)

    @property
    def hold(self) -> Hold:
        """What the gauge holds."""
        held = (self.watch.hold if self.watch is not None else None) or self.held
        return watched(held, self.departure)

    def gone(self, t_ns: int, length_nm: int) -> bool:
        """Take one reading; True once what the gauge held has come away."""
        if self.watch is not None:
            self.watch.push(t_ns, length_nm)
            if self.watch.hold is None:
                return True
            self.departure.is_from(self.watch.hold.stays.about_nm)
        return self.departure.gone(t_ns, length_nm)

    def watch_anew(self) -> None:
        """Nobody saw what came of it: forget what was seen of the departure so far."""
        self.held, self.watch = unseen(self.hold), None
        self.departure = self.held.stays.departure(self.gauge.traits)


@dataclass(slots=True)
class ToTell:
    """A fact is asked for, as the session's ask `number`.

    `recorded` is as of `Waiting`; `heard_ns` is when it could be seen, None before. `goes_on`: the
    place before was asked just now. `swept` are the gauges whose sweeps were told not to count.
    """

    ask: Ask
    number: int
    goes_on: bool = False
    recorded: bool = False
    heard_ns: int | None = None
    swept: set[str] = field(default_factory=set)

    def was_read(self, t_ns: int) -> bool:
        """Whether what is asked was there to be read for long enough."""
        least_ns = PLACE_NS if self.goes_on else READ_NS
        return self.heard_ns is not None and t_ns - self.heard_ns >= least_ns


@dataclass(frozen=True, slots=True)
class ByHand:
    """What is asked for is typed in."""

    ask: Ask


@dataclass(frozen=True, slots=True)
class Done:
    """Nothing is asked for."""


Phase = Waiting | Armed | Leaving | ToTell | ByHand | Done
