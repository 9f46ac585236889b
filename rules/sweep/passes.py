"""What one hill is worth: the readings of its crest (or hold, or rock), and its own size."""

from collections.abc import Sequence
from dataclasses import dataclass

from barrelfit.rules.sweep.finder import Sample
from barrelfit.rules.sweep.movements import hills_of
from barrelfit.rules.sweep.nouns import GaugeTraits, Lesson, PassFound
from barrelfit.rules.sweep.posterior import Posterior


@dataclass(frozen=True, slots=True)
class Crossing:
    """One pass that counts: the readings used, their lower quartile and their median (nm)."""

    used: list[Sample]
    floor_nm: int
    level_nm: int


@dataclass(frozen=True, slots=True)
class PassesOutcome:
    """A sweep's size: the passes, the size's posterior, its degrees of freedom, pass sizes (nm).

    `u_passes_nm` is the part of the doubt that more passes would lessen, `noise_nm` the scatter of
    one reading at the size, last digit and all; `lesson` what the next sweep may learn of this one.
    """

    crossings: Sequence[Crossing]
    posterior: Posterior
    u_passes_nm: float
    dof: float
    pass_sizes_nm: Sequence[int]
    noise_nm: float
    lesson: Lesson | None = None


def crossing_of(
    hill: Sequence[Sample], traits: GaugeTraits, level_nm: int | None = None
) -> Crossing | None:
    """The readings of a hill that stood at the size, None where it never got there.

    Args:
        hill: a hill's readings, in time.
        traits: the gauge.
        level_nm: what a crest reads on average, where other passes have told already.
    """
    used = hills_of(traits.movement).at_size(hill, traits, level_nm)
    return crossing_from(used) if used else None


def crossing_from(used: list[Sample]) -> Crossing:
    """The pass that these readings make."""
    return Crossing(used, rank_nm(used, 4), rank_nm(used, 2))


def pass_of(hill: Sequence[Sample], number: int, traits: GaugeTraits) -> PassFound | None:
    """What a hill alone tells while the sweep is under way."""
    crossing = crossing_of(hill, traits)
    if crossing is None:
        return None
    used, low_nm = crossing.used, rank_low_nm(crossing.used)
    return PassFound(number, low_nm, used[0][0], used[-1][0], crossing.level_nm - low_nm)


def rank_low_nm(used: Sequence[Sample]) -> int:
    """The second lowest reading: the lowest that another one bears out."""
    ordered = sorted(length for _, length in used)
    return ordered[min(1, len(ordered) - 1)]


def rank_nm(used: Sequence[Sample], part: int) -> int:
    """The reading that a share 1/`part` of the readings lies below, in nm."""
    ordered = sorted(length for _, length in used)
    return ordered[len(ordered) // part]
