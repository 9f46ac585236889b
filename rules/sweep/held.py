"""Screw sizes, estimator `held-level`: the smallest level at which closings came to rest.

The thimble drives the screw down onto the rocking part; it goes on only to smaller widths, so it
comes to rest at the size D, or a little above it where the rocking never passed the upright.
Within closing j a reading y comes from the level M_j or from above it (still coming down,
riding up, opening):

    p(y | M) = (1 - w - ε)·[Φ((y + q/2 - M)/S) - Φ((y - q/2 - M)/S)]/q + w·T(y - M) + ε/(2·60 µm)

with noise S, last digit q, a share w of one-sided excess (T: half-normals of `TAILS_NM`, rounded to
the digit: a thimble goes the last micrometres slowly) and a share ε of bounces. Where neighbouring
readings repeat one another, each counts for less (`rules.sweep.floor.correlation_time`). w is
summed out closing by closing. Closings join through M_j = D + e_j, where e_j is 0 or exponential, a
little in some closings and more in a few (`UNSETTLED`, less often for some hands: `SETTLING`). The
noise is the gauge's, one for all closings, and summed out at the end. The size is the mean of D's
posterior density under a flat prior.

Noise averages out over the readings held. Last digit: the rounding is in the density, so readings
that stand on one digit leave the size open by that digit, however many they are and however often
the thimble was closed. Bounces: a share of readings may lie anywhere; the level is where readings
stay.
"""

import math
from collections.abc import Sequence
from functools import lru_cache

import numpy as np

from barrelfit.rules.sweep.excess import Floats, Whole
from barrelfit.rules.sweep.finder import Sample
from barrelfit.rules.sweep.floor import correlation_time
from barrelfit.rules.sweep.posterior import Posterior, moments

NEAR_DIGITS = 2  # about the level, for how long readings repeat one another
NOISES_NM = {  # S: prior share; most gauges that stand still show no noise at all
    40: 0.3,
    **dict.fromkeys((100, 200, 350, 550, 850, 1_200, 1_700, 2_400, 3_400), 0.7 / 9),
}
EXCESS_SHARES = {0.01: 0.45, 0.1: 0.35, 0.4: 0.15, 0.8: 0.05}  # w: share of closings
TAILS_NM = (2_000.0, 15_000.0)
UNSETTLED = {300.0: 0.35, 2_000.0: 0.25}  # nm: share of closings that came to rest so far above
SETTLING = (0.1, 1.0)  # hands that rock well, and the usual: parts of those shares, alike likely
BOUNCE_SHARE = 0.02
BOUNCE_NM = 60_000
HELD_BAND_NM = 40_000  # readings this far above the level are still on their way
HELD_MIN = 3  # readings near the level that make a closing
HELD_NEAR_NM = 5_000  # and a digit
HELD_MIN_NS = 150_000_000
RIDING_NM = 4_000
RIDING_SHARE = 0.25
STEP_NM = 100
REACH_NM = 6_000  # sizes are tried this far to both sides of the closings' levels
_ROOT_2 = math.sqrt(2.0)


def held_readings(closing: Sequence[Sample], digit_nm: int) -> list[Sample]:
    """The readings of a closing from its coming to rest to its opening; empty if not held."""
    if len(closing) < HELD_MIN:
        return []
    low = rest_nm(closing)
    near = [i for i, (_, length) in enumerate(closing) if length <= low + HELD_NEAR_NM + digit_nm]
    first, last = near[0], near[-1]
    if len(near) < HELD_MIN or closing[last][0] - closing[first][0] < HELD_MIN_NS:
        return []
    return [s for s in closing[first : last + 1] if s[1] <= low + HELD_BAND_NM]


def rest_nm(closing: Sequence[Sample]) -> int:
    """The lowest level that three neighbouring readings agree on: two bounces in a row happen."""
    lengths = [length for _, length in closing]
    windows = range(max(len(lengths) - HELD_MIN + 1, 1))
    return min(max(lengths[i : i + HELD_MIN]) for i in windows)


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


