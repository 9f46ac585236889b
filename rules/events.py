"""What goes into the bench's one `step` and what comes out: the vocabulary of a session.

Every class here is a journal kind, or is made of one (see `acquire.journal.events`). Times are
monotonic nanoseconds of the session, lengths are whole nm.
"""

from dataclasses import dataclass, field

from barrelfit.rules.hints import Coached, PartAway
from barrelfit.rules.model import FeatureId, Finding, Verdict
from barrelfit.rules.said import NOTHING, Said
from barrelfit.rules.telling import AskShown, BoardAwaited, TellingChanged
from barrelfit.rules.told import AtBench, FactHeld, FactSettled, FactTaken, FactTold, Weighed
from barrelfit.rules.uncertainty.budget import BudgetLine

# ---------------------------------------------------------------- what comes in


@dataclass(frozen=True, slots=True)
class Reading:
    """A gauge showed `length_nm` (already converted, not yet corrected to 20 °C)."""

    gauge: str
    t_ns: int
    length_nm: int


@dataclass(frozen=True, slots=True)
class ReadingFault:
    """A gauge sent something that is no reading: never a number, never nothing."""

    gauge: str
    t_ns: int
    fault: str


@dataclass(frozen=True, slots=True)
class GaugeChanged:
    """A gauge's state changed: `answering`, `present` (port there, gauge silent) or `lost`."""

    gauge: str
    t_ns: int
    state: str
    reason: Said = NOTHING


@dataclass(frozen=True, slots=True)
class PedalPressed:
    """The foot pedal, or a screen for it, asked for `next`, `again`, `back` or `undo`.

    `who` is the name that was told, `device` what the press came from: the pedal's port, or which
    screen.
    """

    t_ns: int
    action: str
    who: str = ""
    device: str = ""


@dataclass(frozen=True, slots=True)
class Wanted:
    """`who` wants to measure `at` now: an open feature, or one that has a size already.

    `device` is which screen it was said at.
    """

    t_ns: int
    at: FeatureId
    who: str = ""
    device: str = ""


@dataclass(frozen=True, slots=True)
class EntryMade:
    """A value typed by hand, with who typed it and the text as typed.

    `confirms` is set when the same person repeats or explains a held entry; `device` is which
    screen it was typed at.
    """

    t_ns: int
    at: FeatureId
    text: str
    unit: str
    who: str
    confirms: bool = False
    why: str = ""
    device: str = ""


@dataclass(frozen=True, slots=True)
class TemperatureTaken:
    """A temperature in millikelvin above 0 °C (21.5 °C is 21_500): of `part`, `gauge` or `room`.

    `who` is the name that was told, `device` which screen it was typed at.
    """

    t_ns: int
    of: str
    milli_celsius: int
    who: str = ""
    device: str = ""


@dataclass(frozen=True, slots=True)
class WentOn:
    """The session goes on after its recording had ended: what was said last may never have come."""

    t_ns: int


@dataclass(frozen=True, slots=True)
class RecordBroken:
    """The record was interrupted, for all gauges: what came meanwhile may be missing from it."""

    t_ns: int
    reason: Said


# ---------------------------------------------------------------- what comes out


@dataclass(frozen=True, slots=True)
class Asked:
    """What to do now: the feature, the gauge to take, and one line for the board.

    `ask` counts the session's asks, so that one that comes back as a record is known again; 0 in
    records of a version that did not count them. `meanwhile` is what can be done while this waits.
    """

    at: FeatureId | None
    gauge: str
    sentence: Said
    done: int
    total: int
    ask: int = 0
    meanwhile: tuple[FeatureId, ...] = ()


@dataclass(frozen=True, slots=True)
class Contact:
    """The part touched the gauge: a sweep of `at` has begun at `t_ns`."""

    at: FeatureId
    t_ns: int


@dataclass(frozen=True, slots=True)
class Passed:
    """One pass counted: readings from `start_ns` to `end_ns` held `size_nm` as read."""

    at: FeatureId
    number: int
    size_nm: int
    start_ns: int
    end_ns: int


@dataclass(frozen=True, slots=True)
class PassLost:
    """A pass over `at` does not count: readings are missing where it tells the size."""

    at: FeatureId
    t_ns: int


@dataclass(frozen=True, slots=True)
class Interrupted:
    """The part was put down after `passes` of at least `least` passes: the sweep waits for it."""

    at: FeatureId
    passes: int
    least: int


@dataclass(frozen=True, slots=True)
class StartedAnew:
    """After an interruption other passes came than before: only the last `passes` count."""

    at: FeatureId
    passes: int


@dataclass(frozen=True, slots=True)
class FarOff:
    """While `at` is asked for, a gauge reads `read_nm`, far from `expected_nm` (both nm).

    `code`: `zeroed`, `inches`, `another-feature` (it reads like `like`), `far`, or `another-gauge`
    (it is swept, and another one is asked for).
    """

    at: FeatureId
    gauge: str
    code: str
    read_nm: int
    expected_nm: int
    like: FeatureId | None = None


