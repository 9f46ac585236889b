"""The state that `acquire.fold.handlers` folds a session's records into: what has happened so far.

Nothing here depends on how the records came (from a journal, over the bus, by a snapshot): the
same records give the same state. Times and lengths are the events' own.
"""

from dataclasses import dataclass, field, fields
from typing import Final, Generic, TypeVar

from barrelfit.acquire.journal.events import SessionOpened
from barrelfit.acquire.journal.override_events import Overridden, OverrideAsked
from barrelfit.rules.events import (
    Asked,
    EntryMade,
    FarOff,
    GaugeChanged,
    Interrupted,
    Judged,
    Matched,
    Passed,
    Refused,
    SetDone,
    Sized,
)
from barrelfit.rules.hints import PartAway
from barrelfit.rules.model import FeatureId
from barrelfit.rules.said import Said
from barrelfit.rules.told import FactHeld, FactTaken
from barrelfit.rules.uncertainty.decide import GUARD_FACTOR

E = TypeVar("E")


@dataclass(frozen=True, slots=True)
class Stood(Generic[E]):
    """A document of the record that stands, with the number of its record."""

    seq: int
    event: E


@dataclass(frozen=True, slots=True)
class Opened:
    """Whose session it is: the parts of its opening that a viewer is told."""

    bench: str
    job: str
    who: str
    simulated: bool
    guard_factor: float = GUARD_FACTOR

    @classmethod
    def of(cls, opening: SessionOpened) -> "Opened":
        """Take them from a session's opening."""
        whose = (opening.bench, opening.job, opening.who)
        return cls(*whose, opening.simulated, opening.guard_factor)


@dataclass(frozen=True, slots=True)
class NoSize:
    """A feature that was refused a size, and has none since: the last refusal, and how many."""

    seq: int
    event: Refused
    times: int


@dataclass(frozen=True, slots=True)
class Undone:
    """An undo that the rules have answered: it took back the size of `at` in record `sized_seq`.

    `pressed_seq` is the record of the pedal's word, `seq` that of the rules' first answer to it.
    """

    at: FeatureId
    sized_seq: int
    pressed_seq: int
    seq: int


@dataclass(frozen=True, slots=True)
class Doubt:
    """The size so far of a sweep that goes on: its 95 % interval after `passes` passes, in nm."""

    passes: int
    size_nm: int
    low_nm: int
    high_nm: int


@dataclass(frozen=True, slots=True)
class Sweeping:
    """The sweep going on at a feature, or the last one.

    `doubt` is None unless more passes are asked for, `interrupted` unless the part was put down;
    `anew`: what came back after that was like none of it; `lost`: a pass that does not count came
    after the last one that does; `over`: it came to a size or to none.
    """

    at: FeatureId
    contact_ns: int
    passes: tuple[Passed, ...] = ()
    doubt: Doubt | None = None
    interrupted: Interrupted | None = None
    anew: bool = False
    lost: bool = False
    over: bool = False


HeldKey = tuple[FeatureId, str]


@dataclass(slots=True)
class SessionState:
    """What has happened in one session, as far as record `seq`.

    `sizes` are those that stand, `firsts` those that count beside them, because the feature was
    measured twice for a verdict's sake. `history`
    are the features in the order in which the rules took their sizes (one that was measured twice
    stands there twice): an undo takes the last. `undos` and `entries` are the pedal's and hands'
    words that the rules have not answered yet. `refused` are features without a size since they
    were refused. `held` are typed values that wait for the one who typed them. An override, or the
    wish for one, is of one verdict: a new verdict stands alone, and `outdated` keeps the override
    that was of an earlier one. `facts` are all that were taken, in order: of a place the last one
    stands; `facts_held` wait for an answer. `fact_refused` was told last, and can't stand.
    `people` have signed on, in order; the last of them is at the bench, and `proven` where a code
    proved it; `by_proven` are the records of facts told so.
    """

    seq: int = 0
    opened: Opened | None = None
    asked: Stood[Asked] | None = None
    sizes: dict[FeatureId, Stood[Sized]] = field(default_factory=dict)
    firsts: dict[FeatureId, Stood[Sized]] = field(default_factory=dict)
    history: list[FeatureId] = field(default_factory=list)
    undos: list[int] = field(default_factory=list)
    undone: list[Undone] = field(default_factory=list)
    entries: list[Stood[EntryMade]] = field(default_factory=list)
    held: dict[HeldKey, Stood[EntryMade]] = field(default_factory=dict)
    refused: dict[FeatureId, NoSize] = field(default_factory=dict)
    judged: dict[str, Stood[Judged]] = field(default_factory=dict)
    overridden: dict[str, Stood[Overridden]] = field(default_factory=dict)
    outdated: list[Stood[Overridden]] = field(default_factory=list)
    override_asked: dict[str, Stood[OverrideAsked]] = field(default_factory=dict)
    gauges: dict[str, GaugeChanged] = field(default_factory=dict)
    milli_celsius: dict[str, int] = field(default_factory=dict)
    sweep: Sweeping | None = None
    not_counted: bool = False
    away: PartAway | None = None
    coached: Said | None = None
    far_off: FarOff | None = None
    matched: Stood[Matched] | None = None
    done: Stood[SetDone] | None = None
    closed: str = ""
    signed_by: str = ""
    facts: list[Stood[FactTaken]] = field(default_factory=list)
    facts_held: dict[FeatureId, Stood[FactHeld]] = field(default_factory=dict)
    fact_refused: Stood[FactHeld] | None = None
    people: list[str] = field(default_factory=list)
    proven: str = ""
    by_proven: list[int] = field(default_factory=list)

    @property
    def finished(self) -> bool:
        """Whether every feature has a size and every part a verdict."""
        return self.done is not None

    @property
    def facts_standing(self) -> dict[FeatureId, Stood[FactTaken]]:
        """The facts that stand by what was told in the session, without those taken back."""
        last = {stood.event.at: stood for stood in self.facts}
        return {at: stood for at, stood in last.items() if stood.event.value}

    @property
    def at(self) -> FeatureId | None:
        """The feature that is asked for now."""
        return self.asked.event.at if self.asked is not None else None

    @property
    def latest(self) -> Stood[Sized] | NoSize | None:
        """What the last sweep or entry came to, unless a size was taken back since."""
        results: list[Stood[Sized] | NoSize] = [*self.sizes.values(), *self.refused.values()]
        last = max(results, key=_seq_of, default=None)
        taken_back = self.undone[-1].seq if self.undone else 0
        return last if last is not None and last.seq > taken_back else None

    def copy(self) -> "SessionState":
        """A state that goes its own way from here."""
        made = SessionState()
        for name in _NAMES:
            value = getattr(self, name)
            setattr(made, name, value.copy() if isinstance(value, dict | list) else value)
        return made


_NAMES: Final = tuple(f.name for f in fields(SessionState))


def _seq_of(stood: Stood[Sized] | NoSize) -> int:
    return stood.seq
