"""Screw sizes, estimator `last-plateau`: where the spindle stood at the end of each closing.

The thimble drives the spindle down onto the rocking part, and it goes on only to smaller widths:
a closing is a staircase that only goes down, each stair a moment in which the part stood more
upright than before. The last stair is the size D, or a little above it where the rocking never
passed the upright. So the readings of a closing are a hidden chain:

    coming   down to the first stair, a reading anywhere within `HELD_BAND_NM` above
    on L     a reading y has the density C(y - L); then the spindle stays, or goes down by an
             exponential step (`STEPS_NM`, `STAIRS` in a closing), or the thimble opens
    opened   after the last stair M: a reading anywhere within `HELD_BAND_NM` above

    C(x) = (1 - ε)·[Φ((x + q/2)/S) - Φ((x - q/2)/S)]/q + ε/(2·60 µm)

with noise S, last digit q and a share ε of bounces. The forward recursion gives the density of each
closing's readings by its M_j. Where neighbouring readings of a last stair repeat one another (a
display that averages), each counts for less: C^κ, κ = 1/`rules.sweep.floor.correlation_time`.
Closings join through M_j = D + e_j, where e_j is 0 or exponential, a little in some closings and
more in a few (`UNSETTLED`, less often for some hands: `SETTLING`). The noise is the gauge's, one
for all closings, and summed out at the end. The size is the mean of D's posterior density under a
flat prior.

Noise averages out over the readings of the last stairs. Last digit: the rounding is in the density,
so readings that stand on one digit leave the size open by that digit, however many they are and
however often the thimble was closed. Bounces: a share of readings may lie anywhere; the level is
where readings stay.
"""

import math
from collections.abc import Iterator, Sequence
from functools import lru_cache
from statistics import median

import numpy as np

from barrelfit.rules.sweep.excess import Floats, Whole
from barrelfit.rules.sweep.floor import correlation_time
from barrelfit.rules.sweep.held import HELD_BAND_NM, HELD_MIN, lowest_agreed_nm
from barrelfit.rules.sweep.posterior import Posterior, moments

NEAR_DIGITS = 2  # about the level, for how long readings repeat one another
NOISES_NM = {  # S: prior share; most gauges that stand still show no noise at all
    40: 0.3,
    **dict.fromkeys((100, 200, 350, 550, 850, 1_200, 1_700, 2_400, 3_400), 0.7 / 9),
}
STEPS_NM = (600.0, 4_000.0)  # how far the spindle goes down at once, alike likely
# Of n readings of a rocking part the last is the lowest once in n; many hands settle at once.
STAIRS = (1.0, 0.03)
UNSETTLED = {300.0: 0.35, 2_000.0: 0.25}  # nm: share of closings that came to rest so far above
SETTLING = (0.1, 1.0)  # hands that rock well, and the usual: parts of those shares, alike likely
REPEATS_MOST = 4.0  # readings that say the same: what a display averages
BOUNCE_SHARE = 0.02
BOUNCE_NM = 60_000
STEP_NM = 100
REACH_NM = 6_000  # sizes are tried this far to both sides of the closings' levels
MOVES_MOST = 0.3  # share of readings after which the spindle moves
_NOTHING = 1e-300
_HALF_NM = STEP_NM // 2  # step of the tables
_BOUNCED = BOUNCE_SHARE / (2 * BOUNCE_NM)
_ROOT_2 = math.sqrt(2.0)


@lru_cache(maxsize=8)
def level_tables(digit_nm: int) -> Floats:
    """Density C per nm, by noise and by y - L in steps of half STEP_NM, ±BOUNCE_NM."""
    steps = range(-BOUNCE_NM, BOUNCE_NM + 1, _HALF_NM)
    floor, half = _BOUNCED, digit_nm / 2
    tables = []
    for noise_nm in NOISES_NM:
        width = noise_nm * _ROOT_2
        shares = [math.erf((x + half) / width) - math.erf((x - half) / width) for x in steps]
        tables.append((1.0 - BOUNCE_SHARE) * np.array(shares) / 2.0 / digit_nm + floor)
    return np.array(tables)


