"""Estimator `floor-likelihood`: the size under a one-sided scatter of crest readings.

Every crest reading is the size lifted by tilt (`rules.sweep.excess`). The estimate is the mean of
the size's posterior density under a flat prior, with noise S, barrel c and spread T summed out:

    p(D | y) ∝ Σ_S Σ_c Σ_T π(S, c, T)·Π_i p(y_i | D, S, c, T)^κ,   size = E[D | y], u = sd[D | y].

Readings that follow one another closely repeat one tilt, and count for less than as many
independent ones: κ = τ^-0.4, where τ = 1 + 2·Σ r_k is the correlation time of the crest's readings
counted in readings. The power is a compromise: tilts that wander without inertia forget
themselves near the upright sooner than τ says, slow waves don't.

Noise: the likelihood knows that the lowest of many readings is low, so nothing is biased by their
number. Last digit: a rectangular rounding error inside S'. Bounces: a share of readings may lie
anywhere, so a single low reading moves the size only when the others leave room for it.
"""

import math
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from operator import mul

from rules.sweep.excess import (
    ABOVE_NM,
    BELOW_NM,
    FAR_NM,
    FAR_STEP_NM,
    STEP_NM,
    Scatter,
    far_table,
    lift_to_tilt,
    near_table,
)
from rules.sweep.posterior import Posterior, log_sum, moments

NOISES_NM = (350, 650, 1_050, 1_550)
BARRELS_NM = {0: 0.5, 1_500: 0.15, 3_500: 0.15, 7_000: 0.12, 13_000: 0.08}  # c: prior share
SPREADS = {0.72: 0.3, 1.0: 0.4, 1.4: 0.3}  # of the spread the median tells: prior share
SPREAD_MIN_NM = 2_000.0
SPREAD_MAX_NM = 27_000.0  # a hand holds a quarter of a degree; wider is not a sweep of one size
COARSE_NM = 10 * STEP_NM
FINE_NM = 2 * STEP_NM
KEEP_LOG = 9.0  # sizes and scatters less likely by e^-9 are left out
HALF_NORMAL_MEDIAN = 0.6745
CORRELATION_POWER = -0.4
LAGS_MAX = 15
LAG_PAIRS_MIN = 6
LAG_END = 0.1
CLIP_NM = 40_000

Weighted = tuple[float, Scatter]
Tables = tuple[Sequence[float], Sequence[float]]


@dataclass(frozen=True, slots=True)
class FloorFit:
    """The size's posterior, the likeliest scatter, and the power κ of one reading."""

    posterior: Posterior
    scatter: Scatter
    power: float


def fit_floor(passes: Sequence[Sequence[int]], digit_nm: int) -> FloorFit:
    """Find the size given each pass's crest readings (nm, at least three in all)."""
    ordered = sorted(length for crest in passes for length in crest)
    scatters = scatters_for(ordered, digit_nm)
    power = correlation_time(passes) ** CORRELATION_POWER
    counts = Counter(ordered)
    rank = min(len(ordered) - 1, 2 + len(ordered) // 16)
    low, high = max(ordered[0], ordered[rank] - CLIP_NM) - 3_000, ordered[rank] + 2_000
    tables = tables_of(scatters)
    coarse = {
        size: [power * log for log in log_likelihoods(counts, size, tables)]
        for size in range(low, high + 1, COARSE_NM)
    }
    best = max(max(logs) for logs in coarse.values())
    kept = [k for k in range(len(scatters)) if max(c[k] for c in coarse.values()) > best - KEEP_LOG]
    likely = [size for size, logs in coarse.items() if max(logs) > best - KEEP_LOG]
    fewer = [scatters[k] for k in kept]
    tables = [tables[k] for k in kept]
    fine = {}
    for size in range(min(likely) - COARSE_NM, max(likely) + COARSE_NM + 1, FINE_NM):
        logs = log_likelihoods(counts, size, tables)
        fine[size] = log_sum(
            [math.log(w) + power * log for (w, _), log in zip(fewer, logs, strict=True)]
        )
    top = max(coarse, key=lambda size: max(coarse[size]))
    best_scatter = max(range(len(scatters)), key=lambda k: coarse[top][k])
    return FloorFit(moments(fine), scatters[best_scatter][1], power)


def scatters_for(ordered: Sequence[int], digit_nm: int) -> list[Weighted]:
    """The ways of scattering that the readings (sorted, nm) leave open, with their shares.

    The spread comes from the median, which bounces don't move: half of a half-normal lies under
    0.6745 spreads. It is rounded to steps of a fifth so that tables recur.
    """
    low = ordered[len(ordered) // 20]
    median_lift = max(ordered[len(ordered) // 2] - low, 0) + 500
    answer = []
    for barrel, share in BARRELS_NM.items():
        tilt = lift_to_tilt(median_lift, barrel) / HALF_NORMAL_MEDIAN
        for factor, part in SPREADS.items():
            rough_um = min(max(factor * tilt, SPREAD_MIN_NM), SPREAD_MAX_NM) / 1_000
            spread = round(1_000 * 1.2 ** round(math.log(rough_um, 1.2)))
            for noise in NOISES_NM:
                total = round(math.hypot(noise, digit_nm / math.sqrt(12)) / 50) * 50
                answer.append((share * part, Scatter(total, barrel, spread)))
    return answer


def tables_of(scatters: Iterable[Weighted]) -> list[Tables]:
    """The tables of each scatter, looked up once for all sizes."""
    return [(near_table(scatter), far_table(scatter)) for _, scatter in scatters]


def log_likelihoods(counts: Counter[int], size_nm: int, tables: Iterable[Tables]) -> list[float]:
    """Log likelihood of a size, one per scatter, for readings counted by their length."""
    near, far = [], []
    near_times, far_times = [], []
    edge = size_nm + ABOVE_NM
    for length, times in counts.items():
        if length < edge:
            near.append(max((length - size_nm + BELOW_NM + STEP_NM // 2) // STEP_NM, 0))
            near_times.append(times)
        else:
            far.append((min(length - size_nm, FAR_NM) - ABOVE_NM) // FAR_STEP_NM)
            far_times.append(times)
    # Loops that run in C: these sums are most of an estimate's time.
    return [
        sum(map(mul, map(near_at.__getitem__, near), near_times))
        + sum(map(mul, map(far_at.__getitem__, far), far_times))
        for near_at, far_at in tables
    ]


def correlation_time(passes: Sequence[Sequence[int]]) -> float:
    """How many neighbouring readings of a crest say the same thing, at least 1."""
    ordered = sorted(length for crest in passes for length in crest)
    middle = ordered[len(ordered) // 2]
    clipped = [[min(max(y - middle, -CLIP_NM), CLIP_NM) for y in crest] for crest in passes]
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
