"""A bore's size where the display may average: by each window that it may have, and by all of them.

What a display that averages does to a rock stands in `rules.sweep.window`: a rock whose reading
rises by k·t² turns k·w²/12 too high. Each rock i tells a size Dᵢ and its kᵢ; without the excess of
a window it tells

    zᵢ = Dᵢ − kᵢ·w²/12,   vᵢ = n·(u²(Dᵢ) − 2·u(Dᵢ, kᵢ)·w²/12 + u²(kᵢ)·w⁴/144),

where n is how many conversions readings share. The size is the mean of zᵢ with the weights 1/vᵢ;
how likely they are says how likely the window is, with D taken out (restricted likelihood), and
`MODEL_NM` for what a cubic can't know of one rock.
"""

import math
from dataclasses import dataclass, replace

from barrelfit.rules.sweep.nouns import GaugeTraits
from barrelfit.rules.sweep.rock import RockFit
from barrelfit.rules.sweep.window import excess_share, log_shares
from barrelfit.rules.uncertainty.size_budget import digit_u_nm

MODEL_NM = 300.0
WEIGHT = 0.8  # of what the rocks' speeds say: no hand's path is quite a cubic
SAID_DOUBT, TOLD_DOUBT = 0.05, 0.1  # of a window's square
# A low pass of first order with the time constant τ lifts a turn as a mean over √12·τ does (s):
# prior share beside a display that does not average.
DAMPED = dict.fromkeys((0.2, 0.25, 0.3, 0.35, 0.4, 0.5), 0.01)
ROCK_DOUBT = 0.15  # of one rock's excess: no turn is quite a parabola over a whole window
EVEN_NM = 1_000.0
ROUNDING_LEAST, ROUNDING_MOST = 0.05, 0.7  # of the scatter's square


@dataclass(frozen=True, slots=True)
class Way:
    """One window that the display may have: its share, and the fit without its excess."""

    share: float
    fit: RockFit


def ways_of(raw: RockFit, traits: GaugeTraits) -> list[Way]:
    """The windows, as somebody said or as the readings leave them open; the likeliest first.

    Args:
        raw: the rocks as they read.
        traits: the gauge.
    """
    if traits.averages_ms is not None:
        square_s2 = (traits.averages_ms / 1_000) ** 2
        return [Way(1.0, without_excess(raw, square_s2, SAID_DOUBT * square_s2))]
    open_still = _windows(raw, traits.digit_nm)
    logs = [log + WEIGHT * _log_speeds(raw, square_s2) for square_s2, log in open_still]
    best = max(logs)
    total = sum(math.exp(log - best) for log in logs)
    ways = [
        Way(math.exp(log - best) / total, without_excess(raw, square_s2, TOLD_DOUBT * square_s2))
        for log, (square_s2, _) in zip(logs, open_still, strict=True)
    ]
    return sorted(ways, key=lambda way: -way.share)


def _windows(raw: RockFit, digit_nm: int) -> list[tuple[float, float]]:
    """The squares of windows that the display may have (s²), each with what its noise says."""
    by_noise = log_shares(raw.residuals, raw.step_s, _rounding_share(raw, digit_nm))
    found = [((n * n - 1.0) * raw.step_s**2, log) for n, log in by_noise.items()]
    # What is damped before it is converted has noise of its own in each reading.
    longest_s2 = max(square for square, _ in found)
    found += [
        (window_s**2, by_noise[1] + math.log(prior))
        for window_s, prior in DAMPED.items()
        if window_s**2 > longest_s2
    ]
    return found


def _rounding_share(fit: RockFit, digit_nm: int) -> float | None:
    """The last digit's part of the scatter; None where an uneven hand leaves more than noise."""
    rounding_nm = digit_u_nm(digit_nm)
    if fit.noise_nm > max(EVEN_NM, 1.2 * rounding_nm):
        return None
    share = (rounding_nm / max(fit.noise_nm, 1.0)) ** 2
    return min(max(share, ROUNDING_LEAST), ROUNDING_MOST)


def without_excess(fit: RockFit, square_s2: float, doubt_s2: float) -> RockFit:
    """The fit of what a display would show that does not average.

    Args:
        fit: the rocks as they read.
        square_s2: the window's square.
        doubt_s2: its standard uncertainty.
    """
    if square_s2 == 0.0:
        return fit
    sizes, variances = _freed(fit, square_s2)
    weights = [1.0 / v for v in variances]
    total = sum(weights)
    curves = zip(weights, fit.by_rock_curve, strict=True)
    curve_nm = sum(w * curve.nm for w, curve in curves) / total
    size_nm = sum(w * size for w, size in zip(weights, sizes, strict=True)) / total
    return replace(
        fit,
        size_nm=size_nm,
        u_nm=math.hypot(math.sqrt(1.0 / total), curve_nm * excess_share(doubt_s2)),
        by_rock_nm=tuple(sizes),
        by_rock_u_nm=tuple(
            math.hypot(math.sqrt(v), ROCK_DOUBT * excess_share(square_s2) * curve.nm)
            for v, curve in zip(variances, fit.by_rock_curve, strict=True)
        ),
    )


def _freed(fit: RockFit, square_s2: float) -> tuple[list[float], list[float]]:
    """What each rock tells without the window's excess, and the variance of that."""
    share = excess_share(square_s2)
    noise, even = fit.noise_nm**2, min(fit.noise_nm, EVEN_NM) ** 2
    # What is more than a gauge's noise is the hand's, and no mean of conversions.
    means = 1.0 + (math.sqrt(1.0 + square_s2 / fit.step_s**2) - 1.0) * even / max(noise, 1.0)
    sizes, variances = [], []
    for size, u, curve in zip(fit.by_rock_nm, fit.by_rock_u_nm, fit.by_rock_curve, strict=True):
        sizes.append(size - share * curve.nm)
        squares = u * u - 2.0 * share * curve.shared_nm2 + (share * curve.u_nm) ** 2
        variances.append(means * squares)
    return sizes, variances


def _log_speeds(fit: RockFit, square_s2: float) -> float:
    """Log likelihood that rocks of their speeds are of one size, but for the window's excess."""
    sizes, squares = _freed(fit, square_s2)
    variances = [v + MODEL_NM * MODEL_NM for v in squares]
    total = sum(1.0 / v for v in variances)
    size = sum(z / v for z, v in zip(sizes, variances, strict=True)) / total
    rest = sum((z - size) ** 2 / v + math.log(v) for z, v in zip(sizes, variances, strict=True))
    return -0.5 * (rest + math.log(total))