def level_curves(
    closings: Sequence[Sequence[int]], digit_nm: int, sizes: Whole, power: float
) -> Floats:
    """Log density (not normalised) of each closing's last stair: by closing, noise and size.

    Args:
        closings: the held readings of each, in nm.
        digit_nm: the last digit.
        sizes: the sizes that are tried, in steps of STEP_NM.
        power: what one reading counts for, where neighbours repeat one another.
    """
    readings = tuple(tuple(closing) for closing in closings)
    return _level_curves(readings, digit_nm, int(sizes[0]), len(sizes), power)


@lru_cache(maxsize=2)  # the last stairs and the size are mostly told from the same curves
def _level_curves(
    closings: tuple[tuple[int, ...], ...], digit_nm: int, least_nm: int, places: int, power: float
) -> Floats:
    """The same; all closings go through both ways of going down side by side, the longest first."""
    order = sorted(range(len(closings)), key=lambda n: -len(closings[n]))
    counts = np.array([len(closings[n]) for n in order])
    opens = np.minimum(1.0 / counts, MOVES_MOST)[:, None, None]
    stairs = np.array(STAIRS)[:, None, None, None]
    seen = _Seen(digit_nm, least_nm, places, power)
    down = [_Down(scale, places) for scale in STEPS_NM]
    shape = len(STAIRS), len(closings), len(NOISES_NM), places
    stands, opened = np.full(shape, 1.0 / places), np.zeros(shape)
    coming, logs = np.ones((*shape[:3], 1)), np.zeros((*shape[:3], 1))
    for turn in range(counts[0]):
        k = int((counts > turn).sum())
        lengths = [closings[n][turn] for n in order[:k]]
        stood, going, opening = stands[:, :k], stairs / (turn + 2.0), opens[:k]
        after = opening * stood
        after += opened[:, :k]
        after *= seen.above(lengths)
        below = down[0].of(stood)
        for kernel in down[1:]:
            below += kernel.of(stood)
        below /= len(down)
        below += coming[:, :k] / places
        below *= going
        stood *= 1.0 - going - opening
        stood += below
        for n, core in enumerate(seen.cores(lengths)):
            stood[:, n] *= core
        scale = (stood + after).sum(axis=-1, keepdims=True)
        coming[:, :k] *= (1.0 - going) / HELD_BAND_NM / scale
        stood /= scale
        np.divide(after, scale, out=opened[:, :k])
        logs[:, :k] += np.log(scale)
    curves: Floats = np.logaddexp(*(np.log(stands + opened + _NOTHING) + logs))[np.argsort(order)]
    curves.flags.writeable = False
    return curves


class _Seen:
    """The densities of a reading on a stair and after it, by size."""

    def __init__(self, digit_nm: int, least_nm: int, places: int, power: float) -> None:
        self._digit_nm = digit_nm
        self._sizes = least_nm + STEP_NM * np.arange(places, dtype=np.int64)
        self._middle = BOUNCE_NM + _HALF_NM // 2 - least_nm
        # A size further, the table is two half steps back: even and odd ones, each from the end.
        tables = np.pad(level_tables(digit_nm) ** power, ((0, 0), (2 * places, 2 * places)), "edge")
        self._tables = [np.ascontiguousarray(tables[:, odd::2][:, ::-1]) for odd in (0, 1)]
        self._last = tables.shape[1] - 1
        self._places = places

    def cores(self, lengths: Sequence[int]) -> Iterator[Floats]:
        """The density on a stair of each length, by noise and by size."""
        most = self._last - 2 * self._places
        for length in lengths:
            place = (length + self._middle) // _HALF_NM
            place = min(max(place, 0), most) + 2 * self._places
            half, odd = divmod(self._last - place, 2)
            yield self._tables[(self._last - odd) % 2][:, half : half + self._places]

    def above(self, lengths: Sequence[int]) -> Floats:
        """The density after the last stair: anywhere above it, or a bounce."""
        off_nm = np.array(lengths, dtype=np.int64)[:, None] - self._sizes
        above: Floats = (off_nm >= -self._digit_nm) / HELD_BAND_NM + _BOUNCED
        return above[:, None, :]


