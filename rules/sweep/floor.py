"""Estimator `floor-likelihood`: the size under a one-sided scatter of crest readings.

Every crest reading is the size lifted by tilt (`rules.sweep.excess`). The estimate is the mean of
the size's posterior density under a flat prior, with noise S, barrel c and spread T summed out:

    p(D | y) ∝ Σ_S Σ_c Σ_T π(S, c, T)·Π_i p(y_i | D, S, c, T)^κ,   size = E[D | y], u = sd[D | y].

Readings that follow one another closely repeat one tilt, and count for less than as many
independent ones: κ = τ^-0.3, where τ = 1 + 2·Σ r_k is the correlation time of the crest's readings
counted in readings. The power is a compromise: tilts that wander without inertia forget
themselves near the upright sooner than τ says, slow waves don't.

Where there are many readings (`WINDOW_READINGS`), only those near the floor are asked: of the n
readings below a cut, each has the density p(y | D)/P(y < cut | D). How tilt is spread further up,
where no hand follows a normal law, then has no say.

The size shows where the tilt passes the upright. A hand that hardly rocks may never have been
there: what it may have leant by is added to u.

Noise: the likelihood knows that the lowest of many readings is low, so nothing is biased by their
number. Last digit: a reading tells only which digit the length was nearest to. Bounces: a share of
readings may lie anywhere, so a single low reading moves the size only when the others leave room.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import product

import numpy as np

from barrelfit.rules.sweep.excess import (
    PLACES,
    STEP_NM,
    Floats,
    Scatter,
    Whole,
    excess_nm,
    lift_to_tilt,
    log_densities,
    log_shares,
    places,
)
from barrelfit.rules.sweep.posterior import Posterior, moments, widened
from barrelfit.rules.uncertainty.size_budget import digit_u_nm

NOISES_NM = {  # S: prior share; gauges noisier than 2 µm must show it
    150: 0.1,
    350: 0.224,
    650: 0.225,
    1_050: 0.225,
    1_550: 0.224,
    2_300: 0.001,
    3_300: 0.001,
}
BARRELS_NM = {0: 0.5, 1_500: 0.15, 3_500: 0.15, 7_000: 0.12, 13_000: 0.08}  # c: prior share
# Of the spread the median tells: prior share. A still hand's median is mostly noise.
SPREADS = {0.3: 0.03, 0.8: 0.29, 1.25: 0.39, 1.8: 0.29}
SPREAD_MIN_NM = 500.0
SPREAD_MAX_NM = 27_000.0  # a hand holds a quarter of a degree; wider is not a sweep of one size
COARSE_NM = 10 * STEP_NM
FINE_NM = 2 * STEP_NM
KEEP_LOG = 9.0  # sizes and scatters less likely by e^-9 are left out
STILL_FACTORS = {0.8: 0.3, 1.0: 0.4, 1.25: 0.2}  # noise in contact to noise at the stop: share
STILL_UNLIKE = 0.1  # of the prior shares, when the gauge stood still
STILL_LEAST_NM = 250.0
HALF_NORMAL_MEDIAN = 0.6745
CORRELATION_POWER = -0.3
WINDOW_READINGS = 30
THIN_MODEL_NM = 550.0  # with as few, what the half-normal law of tilt gets wrong
LEAN_NM = 3_000.0  # a hand that rocks less may have leant by so much all the time
TRAVEL_LEAST_NM, TRAVEL_MOST_NM = 100.0, 40_000.0
TRAVEL_DOUBT = 0.35  # of a display's excess: speeds are not quite normal
COARSE_MODEL = 0.17  # of a digit: the law of tilt counts for more between coarse ones
# Over the twentieth part of the readings: of the way from there to the median, within limits.
WINDOW_SHARE = 0.8
WINDOW_LEAST_NM, WINDOW_MOST_NM = 4_000, 8_000
WINDOW_DIGITS = 3
LAGS_MAX = 15
LAG_PAIRS_MIN = 6
LAG_END = 0.1
CLIP_NM = 40_000

Weighted = tuple[float, Scatter]


@dataclass(frozen=True, slots=True)
class FloorFit:
    """The size's posterior, the likeliest scatter, and the doubt that more passes would lessen."""

    posterior: Posterior
    scatter: Scatter
    u_passes_nm: float


