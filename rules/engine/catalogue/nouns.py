"""What the catalogue says of one feature (a length of a part) or one fact (anything else).

A field without a default must be said of every entry: a feature without an expectation of its own
cannot be written down.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from enum import IntEnum
from typing import Final, Literal, Protocol

from barrelfit.rules.engine.expectation import Expected
from barrelfit.rules.engine.form import Key
from barrelfit.rules.engine.limits import Limit
from barrelfit.rules.engine.parts import EngineSet, Part, PartKind
from barrelfit.rules.engine.sheet import Sheet
from barrelfit.rules.model import FeatureId, Size
from barrelfit.rules.said import NOTHING, Said, said

GaugeKind = Literal["outside", "bore", "hand", "eye", "scale"]
"""What measures: two kinds of gauge; what no gauge measures is tried by `hand`, seen by `eye`, or
weighed on a `scale`."""

Where = Literal["part", "places", "rings"]
"""One of a part, at every depth and direction of a bore, or one of each ring in its groove."""

Sort = Literal["marks", "choice", "mate", "mass", "leaves", "looks", "feel", "there", "done"]
"""What sort of value a fact is: `leaves` go into a groove or don't, `there` is a part or isn't,
`done` is work on a part."""

Picture = Literal["skirt", "grooves", "pin", "ring", "bore", "piston"]
"""Which of the board's drawings shows where it is measured."""


class Round(IntEnum):
    """The rounds of a job, as the trade works; sizes in the order of the fewest gauge changes."""

    LOOK = 1
    IDENTIFY = 2
    CLEAN = 3
    MARK = 4
    PISTONS = 5
    PINS = 6
    BORES = 7
    RINGS = 8
    GAP_BORES = 9
    FITS = 10
    MASS = 11
    HEIGHTS = 12


STEP_OF: Final[dict[Round, str]] = {
    Round.LOOK: "look",
    Round.IDENTIFY: "identify",
    Round.CLEAN: "clean",
    Round.MARK: "mark",
    Round.PISTONS: "measure",
    Round.PINS: "measure",
    Round.BORES: "measure",
    Round.RINGS: "rings",
    Round.GAP_BORES: "rings",
    Round.FITS: "pins",
    Round.MASS: "mass",
    Round.HEIGHTS: "heights",
}
"""The step of the job that a round belongs to: one of `rules.engine.parts.STEPS`, or `measure`."""

CAUTIONS: Final[dict[str, Said]] = {
    "look": said("caution_look"),
    "identify": said("caution_identify"),
    "clean": said("caution_clean"),
    "mark": said("caution_mark"),
    "measure": said("caution_measure"),
    "rings": said("caution_rings"),
    "pins": said("caution_pins"),
    "mass": said("caution_mass"),
    "heights": said("caution_heights"),
}
"""What can hurt, or spoil a part, in each step."""


class Known(Protocol):
    """What an expectation may look at: the engine, its sheet, and what was measured beside."""

    @property
    def sheet(self) -> Sheet: ...  # noqa: D102  as above

    @property
    def engine(self) -> EngineSet: ...  # noqa: D102

    @property
    def sizes(self) -> Mapping[FeatureId, Size]: ...  # noqa: D102


@dataclass(frozen=True, slots=True)
class Lack:
    """A finding that stands while something is not known, and how to get to know it.

    Attributes:
        code: the finding's code.
        by: with what it is found; None where the plan of the gauges names it already.
        how: one line on how; nothing where the finding's own advice says so.
        merely: it says nothing but that nobody has done it yet, so that of a discarded part it is
            left out.
    """

    code: str
    by: GaugeKind | None
    how: Said = NOTHING
    merely: bool = False


@dataclass(frozen=True, slots=True)
class Asking:
    """How the plan asks for a feature.

    Attributes:
        round: in which round.
        sentence: one line on how, of a part and a place; nothing where it is not asked of them.
        about_nm: roughly its size, for choosing a gauge by its range; None: not known.
        topic: the topic of `LEAVABLE` it belongs to, empty for what is never left out.
    """

    round: Round
    sentence: Callable[[Sheet, EngineSet, Part, FeatureId], Said]
    about_nm: Callable[[Sheet, Part], int | None]
    topic: str = ""


LATER: Final = "later"
"""The answer that puts a question off."""
UNREADABLE: Final = "unreadable"
ABSENT: Final = "absent"
"""What a mark is said to be that is there and can't be read, or that the part does not have."""