class _Down:
    """Steps down that are exponential: from each level to all below it."""

    def __init__(self, scale_nm: float, places: int) -> None:
        self._rising = np.exp(np.arange(places) * (STEP_NM / scale_nm))
        self._share = STEP_NM / scale_nm

    def of(self, stands: Floats) -> Floats:
        """Where those that stood are after a step (a running sum from above, level by level)."""
        run: Floats = stands / self._rising
        np.cumsum(run[..., ::-1], axis=-1, out=run[..., ::-1])
        run *= self._rising
        run -= stands
        np.maximum(run, 0.0, out=run)
        run *= self._share
        return run


def last_stairs(closings: Sequence[Sequence[int]], digit_nm: int) -> list[list[int]]:
    """The readings (nm) of each closing's last stair, as far as they are told from the others."""
    sizes = _sizes_of(closings, digit_nm)
    curves = level_curves(closings, digit_nm, sizes, 1.0)
    noise = int(curves.max(axis=2).sum(axis=0).argmax())
    near_nm = max(list(NOISES_NM)[noise], digit_nm // 2)
    together = int(sizes[curves[:, noise].sum(axis=0).argmax()])
    levels = [int(sizes[curve[noise].argmax()]) for curve in curves]
    return [
        _stair_at(closing, together if abs(own - together) <= 2 * near_nm else own, near_nm)
        for closing, own in zip(closings, levels, strict=True)
    ]


def _stair_at(closing: Sequence[int], level_nm: int, near_nm: int) -> list[int]:
    """The last readings about a level, without those of the opening: threes agree with it."""
    at = [n for n, length in enumerate(closing) if length <= level_nm + 2 * near_nm]
    end = at[-1] + 1 if at else len(closing)
    first = max(end - HELD_MIN, 0)
    while first > 0:
        three = sorted(closing[first - 1 : first - 1 + HELD_MIN])
        if three[len(three) // 2] > level_nm + near_nm:
            break
        first -= 1
    return list(closing[first:end])


def _sizes_of(closings: Sequence[Sequence[int]], digit_nm: int) -> Whole:
    """The sizes that are tried: about where the closings came to rest."""
    lows = [lowest_agreed_nm(closing) for closing in closings]
    reach = REACH_NM + digit_nm
    return np.arange(min(lows) - reach, max(lows) + reach + 1, STEP_NM, dtype=np.int64)


def held_posterior(
    closings: Sequence[Sequence[int]], digit_nm: int, stairs: Sequence[Sequence[int]]
) -> Posterior:
    """The posterior of the size given the held readings (nm) of each closing, and last stairs."""
    sizes = _sizes_of(closings, digit_nm)
    around = [[length - round(median(stair)) for length in stair] for stair in stairs]
    power = 1.0 / min(correlation_time(around, NEAR_DIGITS * digit_nm), REPEATS_MOST)
    curves = level_curves(closings, digit_nm, sizes, power)
    ways = [way.sum(axis=0) for way in _settled(curves)]
    shares = np.log(list(NOISES_NM.values()))
    logs = np.logaddexp.reduce([way + shares[:, None] for way in ways], axis=(0, 1))
    return moments(dict(zip(sizes.tolist(), logs.tolist(), strict=True)))


def _settled(curves: Floats) -> list[Floats]:
    """The curves of D from those of M = D + e, by `SETTLING`: running averages from above."""
    top = curves.max(axis=-1, keepdims=True)
    here = np.exp(curves - top)
    ways = [(1.0 - part * sum(UNSETTLED.values())) * here for part in SETTLING]
    for scale_nm, share in UNSETTLED.items():
        decay = math.exp(-STEP_NM / scale_nm)
        coming = np.ascontiguousarray(np.moveaxis(here * (1.0 - decay), -1, 0))
        for place in range(len(coming) - 2, -1, -1):
            coming[place] += coming[place + 1] * decay
        risen = np.moveaxis(coming, 0, -1)
        for n, part in enumerate(SETTLING):
            ways[n] += part * share * risen
    return [np.log(way + 1e-12) + top for way in ways]
