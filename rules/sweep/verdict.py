"""From the passes of a sweep to a size, or to the reason why there is none."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from rules.model import Movement
from rules.sweep.crest import crest_runs
from rules.sweep.finder import Sample
from rules.sweep.floor import floor_posterior
from rules.sweep.held import held_posterior
from rules.sweep.nouns import GaugeTraits, PassFound, Refused, Sized
from rules.sweep.passes import Crossing, crossing_of, rank_low_nm
from rules.sweep.posterior import Posterior
from rules.sweep.refusals import refuse
from rules.sweep.rock import fit_rocks
from rules.student import t_quantile

RANK = "minimum of two-point sizes"
ESTIMATORS = {
    Movement.FOLLOWING: "floor-likelihood",
    Movement.SCREW: "held-level",
    Movement.BORE: "rock-fit",
}


@dataclass(frozen=True, slots=True)
class Evidence:
    """What the stream itself told: stale times, a reading out of range, lowest and highest (nm)."""

    stale: int
    outside_nm: int | None
    lowest_nm: int | None
    highest_nm: int | None


def judge(
    hills: Sequence[Sequence[Sample]], evidence: Evidence, traits: GaugeTraits
) -> Sized | Refused:
    """Size the passes, or refuse."""
    if evidence.stale:
        return refuse("stale-times")
    if evidence.outside_nm is not None:
        return refuse("out-of-range")
    if not hills:
        return refuse("no-contact")
    crossings = _crossings(hills, traits)
    if not crossings:
        return refuse("chords-only")
    if len(crossings) < traits.passes_min:
        return refuse("too-few-passes")
    posterior, dof, sizes = _posterior(crossings, traits)
    u_digit = traits.digit_nm / math.sqrt(12)
    passes = tuple(
        PassFound(n, size, c.used[0][0], c.used[-1][0])
        for n, (c, size) in enumerate(zip(crossings, sizes, strict=True), start=1)
    )
    return Sized(
        size_nm=round(posterior.mean_nm),
        u_nm=posterior.sd_nm,
        dof=dof,
        low_nm=round(posterior.low_nm),
        high_nm=round(posterior.high_nm),
        pass_sizes_nm=tuple(sizes),
        estimator=ESTIMATORS[traits.movement],
        rank=RANK,
        passes=passes,
        u_sweep_nm=posterior.sd_nm,
        u_digit_nm=u_digit,
    )


def _crossings(hills: Sequence[Sequence[Sample]], traits: GaugeTraits) -> list[Crossing]:
    first = [c for h in hills if (c := crossing_of(h, traits)) is not None]
    if traits.movement is not Movement.FOLLOWING or not first:
        return first
    floors = sorted(c.floor_nm for c in first)
    floor = floors[len(floors) // 2]
    levels = sorted(c.level_nm for c in first)
    level = levels[len(levels) // 2]
    runs = crest_runs(hills, floor)
    return [c for run in runs if (c := crossing_of(run, traits, level)) is not None]


def _posterior(
    crossings: Sequence[Crossing], traits: GaugeTraits
) -> tuple[Posterior, float, list[int]]:
    lengths = [[length for _, length in c.used] for c in crossings]
    if traits.movement is Movement.FOLLOWING:
        posterior = floor_posterior(lengths, traits.digit_nm)
        return posterior, float(sum(map(len, lengths))), [rank_low_nm(c.used) for c in crossings]
    if traits.movement is Movement.SCREW:
        posterior = held_posterior(lengths, traits.digit_nm)
        return posterior, float(sum(map(len, lengths))), [rank_low_nm(c.used) for c in crossings]
    fit = fit_rocks([c.used for c in crossings])
    reach = t_quantile(0.975, fit.dof) * fit.u_nm
    posterior = Posterior(fit.size_nm, fit.u_nm, fit.size_nm - reach, fit.size_nm + reach)
    return posterior, fit.dof, [round(s) for s in fit.by_rock_nm]