@dataclass(frozen=True, slots=True)
class Telling:
    """How the plan asks for a fact.

    Attributes:
        round: in which round; it is asked only where the job asks for that round's step.
        key: the set file's key that the answer goes to.
        sentence: one line on how, of a part and a place; nothing where it is not asked of them.
        options: what the answers are by the sheet; none: they are free, or the key has its own.
        press: the answer that a press of the pedal gives; empty: it puts the question off.
        long: the answer that a long press gives; empty: it asks once more.
        mark: what a mark is called that may be unreadable or absent; empty for what is no mark.
        topic: the topic of `LEAVABLE` it belongs to, empty for what is never left out.
        holds: what comes after it on the same part waits for it.
        places: its places on a part; none: the part's own key.
    """

    round: Round
    key: str
    sentence: Callable[[Sheet, Part, FeatureId], Said]
    options: Callable[[Sheet, Part], Sequence[str]] = lambda *_: ()
    press: str = ""
    long: str = ""
    mark: str = ""
    topic: str = ""
    holds: bool = False
    places: Callable[[Sheet, Part], Sequence[FeatureId]] | None = None

    @property
    def step(self) -> str:
        """The step of the job."""
        return STEP_OF[self.round]


@dataclass(frozen=True, slots=True)
class Feature:
    """A length of a part, whatever measures it.

    Attributes:
        name: its name in records and files' answers, as in `P1/skirt`.
        kind: the kind of part that has it.
        gauge: what measures it.
        where: how often a part has it.
        expected: where it should lie, before it is taken (the guard against slips).
        words: what the board calls it at a place, its part left out.
        label: what the report calls it; of a ring's feature the ring's name stands before it.
        picture: the board's drawing of it.
        key: its key in a set file, None where a set file has it otherwise, or not at all.
        trace_key: the key of a trace file in place of its length, None where nothing is swept.
        other_keys: keys that say in another way what the length would.
        asking: how the plan asks for it; None: only where a finding lacks it.
        limit: its smallest and largest sound size, None where the sheet or the part's original size
            says nothing.
        nominals_nm: every size that a new part may have by the sheet; none: the sheet says nothing.
        from_edge_nm: how far from an edge it is measured; None: at no set place.
        is_main: the feature that a part of its kind is matched by.
        touches: the part that the gauge touches; `home` is the barrel a piston came with. Material
            and temperature are that part's.
        discards: on which side of its limit a size of it discards a part, or its bore.
        told_by: names of the features of the same place that together tell as much: where they are
            known it is asked no more. None: nothing else does.
        lacks: the findings that lack it.
    """

    name: str
    kind: PartKind
    gauge: GaugeKind
    where: Where
    expected: Callable[[Known, FeatureId, Part], Expected]
    words: Callable[[FeatureId], Said]
    label: Said
    picture: Picture
    key: Key | None
    trace_key: Key | None = None
    other_keys: tuple[Key, ...] = ()
    asking: Asking | None = None
    limit: Callable[[Sheet, EngineSet, Part], Limit | None] = lambda *_: None
    nominals_nm: Callable[[Sheet], Sequence[int]] = lambda _: ()
    from_edge_nm: Callable[[Sheet, FeatureId], int | None] = lambda *_: None
    is_main: bool = False
    touches: Literal["part", "home"] = "part"
    discards: Literal["below", "above"] = "below"
    told_by: Callable[[Sheet, FeatureId], tuple[str, ...]] = lambda *_: ()
    lacks: tuple[Lack, ...] = ()

    @property
    def keys(self) -> tuple[Key, ...]:
        """All its keys in a set file."""
        return tuple(k for k in (self.key, self.trace_key, *self.other_keys) if k is not None)


@dataclass(frozen=True, slots=True)
class Fact:
    """What is looked at, read, weighed or tried of a part, and is no length of it.

    Attributes:
        name: its name, as in `P1/looked`.
        kinds: the kinds of part that have it.
        sort: what sort of value it is.
        gauge: what it is found with.
        keys: its keys in a set file; none where something else in the file tells it.
        of_ring: whether its keys stand with each ring.
        unreadable: what `unreadable` of a set file calls it, where it is a mark.
        words: what the report calls it, by the field of the part (or of its marks) that holds it,
            of the value as text.
        nominals_nm: as a feature's, of the first of its keys.
        lacks: the findings that lack it.
        asking: how the plan asks for it, key by key; none: it is told without being asked for.
    """

    name: str
    kinds: tuple[PartKind, ...]
    sort: Sort
    gauge: GaugeKind
    keys: tuple[Key, ...]
    of_ring: bool = False
    unreadable: tuple[str, ...] = ()
    words: tuple[tuple[str, Callable[[str], Said]], ...] = ()
    nominals_nm: Callable[[Sheet], Sequence[int]] = lambda _: ()
    lacks: tuple[Lack, ...] = ()
    asking: tuple[Telling, ...] = ()
