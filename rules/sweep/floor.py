"""Estimator `floor-likelihood`: the size under a one-sided scatter of crest readings.

Every crest reading is the size lifted by tilt (`rules.sweep.excess`). The estimate is the mean of
the size's posterior density under a flat prior, with the noise σ and the barrel c summed out:

    p(D | y) ∝ Σ_σ Σ_c π(c)·Π_i p(y_i | D, σ, c),    size = E[D | y],    u = sd[D | y].

Noise: the likelihood knows that the lowest of many readings is low, so nothing is biased by their
number. Last digit: a rectangular rounding error inside σ'. Bounces: a share of readings may lie
anywhere, so a single low reading moves the size only when the others leave room for it.
"""

import math
from collections import Counter
from collections.abc import Mapping, Sequence

from rules.sweep.excess import BELOW_NM, FAR_NM, STEP_NM, log_density
from rules.sweep.posterior import Posterior, log_sum, moments

NOISES_NM = (300, 500, 800, 1_200, 1_700)
BARRELS_NM = {0: 0.5, 1_500: 0.2, 4_000: 0.2, 9_000: 0.1}  # lift c and its prior share
COARSE_NM = 10 * STEP_NM
KEEP_LOG = 12.0  # sizes less likely by e^-12 are left out


def floor_posterior(lengths_nm: Sequence[int], digit_nm: int) -> Posterior:
    """The posterior of the size given the crest's readings (at least three), in nm."""
    ordered = sorted(lengths_nm)
    rank = min(len(ordered) - 1, 2 + len(ordered) // 16)
    low, high = max(ordered[0], ordered[rank] - 60_000) - 4_000, ordered[rank] + 3_000
    spread_nm = _spread_nm(ordered, ordered[min(2, rank)])
    counts = Counter(length for length in ordered if length < high + FAR_NM)
    tables = [
        (
            math.log(share),
            log_density(_round(math.hypot(n, digit_nm / math.sqrt(12))), c, spread_nm),
        )
        for n in NOISES_NM
        for c, share in BARRELS_NM.items()
    ]
    coarse = _log_posterior(counts, range(low, high + 1, COARSE_NM), tables)
    best = max(coarse.values())
    likely = [size for size, value in coarse.items() if value > best - KEEP_LOG]
    fine = _log_posterior(
        counts, range(min(likely) - COARSE_NM, max(likely) + COARSE_NM + 1, 2 * STEP_NM), tables
    )
    return moments(fine)


def _round(noise_nm: float) -> int:
    return round(noise_nm / 50) * 50


def _spread_nm(ordered: Sequence[int], about_nm: int) -> int:
    """Spread of the tilt's lift (root mean square), in steps of a fifth so that tables recur."""
    lifts = [min(max(length - about_nm, 0), FAR_NM) for length in ordered]
    mean_square = sum(lift * lift for lift in lifts) / len(lifts)
    rms = math.sqrt(mean_square + 3_000.0**2)
    return round(1_000 * 1.2 ** round(math.log(rms / 1_000, 1.2)))


def _log_posterior(
    counts: Mapping[int, int],
    sizes: Sequence[int],
    tables: Sequence[tuple[float, Sequence[float]]],
) -> dict[int, float]:
    """Log of the posterior (not normalised) at each size tried."""
    last = (FAR_NM + BELOW_NM) // STEP_NM
    answer = {}
    for size in sizes:
        places = [
            (min(max((length - size + BELOW_NM + STEP_NM // 2) // STEP_NM, 0), last), times)
            for length, times in counts.items()
        ]
        logs = [
            start + sum(table[place] * times for place, times in places) for start, table in tables
        ]
        answer[size] = log_sum(logs)
    return answer
