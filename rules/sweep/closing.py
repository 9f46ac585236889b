"""Screw and bore sweeps: from closings and rocks to a size or a refusal."""

import math
from collections.abc import Sequence
from statistics import median

from rules.size_budget import digit_u_nm
from rules.student import t_quantile
from rules.sweep.finder import Sample
from rules.sweep.following import size_riding
from rules.sweep.held import held_posterior, rides
from rules.sweep.nouns import GaugeTraits, Refused
from rules.sweep.passes import Crossing, Outcome, crossing_of, rank_nm
from rules.sweep.posterior import Posterior, widened
from rules.sweep.refusals import refuse, too_few
from rules.sweep.rock import RockFit, fit_rocks

HELD_SPREAD_NM = 5_000  # closings come to rest nearer than this, whatever the tilt
HELD_DOUBT_MAX_NM = 2_000.0
HELD_MODEL_NM = 100.0  # the rocking stops a little off the upright, the spindle with it
ROCK_SPREAD_NM = 5_000.0
ROCK_DOUBT_MAX_NM = 1_200.0
ROCK_NOISE_MAX_NM = 2_800.0
ROCK_LOST = 4.0  # a rock this many times as doubtful as the others fits none of them
ROCK_HIGH_NM = 150_000  # a turn this far above the others' was on the way in or out
ROCK_KEPT = 0.85  # of all readings must fit one size
ROCK_KEPT_LEAST = 0.5  # of each rock's
DRIFT_NM = 3_500.0
DRIFT_TIMES = 4.0  # a drift must be this many times its own standard uncertainty
ROCK_MODEL_NM = 70.0  # what a cubic can't know of the hand, all rocks together
MODEL_NM = 300.0  # the same, of one rock
LEVEL_DOUBT_NM = 500.0


def size_screw(hills: Sequence[Sequence[Sample]], traits: GaugeTraits) -> Outcome | Refused:
    """The size of a screw gauge's closings, or the reason why there is none."""
    crossings = [c for hill in hills if (c := crossing_of(hill, traits)) is not None]
    if not crossings:
        return refuse("no-contact", traits.movement)
    held = [[length for _, length in c.used] for c in crossings]
    if rides(held, traits.digit_nm):
        return size_riding(crossings, traits)
    levels = [rank_nm(c.used, 3) for c in crossings]
    reason = _closings_refused(crossings, levels, traits.digit_nm)
    if reason:
        return refuse(reason, traits.movement)
    if len(crossings) < traits.passes_min:
        return too_few(traits, len(crossings))
    posterior = widened(held_posterior(held, traits.digit_nm), HELD_MODEL_NM)
    if posterior.sd_nm > HELD_DOUBT_MAX_NM + traits.digit_nm:
        return refuse("passes-disagree", traits.movement)
    scatter = median(
        abs(length - level) for c, level in zip(held, levels, strict=True) for length in c
    )
    return Outcome(crossings, posterior, float(sum(map(len, held))), levels, 1.48 * scatter)


def _closings_refused(crossings: Sequence[Crossing], levels: Sequence[int], digit_nm: int) -> str:
    """Why closings are no size; empty when they are."""
    if _drifts(crossings, levels, [LEVEL_DOUBT_NM] * len(levels)):
        return "drift"
    if max(levels) - min(levels) > HELD_SPREAD_NM + digit_nm:
        return "passes-disagree"
    return ""


def size_bore(hills: Sequence[Sequence[Sample]], traits: GaugeTraits) -> Outcome | Refused:
    """The size of a bore gauge's rocks, or the reason why there is none."""
    seen = [c for hill in hills if (c := crossing_of(hill, traits)) is not None]
    if not seen:
        return refuse("no-contact", traits.movement)
    middle = median(c.floor_nm for c in seen)
    crossings = [c for c in seen if c.floor_nm - middle < ROCK_HIGH_NM]
    if len(crossings) < traits.passes_min:
        return too_few(traits, len(crossings))
    fit = fit_rocks([c.used for c in crossings])
    reason = _rocks_refused(fit, crossings, traits.digit_nm)
    if reason:
        return refuse(reason, traits.movement)
    reach = t_quantile(0.975, fit.dof) * fit.u_nm
    alone = Posterior(fit.size_nm, fit.u_nm, fit.size_nm - reach, fit.size_nm + reach)
    # Near its turn a rock stands on one digit: rounding averages over rocks, not over readings.
    rounding_nm = digit_u_nm(traits.digit_nm) / math.sqrt(len(crossings))
    posterior = widened(alone, math.hypot(ROCK_MODEL_NM, rounding_nm))
    sizes = [round(size) for size in fit.by_rock_nm]
    return Outcome(crossings, posterior, fit.dof, sizes, fit.noise_nm)


def _rocks_refused(fit: RockFit, crossings: Sequence[Crossing], digit_nm: int) -> str:
    """Why the rocks are no size; empty when they are."""
    rounding_nm = digit_u_nm(digit_nm)  # more than the gauge's noise only where it is coarse
    sizes, doubts = fit.by_rock_nm, fit.by_rock_u_nm
    if fit.bend < 0.0:
        return "chords-only"
    if _drifts(crossings, sizes, doubts):
        return "drift"
    middle = median(sizes)
    spread_nm = max(ROCK_SPREAD_NM, digit_nm)
    far = [abs(s - middle) > max(spread_nm, 4 * u) for s, u in zip(sizes, doubts, strict=True)]
    lost = any(
        doubt > ROCK_LOST * median(doubts) and not _bounced(crossing, fit)
        for doubt, crossing in zip(doubts, crossings, strict=True)
    )
    unlike = lost or fit.kept_least < ROCK_KEPT_LEAST or fit.kept < ROCK_KEPT or any(far)
    noisy = fit.noise_nm > max(ROCK_NOISE_MAX_NM, 1.2 * rounding_nm)
    if unlike or noisy or fit.u_nm > max(ROCK_DOUBT_MAX_NM, rounding_nm):
        return "passes-disagree"
    return ""


def _bounced(crossing: Crossing, fit: RockFit) -> bool:
    """Whether a rock that fits none of the others is spoiled by one bounce, not by its size.

    Two readings under the size are no bounce; and a rock of that size has a reading at most half
    a sampling step off the upright, a quarter of `step_nm` high.
    """
    lengths = sorted(length - fit.size_nm for _, length in crossing.used)
    return lengths[1] > -ROCK_SPREAD_NM and lengths[0] < fit.step_nm / 2 + ROCK_SPREAD_NM


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
