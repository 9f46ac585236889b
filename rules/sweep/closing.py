"""Screw and bore sweeps: from closings and rocks to a size or a refusal."""

import math
from collections.abc import Sequence
from statistics import median

from barrelfit.rules.sweep.agreement import is_leant
from barrelfit.rules.sweep.averaged import MODEL_NM, Way, ways_of
from barrelfit.rules.sweep.finder import Sample
from barrelfit.rules.sweep.following import size_riding
from barrelfit.rules.sweep.held import rest_nm, rides
from barrelfit.rules.sweep.nouns import GaugeTraits, Lesson, SweepRefused
from barrelfit.rules.sweep.passes import (
    Crossing,
    PassesOutcome,
    crossing_from,
    crossing_of,
    rank_low_nm,
)
from barrelfit.rules.sweep.posterior import NORMAL_95, mixed, widened
from barrelfit.rules.sweep.refusals import refuse, too_few
from barrelfit.rules.sweep.rock import WINDOW_SHARE, RockFit, fit_rocks, rock_window
from barrelfit.rules.sweep.stairs import held_posterior, last_stairs
from barrelfit.rules.sweep.unsaid import size_unsaid
from barrelfit.rules.uncertainty.size_budget import digit_u_nm
from barrelfit.rules.uncertainty.student import t_quantile

HELD_SPREAD_NM = 5_000  # closings come to rest nearer than this, whatever the tilt
HELD_DOUBT_MAX_NM = 2_000.0
HELD_MODEL_NM = 100.0  # the rocking stops a little off the upright, the spindle with it
ROCK_SPREAD_NM = 5_000.0
ROCK_DOUBT_MAX_NM = 1_200.0
ROCK_NOISE_MAX_NM = 2_800.0
AVERAGE_DOUBT_MAX_NM = 2_000.0  # what it leaves open whether a display averages
NARROWER = (0.22, 0.11)  # shares of the rocks' height
NARROW_NOISE_MAX_NM = 2_000.0
BEND_LEAST = -0.3  # a hand of even speed bends by 0, a turn before the upright by -0.5 and less
# A hand that slows down at the upright bends like such turns, but no hand turns so often at one
# place: rocks that agree by this have passed it.
ALIKE_NM, BEND_LEAST_ALIKE = 1_500.0, -1.0
ROCK_LOOSE = 1.6  # a rock this many times as doubtful as the others may not lie under them
ROCK_LOST = 4.0  # a rock this many times as doubtful as the others fits none of them
PULLS_MAX = 2.5  # squares of the rocks' distances in their own doubts, on average
ROCK_HIGH_NM = 150_000  # a turn this far above the others' was on the way in or out
ROCK_KEPT = 0.85  # of all readings must fit one size
ROCK_KEPT_LEAST = 0.5  # of each rock's
DRIFT_NM = 3_500.0
DRIFT_TIMES = 4.0  # a drift must be this many times its own standard uncertainty
ROCK_MODEL_NM = 120.0  # what a cubic can't know of the hand, all rocks together
LEVEL_DOUBT_NM = 500.0


def size_screw(
    hills: Sequence[Sequence[Sample]], traits: GaugeTraits, lessons: Sequence[Lesson] = ()
) -> PassesOutcome | SweepRefused:
    """The size of a screw gauge's closings, or the reason why there is none."""
    crossings = [c for hill in hills if (c := crossing_of(hill, traits)) is not None]
    if not crossings:
        return refuse("no-contact", traits.movement)
    if rides([[length for _, length in c.used] for c in crossings], traits.digit_nm):
        return size_unsaid(traits, lambda said: size_riding(crossings, said, lessons))
    rests = [rest_nm(c.used) for c in crossings]
    high = _high_closing(rests, traits.digit_nm)
    if high is not None:
        del crossings[high], rests[high]
    reason = _closings_refused(crossings, rests, traits.digit_nm)
    if reason:
        return refuse(reason, traits.movement)
    if len(crossings) < traits.passes_min:
        return too_few(traits, len(crossings))
    held = [[length for _, length in c.used] for c in crossings]
    stairs = last_stairs(held, traits.digit_nm)
    alone = held_posterior(held, traits.digit_nm, stairs)
    posterior = widened(alone, HELD_MODEL_NM)
    if posterior.sd_nm > HELD_DOUBT_MAX_NM + traits.digit_nm:
        return refuse("passes-disagree", traits.movement)
    levels = [round(median(stair)) for stair in stairs]
    scatter = median(
        abs(length - level) for stair, level in zip(stairs, levels, strict=True) for length in stair
    )
    count = float(sum(map(len, stairs)))
    return PassesOutcome(crossings, posterior, alone.sd_nm, count, levels, 1.48 * scatter)


