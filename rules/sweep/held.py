"""Screw sizes, estimator `held-level`: the smallest level at which closings came to rest.

The thimble drives the screw down onto the rocking part; it goes on only to smaller widths, so it
comes to rest at the size D, or a little above it where the rocking never passed the upright.
Within closing j a reading y comes from the level M_j or from above it (still coming down,
riding up, opening):

    p(y | M) = (1 - w - ε)·[Φ((y + q/2 - M)/S) - Φ((y - q/2 - M)/S)]/q + w·T(y - M) + ε/(2·60 µm)

with noise S, last digit q, a share w of one-sided excess (T half-normal, spread `TAIL_NM`, rounded
to the digit) and a share ε of bounces; S and w are summed out closing by closing. Closings join
through M_j = D + e_j, where e_j is 0 in most closings and exponential (`UNSETTLED_NM`) in the
others. The size is the mean of D's posterior density under a flat prior.

Noise averages out over the readings held. Last digit: the rounding is in the density, so readings
that stand on one digit leave the size open by that digit, however many they are. Bounces: a share
of readings may lie anywhere; the level is where readings stay.
"""

import math
from collections import Counter
from collections.abc import Sequence
from functools import lru_cache
from operator import mul

from rules.sweep.finder import Sample
from rules.sweep.posterior import Posterior, log_sum, moments

NOISES_NM = (200, 350, 550, 850, 1_200, 1_700)
EXCESS_SHARES = (0.01, 0.1, 0.4, 0.8)
TAIL_NM = 15_000.0
UNSETTLED_SHARE = 0.25
UNSETTLED_NM = 2_000.0
BOUNCE_SHARE = 0.02
BOUNCE_NM = 60_000
HELD_BAND_NM = 40_000  # readings this far above the level are still on their way
HELD_MIN = 3  # readings near the level that make a closing
HELD_NEAR_NM = 5_000  # and a digit
HELD_MIN_NS = 150_000_000
RIDING_NM = 4_000
RIDING_SHARE = 0.25
STEP_NM = 200
COARSE_STEPS = 5  # for a first look that leaves out what can't be
KEEP_LOG = 9.0
REACH_NM = 6_000  # sizes are tried this far to both sides of the closings' levels
_ROOT_2 = math.sqrt(2.0)


def held_readings(closing: Sequence[Sample], digit_nm: int) -> list[Sample]:
    """The readings of a closing from its coming to rest to its opening; empty if not held."""
    if len(closing) < HELD_MIN:
        return []
    lengths = [length for _, length in closing]
    # The lowest level that three neighbouring readings agree on: two bounces in a row happen.
    low = min(max(lengths[i : i + HELD_MIN]) for i in range(len(lengths) - HELD_MIN + 1))
    near = [i for i, (_, length) in enumerate(closing) if length <= low + HELD_NEAR_NM + digit_nm]
    first, last = near[0], near[-1]
    if len(near) < HELD_MIN or closing[last][0] - closing[first][0] < HELD_MIN_NS:
        return []
    return [s for s in closing[first : last + 1] if s[1] <= low + HELD_BAND_NM]


def rides(closings: Sequence[Sequence[int]], digit_nm: int) -> bool:
    """Whether the reading rode up and down with the part's tilt instead of being held.

    A held reading scatters by noise and digit about one level; a riding one stands above its own
    low for a good part of the time.
    """
    above = total = 0
    for closing in closings:
        ordered = sorted(closing)
        low = ordered[len(ordered) // 10]
        above += sum(length > low + RIDING_NM + digit_nm for length in ordered)
        total += len(ordered)
    return above > RIDING_SHARE * total


@lru_cache(maxsize=256)
def _log_density(noise_nm: int, excess: float, digit_nm: int) -> Sequence[float]:
    """Log of p(y | M) per nm at y - M = −BOUNCE_NM … BOUNCE_NM in steps of half STEP_NM."""
    table = []
    floor = BOUNCE_SHARE / (2 * BOUNCE_NM)
    for step in range(-BOUNCE_NM, BOUNCE_NM + 1, STEP_NM // 2):
        upper = (step + digit_nm / 2) / (noise_nm * _ROOT_2)
        lower = (step - digit_nm / 2) / (noise_nm * _ROOT_2)
        core = 0.5 * (math.erf(upper) - math.erf(lower)) / digit_nm
        tail = (_half_normal(step + digit_nm / 2) - _half_normal(step - digit_nm / 2)) / digit_nm
        table.append(math.log((1.0 - excess) * (1.0 - BOUNCE_SHARE) * core + excess * tail + floor))
    return tuple(table)


def _half_normal(excess_nm: float) -> float:
    """Share of one-sided excesses that are smaller."""
    return math.erf(max(excess_nm, 0.0) / (TAIL_NM * _ROOT_2))


def level_tables(digit_nm: int) -> list[Sequence[float]]:
    """Log densities of a held reading about its level, by noise and share of excess."""
    return [_log_density(n, w, digit_nm) for n in NOISES_NM for w in EXCESS_SHARES]


def level_curve(lengths_nm: Sequence[int], digit_nm: int, sizes: Sequence[int]) -> list[float]:
    """Log density (per closing, not normalised) of the level at each of `sizes`."""
    tables = level_tables(digit_nm)
    counts = Counter(lengths_nm)
    rough = [_logs_at(size, counts, tables) for size in sizes[::COARSE_STEPS]]
    best = max(map(max, rough))
    kept = [
        table
        for table, logs in zip(tables, zip(*rough, strict=True), strict=True)
        if max(logs) > best - KEEP_LOG
    ]
    return [log_sum(_logs_at(size, counts, kept)) for size in sizes]


def _logs_at(size_nm: int, counts: Counter[int], tables: Sequence[Sequence[float]]) -> list[float]:
    """Log likelihood of one level, one per table."""
    half = STEP_NM // 2
    last = 2 * BOUNCE_NM // half
    places = [
        min(max((length - size_nm + BOUNCE_NM + half // 2) // half, 0), last) for length in counts
    ]
    # Loops that run in C: these sums are most of an estimate's time.
    return [sum(map(mul, map(table.__getitem__, places), counts.values())) for table in tables]


def held_posterior(closings: Sequence[Sequence[int]], digit_nm: int) -> Posterior:
    """The posterior of the size given the held readings (nm) of each closing."""
    levels = [sorted(closing)[len(closing) // 3] for closing in closings]
    reach = REACH_NM + digit_nm
    sizes = range(min(levels) - reach, max(levels) + reach + 1, STEP_NM)
    logs = [0.0] * len(sizes)
    for closing in closings:
        for k, log in enumerate(_settled(level_curve(closing, digit_nm, sizes))):
            logs[k] += log
    return moments(dict(zip(sizes, logs, strict=True)))


def _settled(curve: Sequence[float]) -> list[float]:
    """The curve of D from the curve of M = D + e: a running exponential average from above."""
    top = max(curve)
    decay = math.exp(-STEP_NM / UNSETTLED_NM)
    run = 0.0
    answer = [0.0] * len(curve)
    for k in reversed(range(len(curve))):
        here = math.exp(curve[k] - top)
        run = run * decay + here * (1.0 - decay)
        mixed = (1.0 - UNSETTLED_SHARE) * here + UNSETTLED_SHARE * run
        answer[k] = math.log(mixed + 1e-12)
    return answer