@dataclass(frozen=True, slots=True)
class StillDoubtful:
    """There is a size, but not a sure one yet: the sweep goes on.

    After `passes` passes it is `size_nm` at 20 °C, with 95 % interval [low_nm, high_nm].
    """

    at: FeatureId
    passes: int
    size_nm: int
    low_nm: int
    high_nm: int


@dataclass(frozen=True, slots=True)
class NotCounted:
    """Passes are made that don't count; `at` is the feature that is asked for.

    `why`: `still-there` (what was measured last has not come away), `asked-late` (they were made
    before it stood in the record that `at` is asked for) or `fact-asked` (no size is asked for).
    """

    at: FeatureId
    why: str = "still-there"


@dataclass(frozen=True, slots=True)
class Sized:
    """A size: `size_nm` at 20 °C, 95 % interval [low_nm, high_nm], `read_nm` before correction."""

    at: FeatureId
    size_nm: int
    read_nm: int
    u_nm: float
    low_nm: int
    high_nm: int
    pass_sizes_nm: tuple[int, ...]
    estimator: str
    rank: str  # ISO 14405-1 name of the number, e.g. "minimum of two-point sizes"
    source: str = "sweep"
    budget: tuple[BudgetLine, ...] = field(default=())
    notes: tuple[Said, ...] = field(default=())


@dataclass(frozen=True, slots=True)
class MeasuredTwice:
    """The size of `at` that comes next is its second, beside the first, for a verdict's sake.

    Sizes are in nm at 20 °C; `agree` says that they differ by no more than `doubt_nm`, which is
    what both sweeps together leave open.
    """

    at: FeatureId
    first_nm: int
    second_nm: int
    doubt_nm: int
    agree: bool


@dataclass(frozen=True, slots=True)
class AlikeParts:
    """Two parts measured one after the other, which differ by `apart_nm` (nm) at most.

    `doubt_nm` is what both sweeps leave open there.
    """

    earlier: str
    later: str
    apart_nm: int
    doubt_nm: int


@dataclass(frozen=True, slots=True)
class TwoPartsAsked:
    """Are these two parts each, or one that was measured twice? Asked when its kind is measured."""

    feature: str
    pairs: tuple[AlikeParts, ...]


@dataclass(frozen=True, slots=True)
class TwoPartsSettled:
    """What was asked of parts that are alike is settled.

    `how`: `pressed` (they are two parts each), `denied` (their sizes are taken back) or `measured`
    (they were measured once more, one by one, and what was found then stands).
    """

    feature: str
    how: str


@dataclass(frozen=True, slots=True)
class Refused:
    """No size came of this sweep: the reason's code, what is said of it, and what to do."""

    at: FeatureId
    reason: str
    sentence: Said
    advice: Said


@dataclass(frozen=True, slots=True)
class TakenBack:
    """The size of `at` stands no more: a person took it back."""

    at: FeatureId


@dataclass(frozen=True, slots=True)
class Judged:
    """A verdict on a part (`P1`) or pair (`P1+B1`), replacing any earlier one about the same."""

    about: str
    verdict: Verdict
    findings: tuple[Finding, ...]
    todo: Said


@dataclass(frozen=True, slots=True)
class MatchedPair:
    """A piston in a barrel in a cylinder; smallest and largest clearance at 20 °C in nm."""

    cylinder: int
    bank: str
    piston: str
    barrel: str
    tight_nm: int | None
    loose_nm: int | None


@dataclass(frozen=True, slots=True)
class Matched:
    """Which piston runs in which barrel, or why that can't be said.

    `outcome` is `matched`, `provisional`, `impossible`, `waiting` or `after rework`;
    `spread_nm` is the spread of the smallest clearances; `sentences` give reasons and mends.
    """

    outcome: str
    pairs: tuple[MatchedPair, ...]
    spread_nm: int | None
    sentences: tuple[Said, ...]


@dataclass(frozen=True, slots=True)
class SetDone:
    """Every feature of the plan has a size and every part a verdict."""

    serviceable: int
    rework: int
    discard: int
    undecided: int


Output = (
    Asked
    | Contact
    | Passed
    | PassLost
    | FarOff
    | Interrupted
    | StartedAnew
    | StillDoubtful
    | Coached
    | PartAway
    | NotCounted
    | Sized
    | MeasuredTwice
    | TwoPartsAsked
    | TwoPartsSettled
    | Refused
    | TakenBack
    | Judged
    | Matched
    | SetDone
    | FactTaken
    | FactHeld
    | FactSettled
)

Input = (
    Reading
    | Weighed
    | ReadingFault
    | GaugeChanged
    | PedalPressed
    | Wanted
    | EntryMade
    | FactTold
    | AtBench
    | TemperatureTaken
    | WentOn
    | RecordBroken
    | TellingChanged
    | BoardAwaited
    | AskShown
    | Asked  # come back as a record
)
