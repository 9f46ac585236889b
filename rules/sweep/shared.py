"""How many conversions an outside reading is the mean of, told by the readings of the crests.

A display that shows the mean of its last n conversions shares n - 1 of them with the reading
before: what it shows of noise, tremor and tilt alike has passed through that mean. Its last digit
alone is each reading's own. So each n is weighed by how likely it makes the crests' readings as a
Gaussian process,

    y_i = level + (1/n)·Σ_{k<n} (f(i - k) + e(i - k)) + rounding,

with an even level of each run, noise e, and a tilt f that is rough, smooth or smoother (Matérn's
covariances of 1/2, 3/2 and 5/2) and lasts for any of `LASTS_S`. How much there is of each is summed
out; Levinson's and Durbin's recursion tells what each reading adds, for all ways at once.

Near its ends a crest that is averaged is partly of the flanks, and stands lower than in its middle,
by about `SAG_UM_S2` times the window's square: that tells long windows, where readings come seldom.

At 50 readings a second all this nearly always tells, at 20 mostly; at 10 a hand moves so far from
one reading to the next that it tells little, and what is usual (`MEANS`) has most of the say.
"""

import math
from collections.abc import Sequence
from itertools import pairwise
from statistics import mean, median, stdev

import numpy as np

from barrelfit.rules.sweep.excess import Floats
from barrelfit.rules.sweep.finder import Sample
from barrelfit.rules.uncertainty.size_budget import digit_u_nm

MEANS = {1: 0.88, 2: 0.05, 3: 0.03, 4: 0.03, 6: 0.01}  # n: prior share
WEIGHT = 0.7  # of what the readings say: no hand is quite a Gaussian process
ROUGHNESS = 3  # of Matérn's covariances
LASTS_S = (0.05, 0.12, 0.3, 0.8)
TILTS = (0.6, 1.0, 1.7, 3.0, 5.0)  # of what the readings scatter by: a mean shows less than it has
NOISES_UM = (0.15, 0.35, 0.65, 1.05, 1.55, 4.0)  # the last one for bounces
LEVEL_UM = 40.0
CLIP_UM = 40.0  # further from its pass's middle a reading counts as that far
SCATTER_LEAST_UM, ROUNDING_LEAST_UM = 1.0, 0.05
RUN_LEAST, RUN_MOST = 3, 24
SAG_UM_S2, SAG_MOST_UM, SAG_DOUBT_UM = 37.0, 6.0, 1.0  # of hands of about 13 mm/s
SAG_READINGS, SAG_PASSES = 4, 3
NEXT_STEPS = 1.5  # of the usual: readings further apart are no neighbours
KEPT_PLACES = 3


def log_shares(passes: Sequence[Sequence[Sample]], digit_nm: int) -> dict[int, float]:
    """How likely it is that a reading is the mean of n conversions, by n: logs, not normalised.

    Args:
        passes: each pass's readings at the size, two at least.
        digit_nm: the gauge's last digit.
    """
    step_ns = usual_step_ns(passes)
    sags = _log_sags(passes, step_ns / 1e9)
    logs = {n: round(math.log(prior) + sags[n], KEPT_PLACES) for n, prior in MEANS.items()}
    runs = _runs(passes, step_ns)
    if not runs:
        return logs
    scatter_um = max(median(float(np.std(run)) for run in runs), SCATTER_LEAST_UM)
    rows = _covariances(scatter_um, step_ns / 1e9, digit_u_nm(digit_nm) / 1e3)
    told = _log_likelihoods(rows, runs).reshape(len(MEANS), -1)
    best = told.max(axis=1)
    sums = best + np.log(np.exp(told - best[:, None]).mean(axis=1))
    # Another machine's last bits must not look like another sweep in a redo.
    return {
        n: round(log + WEIGHT * told_of_n, KEPT_PLACES)
        for (n, log), told_of_n in zip(logs.items(), sums.tolist(), strict=True)
    }


def usual_step_ns(passes: Sequence[Sequence[Sample]]) -> float:
    """The usual time from a reading to the next."""
    return median(b[0] - a[0] for used in passes for a, b in pairwise(used))


