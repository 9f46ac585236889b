"""The catalogue of movements: one entry for each way a reading moves while a part is swept.

Finder, passes, faults, refusals, the bench's watch for a part that leaves, and the bench file read
it. How the passes become a size stands in `rules.sweep.outcome`.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final, Literal

from barrelfit.rules.model import Movement
from barrelfit.rules.said import Said, said
from barrelfit.rules.sweep.crest import crest_zone
from barrelfit.rules.sweep.finder import AWAY_NS, HillShape, Sample
from barrelfit.rules.sweep.held import held_readings
from barrelfit.rules.sweep.hill import hill_level_nm
from barrelfit.rules.sweep.nouns import GaugeTraits
from barrelfit.rules.sweep.rock import rock_window

NS_PER_MS = 1e6
CREST_MIN = 2  # readings that make a crest
TWO_POINT = "minimum of two-point sizes"  # ISO 14405-1

AtSize = Callable[[Sequence[Sample], GaugeTraits, int | None], list[Sample]]
"""The readings of a hill that stood at the size, none where it never got there; the level (nm) is
what a crest reads on average, where other passes have told already."""


@dataclass(frozen=True, slots=True)
class Hills:
    """The hills of a reading that moves all the time.

    Attributes:
        shape: how the finder knows a hill.
        at_size: which of its readings stood at the size.
        away_ns: off the crest for so long: the part left the gauge.
        rests_away: a gauge that came out of its part stands still; away it is only then.
        rests_at_size: the reading rests at the size, so that a gap within its rest hides nothing.
    """

    shape: HillShape
    at_size: AtSize
    away_ns: int = AWAY_NS
    rests_away: bool = False
    rests_at_size: bool = False


@dataclass(frozen=True, slots=True)
class Entry:
    """One movement.

    Attributes:
        movement: its name in files and records.
        measures: what gauges that move so measure.
        passes: what its passes are called, in sentences.
        estimator: the name of its estimator in records.
        estimator_said: what it is called.
        rank: what number of ISO 14405-1 a size is.
        crest_sign: 1 where a part right in the gauge reads most, -1 where it reads least.
        rides: the reading rises with the part's tilt, so that a slow, flat pass tells more.
        longer: a hand that stays away so many times as long as it did before has taken the part.
        hills: its hills; None where a gauge sends only on its button, and each press is a pass.
    """

    movement: Movement
    measures: tuple[Literal["outside", "bore"], ...]
    passes: Said
    estimator: str
    estimator_said: Said
    rank: str
    crest_sign: Literal[1, -1]
    rides: bool
    longer: float
    hills: Hills | None

    @property
    def by_press(self) -> bool:
        """Whether the gauge sends only on its button: nobody sees its part leave."""
        return self.hills is None

    @property
    def rests_away(self) -> bool:
        """Whether a gauge that stands still has left its part."""
        return self.hills is not None and self.hills.rests_away


def _crest(hill: Sequence[Sample], traits: GaugeTraits, level_nm: int | None) -> list[Sample]:
    level = hill_level_nm(hill) if level_nm is None else level_nm
    zone = crest_zone(hill, level, traits.anvil_nm)
    used = hill[zone.first : zone.last + 1]
    if traits.averages_ms and used:  # the outermost are partly of the flanks
        half_ns = round(traits.averages_ms * NS_PER_MS / 2)
        begin_ns, end_ns = used[0][0] + half_ns, used[-1][0] - half_ns
        used = [sample for sample in used if begin_ns <= sample[0] <= end_ns]
    return list(used) if len(used) >= CREST_MIN else []


def _hold(hill: Sequence[Sample], traits: GaugeTraits, _level_nm: int | None) -> list[Sample]:
    return held_readings(hill, traits.digit_nm)


def _rock(hill: Sequence[Sample], _traits: GaugeTraits, _level_nm: int | None) -> list[Sample]:
    return rock_window(hill)


MOVEMENTS: Final = (
    Entry(
        movement=Movement.FOLLOWING,
        measures=("outside",),
        passes=said("passes_over_crest"),
        estimator="floor-likelihood",
        estimator_said=said("by_floor"),
        rank=TWO_POINT,
        crest_sign=1,
        rides=True,
        longer=1.5,
        hills=Hills(
            # A shy turn takes the crest 1.1 mm past the anvil's edge: 30 µm of chord.
            shape=HillShape(fall_nm=30_000, climb_nm=25_000, from_level=True, lead=24),
            at_size=_crest,
        ),
    ),
    Entry(
        movement=Movement.SCREW,
        measures=("outside",),
        passes=said("closings_held"),
        estimator="last-plateau",
        estimator_said=said("by_last_stair"),
        rank=TWO_POINT,
        crest_sign=-1,
        rides=False,
        longer=1.5,  # a thimble is turned at leisure
        hills=Hills(
            # A screw opens by tenths of a millimetre between closings.
            shape=HillShape(fall_nm=90_000, climb_nm=60_000, from_level=True, lead=4),
            at_size=_hold,
            away_ns=6_000_000_000,  # a thimble is turned up and down again in the same part
            rests_at_size=True,
        ),
    ),
    Entry(
        movement=Movement.BORE,
        measures=("bore",),
        passes=said("rocks"),
        estimator="rock-fit-windowed",
        estimator_said=said("by_rocks"),
        rank=TWO_POINT,
        crest_sign=-1,
        rides=False,
        longer=1.5,
        hills=Hills(
            # A rock of one degree lifts the reading of an 80 mm bore by 12 µm.
            shape=HillShape(fall_nm=12_000, climb_nm=12_000, from_level=False, lead=48),
            at_size=_rock,
            rests_away=True,
        ),
    ),
    Entry(
        movement=Movement.HELD,
        measures=("outside", "bore"),
        passes=said("presses"),
        estimator="average-of-presses",
        estimator_said=said("by_presses"),
        rank="average of two-point sizes",
        crest_sign=-1,
        rides=False,
        longer=1.0,
        hills=None,
    ),
)
WORDS: Final[dict[str, str]] = {
    "passes_over_crest": "passes over the crest",
    "closings_held": "closings that were held",
    "rocks": "rocks through the upright",
    "presses": "presses",
    "by_floor": "from the least readings of the passes",
    "by_last_stair": "from the last stair of each closing",
    "by_rocks": "from the rocks' turns",
    "by_presses": "the average of the presses",
}
_BY_MOVEMENT: Final = {entry.movement: entry for entry in MOVEMENTS}


def entry_of(movement: Movement) -> Entry:
    """The entry of a movement."""
    return _BY_MOVEMENT[movement]


def hills_of(movement: Movement) -> Hills:
    """The hills of a movement; raises ValueError for one that has presses instead."""
    hills = _BY_MOVEMENT[movement].hills
    if hills is None:
        message = f"the movement {movement} has presses, no hills"
        raise ValueError(message)
    return hills