@lru_cache(maxsize=8)
def level_tables(digit_nm: int) -> Floats:
    """Log of p(y | M) per nm: by noise, by share of excess, and by y - M.

    y - M goes from −BOUNCE_NM to BOUNCE_NM in steps of half STEP_NM.
    """
    steps = range(-BOUNCE_NM, BOUNCE_NM + 1, STEP_NM // 2)
    floor = BOUNCE_SHARE / (2 * BOUNCE_NM)
    tails = [_shares_of_digit(steps, digit_nm, spread, least=0.0) for spread in TAILS_NM]
    tail = np.mean(tails, axis=0)
    tables = []
    for noise_nm in NOISES_NM:
        core = (1.0 - BOUNCE_SHARE) * _shares_of_digit(steps, digit_nm, noise_nm) / 2.0
        tables.append([np.log((1.0 - w) * core + w * tail + floor) for w in EXCESS_SHARES])
    return np.array(tables)


def _shares_of_digit(
    steps: Sequence[int], digit_nm: int, spread_nm: float, least: float = -math.inf
) -> Floats:
    """What share of erf(x/(√2·spread)), from `least` on, falls into each step's digit, per nm."""
    half, width = digit_nm / 2, spread_nm * _ROOT_2
    ends = ((max(x - half, least) / width, max(x + half, least) / width) for x in steps)
    return np.array([math.erf(upper) - math.erf(lower) for lower, upper in ends]) / digit_nm


def level_curves(lengths_nm: Sequence[int], digit_nm: int, sizes: Whole, power: float) -> Floats:
    """Log density (per closing, not normalised) of the level, by noise and by each of `sizes`.

    `power` is what one reading counts for, where neighbours repeat one another.
    """
    lengths, times = np.unique(np.array(lengths_nm, dtype=np.int64), return_counts=True)
    half = STEP_NM // 2
    places = (lengths[None, :] - sizes[:, None] + BOUNCE_NM + half // 2) // half
    places = np.clip(places, 0, 2 * BOUNCE_NM // half)
    logs = np.einsum("nwsl,l->nws", level_tables(digit_nm)[:, :, places], times.astype(np.float64))
    shares = np.log(list(EXCESS_SHARES.values()))
    curves: Floats = np.logaddexp.reduce(power * logs + shares[None, :, None], axis=1)
    return curves


def held_posterior(closings: Sequence[Sequence[int]], digit_nm: int) -> Posterior:
    """The posterior of the size given the held readings (nm) of each closing."""
    levels = [sorted(closing)[len(closing) // 3] for closing in closings]
    reach = REACH_NM + digit_nm
    sizes = np.arange(min(levels) - reach, max(levels) + reach + 1, STEP_NM, dtype=np.int64)
    power = 1.0 / correlation_time(closings, NEAR_DIGITS * digit_nm)
    curves = [level_curves(closing, digit_nm, sizes, power) for closing in closings]
    ways = [sum(_settled(curve, part) for curve in curves) for part in SETTLING]
    shares = np.log(list(NOISES_NM.values()))
    logs = np.logaddexp.reduce([way + shares[:, None] for way in ways], axis=(0, 1))
    return moments(dict(zip(sizes.tolist(), logs.tolist(), strict=True)))


def _settled(curves: Floats, part: float) -> Floats:
    """The curves of D from those of M = D + e: running exponential averages from above.

    `part` is what `UNSETTLED`'s shares are multiplied by.
    """
    top = curves.max(axis=1, keepdims=True)
    here = np.exp(curves - top)
    settled = (1.0 - part * sum(UNSETTLED.values())) * here
    for scale_nm, share in UNSETTLED.items():
        decay = math.exp(-STEP_NM / scale_nm)
        run = np.zeros(len(here))
        for k in reversed(range(here.shape[1])):
            run = run * decay + here[:, k] * (1.0 - decay)
            settled[:, k] += part * share * run
    logs: Floats = np.log(settled + 1e-12) + top
    return logs