def _high_closing(levels_nm: Sequence[int], digit_nm: int) -> int | None:
    """The one closing between others that stopped above them: the part leant all the while."""
    high = max(range(len(levels_nm)), key=levels_nm.__getitem__)
    usual = sorted(levels_nm)[len(levels_nm) // 3]
    if levels_nm[high] - usual <= HELD_SPREAD_NM + digit_nm or not is_leant(high, levels_nm):
        return None
    return high


def _closings_refused(crossings: Sequence[Crossing], levels: Sequence[int], digit_nm: int) -> str:
    """Why closings are no size; empty when they are."""
    if _drifts(crossings, levels, [LEVEL_DOUBT_NM] * len(levels)):
        return "drift"
    if max(levels) - min(levels) > HELD_SPREAD_NM + digit_nm:
        return "passes-disagree"
    return ""


def size_bore(
    hills: Sequence[Sequence[Sample]], traits: GaugeTraits
) -> PassesOutcome | SweepRefused:
    """The size of a bore gauge's rocks, or the reason why there is none."""
    seen = [c for hill in hills if (c := crossing_of(hill, traits)) is not None]
    if not seen:
        return refuse("no-contact", traits.movement)
    lows = [rank_low_nm(c.used) for c in seen]
    middle = median(lows)
    crossings = [c for c, low in zip(seen, lows, strict=True) if low - middle < ROCK_HIGH_NM]
    if len(crossings) < traits.passes_min:
        return too_few(traits, len(crossings))
    ways = ways_of(fit_rocks([c.used for c in crossings]), traits)
    reason = _rocks_refused(ways[0].fit, crossings, traits.digit_nm)
    if reason == "passes-disagree" and (narrow := _fit_narrower(crossings, traits)):
        (ways, crossings), reason = narrow, ""
    if reason:
        return refuse(reason, traits.movement)
    fit = ways[0].fit
    stretch = t_quantile(0.975, fit.dof) / NORMAL_95
    alone = mixed([(way.share, way.fit.size_nm, way.fit.u_nm) for way in ways], stretch)
    if alone.sd_nm > max(AVERAGE_DOUBT_MAX_NM, digit_u_nm(traits.digit_nm)):
        return refuse("average-unknown", traits.movement)
    # The size is the likeliest window's. More rocks of a hand would hardly tell the window, slower
    # ones or the bench file would: so the bench asks for none for its sake.
    # Near its turn a rock stands on one digit: rounding averages over rocks, not over readings.
    rounding_nm = digit_u_nm(traits.digit_nm) / math.sqrt(len(crossings))
    posterior = widened(alone, math.hypot(ROCK_MODEL_NM, rounding_nm))
    sizes = [round(size) for size in fit.by_rock_nm]
    return PassesOutcome(crossings, posterior, fit.u_nm, fit.dof, sizes, fit.noise_nm)


def _spread(fit: RockFit) -> float:
    """How far the rocks' sizes lie apart (root mean square, nm)."""
    middle = median(fit.by_rock_nm)
    return math.sqrt(sum((s - middle) ** 2 for s in fit.by_rock_nm) / len(fit.by_rock_nm))


def _fit_narrower(
    crossings: Sequence[Crossing], traits: GaugeTraits
) -> tuple[list[Way], list[Crossing]] | None:
    """The fits of what lies nearer to the turns, where an uneven hand fits no cubic further up.

    None where that fits no better, or leaves a rock too few readings.
    """
    digit_nm = traits.digit_nm
    noise_max_nm = max(NARROW_NOISE_MAX_NM, 1.2 * digit_u_nm(digit_nm))
    for share in NARROWER:
        # What was used ends at WINDOW_SHARE of the rock's height already.
        windows = [rock_window(c.used, share / WINDOW_SHARE) for c in crossings]
        if not all(windows):
            return None
        narrow = [crossing_from(used) for used in windows]
        ways = ways_of(fit_rocks(windows, share), traits)
        fit = ways[0].fit
        if fit.noise_nm < noise_max_nm and not _rocks_refused(fit, narrow, digit_nm):
            return ways, narrow
    return None


def _rocks_refused(fit: RockFit, crossings: Sequence[Crossing], digit_nm: int) -> str:
    """Why the rocks are no size; empty when they are."""
    rounding_nm = digit_u_nm(digit_nm)  # more than the gauge's noise only where it is coarse
    sizes, doubts = fit.by_rock_nm, fit.by_rock_u_nm
    middle = median(sizes)
    if fit.bend < (BEND_LEAST if _spread(fit) > ALIKE_NM else BEND_LEAST_ALIKE):
        return "chords-only"
    if _drifts(crossings, sizes, doubts):
        return "drift"
    spread_nm = max(ROCK_SPREAD_NM, digit_nm)
    far = [abs(s - middle) > max(spread_nm, 4 * u) for s, u in zip(sizes, doubts, strict=True)]
    usual = median(doubts)
    lost = any(
        (doubt > ROCK_LOOSE * usual and _is_under(crossing, fit, spread_nm))
        or (doubt > ROCK_LOST * usual and not _bounced(crossing, fit, spread_nm))
        for doubt, crossing in zip(doubts, crossings, strict=True)
    )
    pulls = [
        ((s - middle) / math.hypot(u, MODEL_NM)) ** 2 for s, u in zip(sizes, doubts, strict=True)
    ]
    unlike = lost or any(far) or sum(pulls) > PULLS_MAX * len(pulls)
    unlike = unlike or fit.kept_least < ROCK_KEPT_LEAST or fit.kept < ROCK_KEPT
    noisy = fit.noise_nm > max(ROCK_NOISE_MAX_NM, 1.2 * rounding_nm)
    if unlike or noisy or fit.u_nm > max(ROCK_DOUBT_MAX_NM, rounding_nm):
        return "passes-disagree"
    return ""


def _is_under(crossing: Crossing, fit: RockFit, spread_nm: float) -> bool:
    """Whether a rock lies under the others' size by two readings: one may be a bounce."""
    return rank_low_nm(crossing.used) < fit.size_nm - spread_nm


def _bounced(crossing: Crossing, fit: RockFit, spread_nm: float) -> bool:
    """Whether a rock that fits none of the others is spoiled by one bounce, not by its size.

    Two readings under the size are no bounce; a rock of that size has a reading at most half a
    sampling step off the upright, a quarter of `step_nm` high; and alone it tells much the same.
    """
    lowest = min(length for _, length in crossing.used) - fit.size_nm
    if _is_under(crossing, fit, spread_nm) or lowest >= fit.step_nm / 2 + spread_nm:
        return False
    return abs(fit_rocks([crossing.used]).size_nm - fit.size_nm) < 2.0 * spread_nm


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
