"""Screw and bore sweeps: from closings and rocks to a size or a refusal."""

from collections.abc import Sequence
from statistics import median

from rules.student import t_quantile
from rules.sweep.finder import Sample
from rules.sweep.held import held_posterior
from rules.sweep.nouns import GaugeTraits, Refused
from rules.sweep.passes import Crossing, Outcome, crossing_of, rank_nm
from rules.sweep.posterior import Posterior
from rules.sweep.refusals import refuse, too_few
from rules.sweep.rock import RockFit, fit_rocks

HELD_SPREAD_NM = 6_000  # closings come to rest nearer than this, whatever the tilt
HELD_DOUBT_MAX_NM = 2_000.0
ROCK_SPREAD_NM = 5_000.0
ROCK_DOUBT_MAX_NM = 900.0
ROCK_NOISE_MAX_NM = 2_500.0
DRIFT_NM = 3_500.0
DRIFT_TIMES = 4.0  # a drift must be this many times its own standard uncertainty
MODEL_NM = 300.0  # what a rock's fit can't know of the hand
LEVEL_DOUBT_NM = 500.0


def size_screw(hills: Sequence[Sequence[Sample]], traits: GaugeTraits) -> Outcome | Refused:
    """The size of a screw gauge's closings, or the reason why there is none."""
    crossings = [c for hill in hills if (c := crossing_of(hill, traits)) is not None]
    if not crossings:
        return refuse("no-contact", traits.movement)
    levels = [rank_nm(c.used, 3) for c in crossings]
    doubts = [LEVEL_DOUBT_NM] * len(levels)
    if _drifts(crossings, levels, doubts):
        return refuse("drift", traits.movement)
    if max(levels) - min(levels) > HELD_SPREAD_NM:
        return refuse("passes-disagree", traits.movement)
    if len(crossings) < traits.passes_min:
        return too_few(traits, len(crossings))
    held = [[length for _, length in c.used] for c in crossings]
    posterior = held_posterior(held, traits.digit_nm)
    if posterior.sd_nm > HELD_DOUBT_MAX_NM:
        return refuse("passes-disagree", traits.movement)
    return Outcome(crossings, posterior, float(sum(map(len, held))), levels)


def size_bore(hills: Sequence[Sequence[Sample]], traits: GaugeTraits) -> Outcome | Refused:
    """The size of a bore gauge's rocks, or the reason why there is none."""
    crossings = [c for hill in hills if (c := crossing_of(hill, traits)) is not None]
    if not crossings:
        return refuse("no-contact", traits.movement)
    if len(crossings) < traits.passes_min:
        return too_few(traits, len(crossings))
    fit = fit_rocks([c.used for c in crossings])
    reason = _rocks_refused(fit, crossings)
    if reason:
        return refuse(reason, traits.movement)
    reach = t_quantile(0.975, fit.dof) * fit.u_nm
    posterior = Posterior(fit.size_nm, fit.u_nm, fit.size_nm - reach, fit.size_nm + reach)
    return Outcome(crossings, posterior, fit.dof, [round(size) for size in fit.by_rock_nm])


def _rocks_refused(fit: RockFit, crossings: Sequence[Crossing]) -> str:
    """Why the rocks are no size; empty when they are."""
    sizes, doubts = fit.by_rock_nm, fit.by_rock_u_nm
    if fit.bend < 0.0:
        return "chords-only"
    if _drifts(crossings, sizes, doubts):
        return "drift"
    middle = median(sizes)
    far = any(
        abs(s - middle) > max(ROCK_SPREAD_NM, 4 * u) for s, u in zip(sizes, doubts, strict=True)
    )
    if far or fit.u_nm > ROCK_DOUBT_MAX_NM or fit.noise_nm > ROCK_NOISE_MAX_NM:
        return "passes-disagree"
    return ""


def _drifts(
    crossings: Sequence[Crossing], sizes_nm: Sequence[float], doubts_nm: Sequence[float]
) -> bool:
    """Whether the sizes follow a slope in time that is large, and larger than its doubt."""
    if len(crossings) < 4:  # noqa: PLR2004  two or three sizes always have a slope
        return False
    times = [(c.used[0][0] + c.used[-1][0]) / 2e9 for c in crossings]
    weights = [1.0 / (u * u + MODEL_NM * MODEL_NM) for u in doubts_nm]
    total = sum(weights)
    mean_t = sum(w * t for w, t in zip(weights, times, strict=True)) / total
    mean_s = sum(w * s for w, s in zip(weights, sizes_nm, strict=True)) / total
    square = sum(w * (t - mean_t) ** 2 for w, t in zip(weights, times, strict=True))
    slope = (
        sum(
            w * (t - mean_t) * (s - mean_s)
            for w, t, s in zip(weights, times, sizes_nm, strict=True)
        )
        / square
    )
    rest = sum(
        w * (s - mean_s - slope * (t - mean_t)) ** 2
        for w, t, s in zip(weights, times, sizes_nm, strict=True)
    ) / (len(sizes_nm) - 2)
    span = times[-1] - times[0]
    doubt = span * (max(rest, 1.0) / square) ** 0.5
    return bool(abs(slope) * span > max(DRIFT_NM, DRIFT_TIMES * doubt))
