"""Facts told at the bench: what the eye saw, a stamp, a mass, a feeler; see `rules.events`.

A fact's place is a `FeatureId`: the part (empty for the whole engine), the set file's key, of a
ring's groove the ring, and of a feeler its leaf in mm, with the ring that lay beside it where that
is told: `P1/looked`, `P1/feeler/top/0.05`, `P1/feeler/top/0.05 used`. A photo has its own place,
by the first digits of its SHA-256; what is told there is its file, named by all of them. Another
part is told as its own id, `P5/id`, with its kind: `piston replaces P3`.
"""

from dataclasses import dataclass
from typing import Final

from barrelfit.rules.model import FeatureId
from barrelfit.rules.said import Said

MEANS: Final = ("board", "pedal", "phone", "gauge")
"""By which means a fact may be told."""


@dataclass(frozen=True, slots=True)
class Weighed:
    """A scale showed `mass_fg` (femtograms), of which the last digit is worth `digit_fg`."""

    gauge: str
    t_ns: int
    mass_fg: int
    digit_fg: int


@dataclass(frozen=True, slots=True)
class FactTold:
    """`who` says that a fact of a part is `value`, as told; an empty value takes it back.

    `unit` is that of a length (mm, inch, µm), or g; `by` is one of `MEANS`. `confirms` is set when
    a held fact is told again on purpose, `why` explains it; `device` is which screen or pedal.
    `ask` is the number of the ask that it answers: then it counts only while that is asked, and
    of a leaf it is what was found at the next place, a mark may be `unreadable` or `absent`, and
    `later` puts the question off. 0: it is told by itself.
    """

    t_ns: int
    at: FeatureId
    value: str
    unit: str = ""
    who: str = ""
    by: str = "board"
    confirms: bool = False
    why: str = ""
    device: str = ""
    ask: int = 0


@dataclass(frozen=True, slots=True)
class AtBench:
    """`who` is at the bench from now on, by the name told: what the pedal says is theirs."""

    t_ns: int
    who: str


@dataclass(frozen=True, slots=True)
class FactTaken:
    """A fact stands: `value` in mm or g, written as the set file's key reads it; empty: unknown.

    `before` is what stood there; `confirmed` says that its value is unusual and meant so. `who`,
    `by` and `why` are as told.
    """

    at: FeatureId
    value: str
    before: str = ""
    who: str = ""
    by: str = "board"
    why: str = ""
    confirmed: bool = False


@dataclass(frozen=True, slots=True)
class FactHeld:
    """A fact was told that does not count: `value` as told, `before` what stands there.

    `open` says that it waits for an answer, so that its part is undecided; else it is nothing that
    could stand there. `reason`: `no-such-fact`, `unreadable`, `not-on-sheet`, `doubt`,
    `another-value`; of an answer `not-asked` (something else is asked for) or `too-soon` (nobody
    can have read the question).
    """

    at: FeatureId
    reason: str
    sentence: Said
    advice: Said
    value: str
    before: str = ""
    who: str = ""
    open: bool = False


@dataclass(frozen=True, slots=True)
class FactSettled:
    """What was held at `at` waits no more: what stood before it stands."""

    at: FeatureId