@dataclass(frozen=True, slots=True)
class _Seen:
    """The readings that are asked; where only those below a length are, that length."""

    readings_nm: Whole
    digit_nm: int
    edge_nm: int | None = None

    def below(self, cut_nm: int) -> "_Seen":
        """The readings below `cut_nm`: their lengths were nearer to them than to the next digit."""
        left, digit_nm = self.readings_nm[self.readings_nm < cut_nm], self.digit_nm
        more = (cut_nm - 1 - int(left[-1])) // digit_nm
        return _Seen(left, digit_nm, int(left[-1]) + more * digit_nm + (digit_nm + 1) // 2)


def fit_floor(
    passes: Sequence[Sequence[int]],
    digit_nm: int,
    still_nm: float | None = None,
    travel_nm: float = 0.0,
) -> FloorFit:
    """Find the size given each pass's crest readings (nm, at least three in all).

    `still_nm` is the noise that the gauge showed standing still, where it did; `travel_nm` how far
    the tilt goes while the display averages, 0 where it does not.
    """
    ordered = sorted(length for crest in passes for length in crest)
    ways = scatters_for(ordered, digit_nm, still_nm)
    if travel_nm:
        step = _step(travel_nm, TRAVEL_LEAST_NM, TRAVEL_MOST_NM)
        ways = [(share, replace(scatter, travel_nm=step)) for share, scatter in ways]
    power = correlation_time(passes) ** CORRELATION_POWER
    rank = min(len(ordered) - 1, 2 + len(ordered) // 16)
    low = max(ordered[0], ordered[rank] - CLIP_NM) - 3_000 - digit_nm // 2
    high = ordered[rank] + 2_000 + digit_nm // 2
    seen = _Seen(np.array(ordered, dtype=np.int64), digit_nm)
    if len(ordered) >= WINDOW_READINGS:
        seen = seen.below(_window_end_nm(ordered, digit_nm))

    coarse_sizes = np.arange(low, high + 1, COARSE_NM, dtype=np.int64)
    coarse = _log_posteriors(ways, power * _log_likelihoods(seen, coarse_sizes, ways))
    best = float(coarse.max())
    kept = [way for way, logs in zip(ways, coarse, strict=True) if logs.max() > best - KEEP_LOG]
    likely = coarse_sizes[coarse.max(axis=0) > best - KEEP_LOG]
    sizes = np.arange(likely[0] - COARSE_NM, likely[-1] + COARSE_NM + 1, FINE_NM, dtype=np.int64)
    fine = _log_posteriors(kept, power * _log_likelihoods(seen, sizes, kept))
    logs = np.logaddexp.reduce(fine, axis=0)
    found = moments(dict(zip(sizes.tolist(), logs.tolist(), strict=True)))
    likeliest = ways[int(coarse.max(axis=1).argmax())][1]
    thin_nm = THIN_MODEL_NM * WINDOW_READINGS / len(ordered)
    lean_nm = max(LEAN_NM - likeliest.spread_nm, 0.0) / math.sqrt(3)
    window_nm = TRAVEL_DOUBT * excess_nm(likeliest.barrel_nm, travel_nm)
    all_told = widened(found, math.hypot(thin_nm, lean_nm, COARSE_MODEL * digit_nm, window_nm))
    return FloorFit(all_told, likeliest, math.hypot(found.sd_nm, thin_nm))


def _window_end_nm(ordered: Sequence[int], digit_nm: int) -> int:
    """Up to where readings (sorted, nm) are asked.

    A hand that rocks little shows the whole law of its tilt within a few µm: most of it must lie
    beyond.
    """
    low = ordered[len(ordered) // 20]
    way = round(WINDOW_SHARE * (ordered[len(ordered) // 2] - low))
    within = min(max(way, WINDOW_LEAST_NM), WINDOW_MOST_NM)
    return low + max(within, WINDOW_DIGITS * digit_nm)


def _log_posteriors(ways: Sequence[Weighted], logs: Floats) -> Floats:
    """Log likelihoods by way (rows) and size, with each way's prior share."""
    return np.log([share for share, _ in ways])[:, None] + logs


def _log_likelihoods(seen: _Seen, sizes_nm: Whole, ways: Sequence[Weighted]) -> Floats:
    """Log likelihood by way of scattering (rows) and by size (columns)."""
    stands = places(seen.readings_nm[None, :] - sizes_nm[:, None])
    stands += PLACES * np.arange(len(sizes_nm))[:, None]
    counts = np.bincount(stands.ravel(), minlength=PLACES * len(sizes_nm))
    tables = np.array([log_densities(scatter, seen.digit_nm) for _, scatter in ways])
    by_size = counts.reshape(len(sizes_nm), PLACES).astype(np.float64)
    # Not `@`: a linear algebra library may add in another order each time, and a redo must agree.
    logs: Floats = np.einsum("wp,sp->ws", tables, by_size)
    if seen.edge_nm is not None:
        shares = np.array([log_shares(scatter) for _, scatter in ways])
        logs -= len(seen.readings_nm) * shares[:, places(seen.edge_nm - sizes_nm)]
    return logs


def make_tables(digit_nm: int) -> None:
    """Make the tables that sweeps of a gauge with this last digit will ask for, ahead of time.

    Their making takes tens of ms at the first sizes, else in the middle of somebody's work.
    """
    steps = range(round(math.log(SPREAD_MIN_NM, 1.2)), round(math.log(SPREAD_MAX_NM, 1.2)))
    for spread in sorted({_spread_step(1.2**step) for step in steps}):
        for barrel in BARRELS_NM:
            for noise in NOISES_NM:
                scatter = Scatter(noise, barrel, spread)
                log_densities(scatter, digit_nm)
                log_shares(scatter)


def _spread_step(spread_nm: float) -> int:
    return _step(spread_nm, SPREAD_MIN_NM, SPREAD_MAX_NM)


def _step(length_nm: float, least_nm: float, most_nm: float) -> int:
    """A length in steps of a fifth, so that tables recur."""
    rough_um = min(max(length_nm, least_nm), most_nm) / 1_000
    return round(1_000 * 1.2 ** round(math.log(rough_um, 1.2)))


def scatters_for(
    ordered: Sequence[int], digit_nm: int, still_nm: float | None = None
) -> list[Weighted]:
    """The ways of scattering that the readings (sorted, nm) leave open, with their shares.

    The spread comes from the median, which bounces don't move: half of a half-normal lies under
    0.6745 spreads. It is rounded to steps of a fifth so that tables recur.
    """
    noises, answer = _noises(digit_nm, still_nm), []
    lifts = _median_lifts_nm(ordered, digit_nm)
    for (barrel, share), lift in product(BARRELS_NM.items(), lifts):
        tilt = lift_to_tilt(lift, barrel) / HALF_NORMAL_MEDIAN
        for factor, part in SPREADS.items():
            spread = _spread_step(factor * tilt)
            answer += [
                (share / len(lifts) * part * likely, Scatter(noise, barrel, spread))
                for noise, likely in noises.items()
            ]
    return answer


def _median_lifts_nm(ordered: Sequence[int], digit_nm: int) -> list[int]:
    """How high the median may lie above the floor: where digits are coarse, on one and the same."""
    lift = max(ordered[len(ordered) // 2] - ordered[len(ordered) // 20], 0)
    if lift >= digit_nm:
        return [lift + 500]
    return [lift + 500 + more for more in (0, digit_nm // 2, digit_nm)]


def _noises(digit_nm: int, still_nm: float | None) -> dict[int, float]:
    """Noises in contact (nm), with their shares.

    Where the gauge stood still, its noise there is the likeliest, but contact may add to it. A
    stop that shows no noise at all tells nothing.
    """
    if still_nm is None or still_nm < STILL_LEAST_NM:
        return NOISES_NM
    shares = {noise: STILL_UNLIKE * share for noise, share in NOISES_NM.items()}
    alone_nm = math.sqrt(max(still_nm**2 - digit_u_nm(digit_nm) ** 2, min(NOISES_NM) ** 2))
    for factor, share in STILL_FACTORS.items():
        noise = max(round(factor * alone_nm / 50), 1) * 50
        shares[noise] = shares.get(noise, 0.0) + share
    return shares


def correlation_time(passes: Sequence[Sequence[int]], clip_nm: int = CLIP_NM) -> float:
    """How many neighbouring readings of a pass say the same thing, at least 1.

    Readings further than `clip_nm` from the middle one count as that far: bounces, flanks.
    """
    ordered = sorted(length for crest in passes for length in crest)
    middle = ordered[len(ordered) // 2]
    clipped = [[min(max(y - middle, -clip_nm), clip_nm) for y in crest] for crest in passes]
    variance = sum(y * y for crest in clipped for y in crest) / len(ordered)
    total = 1.0
    for lag in range(1, LAGS_MAX):
        pairs = sum(max(len(crest) - lag, 0) for crest in clipped)
        if pairs < LAG_PAIRS_MIN or variance == 0:
            break
        product = sum(a * b for crest in clipped for a, b in zip(crest, crest[lag:], strict=False))
        share = product / pairs / variance
        if share < LAG_END:
            break
        total += 2.0 * share
    return total
