"""From the passes of a sweep to a size, or to the reason why there is none."""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from barrelfit.rules.model import Movement
from barrelfit.rules.sweep.closing import size_bore, size_screw
from barrelfit.rules.sweep.faults import has_gap
from barrelfit.rules.sweep.finder import Sample
from barrelfit.rules.sweep.following import prepare_riding, size_following
from barrelfit.rules.sweep.movements import entry_of
from barrelfit.rules.sweep.nouns import (
    GaugeTraits,
    Lesson,
    PassFound,
    SweepRefused,
    SweepSized,
)
from barrelfit.rules.sweep.passes import PassesOutcome
from barrelfit.rules.sweep.refusals import refuse
from barrelfit.rules.sweep.repeats import conversions
from barrelfit.rules.sweep.stairs import level_tables
from barrelfit.rules.uncertainty.size_budget import digit_u_nm

KEPT_PLACES = 3
TOO_LITTLE = frozenset({"no-contact", "too-few-passes", "too-quick", "average-unknown"})


Sizer = Callable[
    [Sequence[Sequence[Sample]], GaugeTraits, Sequence[Lesson]], PassesOutcome | SweepRefused
]


@dataclass(frozen=True, slots=True)
class Estimator:
    """How the passes of a movement become a size, and what is done ahead of time for it."""

    size: Sizer
    prepare: Callable[[GaugeTraits], None] | None = None


def _size_bore(
    hills: Sequence[Sequence[Sample]], traits: GaugeTraits, _lessons: Sequence[Lesson]
) -> PassesOutcome | SweepRefused:
    """No bore is barrelled, and none has told its gauge's noise beside a barrel."""
    return size_bore(hills, traits)


def _prepare_screw(traits: GaugeTraits) -> None:
    """A screw gauge's reading may ride, too."""
    prepare_riding(traits)
    level_tables(traits.digit_nm)


ESTIMATORS = {
    Movement.FOLLOWING: Estimator(size_following, prepare_riding),
    Movement.SCREW: Estimator(size_screw, _prepare_screw),
    Movement.BORE: Estimator(_size_bore),
}


@dataclass(frozen=True, slots=True)
class StreamEvidence:
    """What the stream itself told.

    `stale` counts times that did not grow, `outside` readings out of range, `broken` hills cut
    by a silence.
    """

    stale: int = 0
    outside: int = 0
    broken: int = 0


def prepare(traits: GaugeTraits) -> None:
    """Do ahead of time what a first size of this gauge would wait for: up to half a second."""
    estimator = ESTIMATORS.get(traits.movement)
    if estimator is not None and estimator.prepare is not None:
        estimator.prepare(traits)


def judge(
    hills: Sequence[Sequence[Sample]],
    evidence: StreamEvidence,
    traits: GaugeTraits,
    lessons: Sequence[Lesson] = (),
) -> SweepSized | SweepRefused:
    """Size the sound passes, or refuse.

    A pass whose readings are missing where the size is read is lost, and the others tell. Where
    too few are left, the gap is the reason. `lessons` are what other sweeps told of the same gauge,
    and of parts that are barrelled alike.
    """
    sound = [hill for hill in hills if not has_gap(hill, traits)]
    lost = len(hills) - len(sound) + evidence.broken
    reason = ""
    if evidence.stale:
        reason = "stale-times"
    elif evidence.outside:
        reason = "out-of-range"
    elif not sound:
        reason = "gap-in-crest" if lost else "no-contact"
    if reason:
        return refuse(reason, traits.movement)
    found = conversions(sound, traits.digit_nm)
    outcome = ESTIMATORS[traits.movement].size(found, traits, lessons)
    if not isinstance(outcome, SweepRefused):
        return _sized(outcome, traits)
    if lost and outcome.reason in TOO_LITTLE:
        return refuse("gap-in-crest", traits.movement)
    return outcome


def _sized(outcome: PassesOutcome, traits: GaugeTraits) -> SweepSized:
    posterior = outcome.posterior
    u_nm = _kept(posterior.sd_nm)
    # The estimators carry noise and rounding together: the digit's part of the one is its part
    # of the other.
    rounding_nm = digit_u_nm(traits.digit_nm)
    share = rounding_nm / max(outcome.noise_nm, rounding_nm)
    rest = math.sqrt(1.0 - share * share)
    passes = tuple(
        PassFound(n, size, c.used[0][0], c.used[-1][0])
        for n, (c, size) in enumerate(
            zip(outcome.crossings, outcome.pass_sizes_nm, strict=True), start=1
        )
    )
    return SweepSized(
        size_nm=round(posterior.mean_nm),
        u_nm=u_nm,
        dof=_kept(outcome.dof),
        low_nm=round(posterior.low_nm),
        high_nm=round(posterior.high_nm),
        pass_sizes_nm=tuple(outcome.pass_sizes_nm),
        estimator=entry_of(traits.movement).estimator,
        rank=entry_of(traits.movement).rank,
        passes=passes,
        u_sweep_nm=_kept(u_nm * rest),
        u_digit_nm=_kept(u_nm * share),
        u_passes_nm=_kept(outcome.u_passes_nm),
        lesson=outcome.lesson,
    )


def _kept(value: float) -> float:
    """To a thousandth: another machine's last bits must not look like another sweep in a redo."""
    return round(value, KEPT_PLACES)