def _log_sags(passes: Sequence[Sequence[Sample]], step_s: float) -> dict[int, float]:
    """Log likelihood of how far crests' ends stand under their middles, by n."""
    sags = [
        (median(lengths[1:-1]) - (lengths[0] + lengths[-1]) / 2) / 1e3
        for lengths in ([length for _, length in used] for used in passes)
        if len(lengths) >= SAG_READINGS
    ]
    if len(sags) < SAG_PASSES:
        return dict.fromkeys(MEANS, 0.0)
    square = stdev(sags) ** 2 / len(sags) + SAG_DOUBT_UM**2
    awaited = {n: min(SAG_UM_S2 * (n * n - 1) * step_s**2, SAG_MOST_UM) for n in MEANS}
    return {n: -0.5 * (mean(sags) - sag) ** 2 / square for n, sag in awaited.items()}


def _runs(passes: Sequence[Sequence[Sample]], step_ns: float) -> list[Floats]:
    """Readings that follow one another, in µm from the middle of their pass."""
    found: list[list[float]] = []
    for used in passes:
        middle = median(length for _, length in used)
        run: list[float] = []
        last_ns = used[0][0]
        for t_ns, length in used:
            if t_ns - last_ns > NEXT_STEPS * step_ns or len(run) == RUN_MOST:
                found.append(run)
                run = []
            run.append(min(max((length - middle) / 1e3, -CLIP_UM), CLIP_UM))
            last_ns = t_ns
        found.append(run)
    return [np.array(run) for run in found if len(run) >= RUN_LEAST]


def _covariances(scatter_um: float, step_s: float, rounding_um: float) -> Floats:
    """Covariance of readings (µm²) by way (rows; all of one n together) and by how far apart."""
    most = max(MEANS)
    lags = np.arange(1 - most, RUN_MOST + most)  # of the conversions
    apart: Floats = np.abs(lags).astype(np.float64)
    apart *= step_s
    kernels = [_matern(kind, apart / s) for kind in range(ROUGHNESS) for s in LASTS_S]
    tilts = np.square(scatter_um * np.array(TILTS))[None, :, None, None]
    noises = np.square(np.array(NOISES_UM))[None, None, :, None]
    rows = []
    for n in MEANS:
        shared = (n - abs(np.arange(1 - n, n))) / (n * n)
        by_kernel = np.array([_passed(kernel, shared, most) for kernel in kernels])
        by_noise = _passed((lags == 0).astype(np.float64), shared, most)
        rows.append((by_kernel[:, None, None, :] * tilts + noises * by_noise).reshape(-1, RUN_MOST))
    found: Floats = np.concatenate(rows) + LEVEL_UM**2
    found[:, 0] += max(rounding_um, ROUNDING_LEAST_UM) ** 2
    return found


def _matern(kind: int, apart: Floats) -> Floats:
    """Matérn's correlation of the smoothness `kind` + 1/2."""
    far = math.sqrt(2 * kind + 1) * apart
    found: Floats = np.exp(-far) * (1.0, 1.0 + far, 1.0 + far + far * far / 3)[kind]
    return found


def _passed(kernel: Floats, shared: Floats, most: int) -> Floats:
    """A covariance of conversions as their means show it: at 0 to `RUN_MOST` - 1 readings apart."""
    reach = len(shared) // 2
    found: Floats = np.zeros(RUN_MOST)
    for k, share in enumerate(shared.tolist()):
        begin = most - 1 + k - reach
        found += share * kernel[begin : begin + RUN_MOST]
    return found


def _log_likelihoods(rows: Floats, runs: Sequence[Floats]) -> Floats:
    """Log likelihood of all runs by way: each reading beside what those before it let expect."""
    longest = max(map(len, runs))
    seen: Floats = np.zeros((len(runs), longest))
    for place, run in enumerate(runs):
        seen[place, : len(run)] = run
    lengths = np.array(list(map(len, runs)))
    weights: Floats = np.zeros((len(rows), 0))
    variance: Floats = rows[:, 0].copy()
    total: Floats = np.zeros(len(rows))
    for k in range(longest):
        if k:
            rest = rows[:, k] - (weights * rows[:, k - 1 : 0 : -1]).sum(axis=1)
            part = (rest / variance)[:, None]
            weights = np.concatenate([weights - part * weights[:, ::-1], part], axis=1)
            variance = variance * (1.0 - part[:, 0] ** 2)
        there = seen[lengths > k]
        # Not `@`: a linear algebra library may add in another order each time.
        expected = np.einsum("wk,rk->wr", weights, there[:, :k][:, ::-1])
        off = there[None, :, k] - expected
        total -= 0.5 * ((off * off).sum(axis=1) / variance + len(there) * np.log(variance))
    return total
