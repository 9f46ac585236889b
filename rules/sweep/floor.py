"""Estimator `floor-likelihood`: the size under a one-sided scatter of crest readings.

Every crest reading is the size lifted by tilt (`rules.sweep.excess`). The estimate is the mean of
the size's posterior density under a flat prior, with noise S, barrel c and spread T summed out
(π: what is usual, and what earlier sweeps told, `rules.sweep.lessons`):

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
from dataclasses import dataclass

import numpy as np

from barrelfit.rules.sweep.excess import (
    PLACES,
    STEP_NM,
    Flags,
    Floats,
    Scatter,
    Tables,
    Whole,
    excess_nm,
    log_tables,
    places,
)
from barrelfit.rules.sweep.lessons import Evidence, Taught
from barrelfit.rules.sweep.nouns import Lesson
from barrelfit.rules.sweep.posterior import Posterior, moments, widened
from barrelfit.rules.sweep.scatters import Way, scatters_for

COARSE_NM = 10 * STEP_NM
FINE_NM = 2 * STEP_NM
KEEP_LOG = 9.0  # sizes and scatters less likely by e^-9 are left out
CORRELATION_POWER = -0.3
WINDOW_READINGS = 30
THIN_MODEL_NM = 550.0  # with as few, what the half-normal law of tilt gets wrong
LEAN_NM = 3_000.0  # a hand that rocks less may have leant by so much all the time
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


@dataclass(frozen=True, slots=True)
class FloorFit:
    """The size's posterior, the likeliest scatter, and the doubt that more passes would lessen.

    `lesson` is what the readings alone told of noise and barrel, whatever was known before.
    """

    posterior: Posterior
    scatter: Scatter
    u_passes_nm: float
    lesson: Lesson


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
    lessons: Sequence[Lesson] = (),
) -> FloorFit:
    """Find the size given each pass's crest readings (nm, at least three in all).

    `still_nm` is the noise that the gauge showed standing still, where it did; `travel_nm` how far
    the tilt goes while the display averages, 0 where it does not; `lessons` are what other sweeps
    told of the same gauge and of parts that are barrelled alike.
    """
    ordered = sorted(length for crest in passes for length in crest)
    ways = scatters_for(ordered, digit_nm, still_nm)
    power = correlation_time(passes) ** CORRELATION_POWER
    rank = min(len(ordered) - 1, 2 + len(ordered) // 16)
    low = max(ordered[0], ordered[rank] - CLIP_NM) - 3_000 - digit_nm // 2
    high = ordered[rank] + 2_000 + digit_nm // 2
    seen = _Seen(np.array(ordered, dtype=np.int64), digit_nm)
    if len(ordered) >= WINDOW_READINGS:
        seen = seen.below(_window_end_nm(ordered, digit_nm))

    coarse_sizes = np.arange(low, high + 1, COARSE_NM, dtype=np.int64)
    alone, taught = _shares(ways), _shares(ways, Taught(lessons) if lessons else None)
    tables = log_tables([way.scatter for way in ways], digit_nm, travel_nm)
    coarse = power * _log_likelihoods(seen, coarse_sizes, tables)
    # What a sweep tells the next is to be the same whatever was known before.
    is_open = _within(taught + coarse) | _within(alone + coarse)
    asked = np.flatnonzero(is_open.any(axis=1))
    likely = coarse_sizes[is_open.any(axis=0)]
    sizes = np.arange(likely[0] - COARSE_NM, likely[-1] + COARSE_NM + 1, FINE_NM, dtype=np.int64)
    fine = power * _log_likelihoods(seen, sizes, tables.of(asked))
    logs = np.logaddexp.reduce(taught[asked] + fine, axis=0)
    found = moments(dict(zip(sizes.tolist(), logs.tolist(), strict=True)))
    likeliest = ways[int((taught + coarse).max(axis=1).argmax())].scatter
    thin_nm = THIN_MODEL_NM * WINDOW_READINGS / len(ordered)
    lean_nm = max(LEAN_NM - likeliest.spread_nm, 0.0) / math.sqrt(3)
    window_nm = TRAVEL_DOUBT * excess_nm(likeliest.barrel_nm, travel_nm)
    all_told = widened(found, math.hypot(thin_nm, lean_nm, COARSE_MODEL * digit_nm, window_nm))
    evidence = np.logaddexp.reduce(coarse, axis=1) + math.log(COARSE_NM / FINE_NM)
    evidence[asked] = np.logaddexp.reduce(fine, axis=1)
    lesson = _lesson(ways, evidence)
    return FloorFit(all_told, likeliest, math.hypot(found.sd_nm, thin_nm), lesson)


def _within(logs: Floats) -> Flags:
    """Where logs are no further under the largest than is asked."""
    near: Flags = logs > logs.max() - KEEP_LOG
    return near


def _shares(ways: Sequence[Way], taught: Taught | None = None) -> Floats:
    """Log of each way's prior share, with what other sweeps taught, as a column."""
    times = [
        1.0 if taught is None else taught.times(w.scatter.noise_nm, w.scatter.barrel_nm)
        for w in ways
    ]
    shares = [way.pair_share * way.spread_share * n for way, n in zip(ways, times, strict=True)]
    return np.log(shares)[:, None]


def _lesson(ways: Sequence[Way], logs: Floats) -> Lesson:
    """What the log evidence of each way tells of noise and barrel."""
    evidence = Evidence()
    for way, log in zip(ways, logs.tolist(), strict=True):
        evidence.add(way.scatter.noise_nm, way.scatter.barrel_nm, math.log(way.spread_share) + log)
    return evidence.lesson


def _window_end_nm(ordered: Sequence[int], digit_nm: int) -> int:
    """Up to where readings (sorted, nm) are asked.

    A hand that rocks little shows the whole law of its tilt within a few µm: most of it must lie
    beyond.
    """
    low = ordered[len(ordered) // 20]
    way = round(WINDOW_SHARE * (ordered[len(ordered) // 2] - low))
    within = min(max(way, WINDOW_LEAST_NM), WINDOW_MOST_NM)
    return low + max(within, WINDOW_DIGITS * digit_nm)


def _log_likelihoods(seen: _Seen, sizes_nm: Whole, tables: Tables) -> Floats:
    """Log likelihood by way of scattering (rows) and by size (columns)."""
    stands = places(seen.readings_nm[None, :] - sizes_nm[:, None])
    stands += PLACES * np.arange(len(sizes_nm))[:, None]
    counts = np.bincount(stands.ravel(), minlength=PLACES * len(sizes_nm))
    by_size = counts.reshape(len(sizes_nm), PLACES).astype(np.float64)
    # Not `@`: a linear algebra library may add in another order each time, and a redo must agree.
    logs: Floats = np.einsum("wp,sp->ws", tables.densities, by_size)
    if seen.edge_nm is not None:
        logs -= len(seen.readings_nm) * tables.shares[:, places(seen.edge_nm - sizes_nm)]
    return logs


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
