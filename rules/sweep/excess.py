"""How readings of a crest scatter above the size: tilt, barrel, noise, last digit, bounces.

A tilt θ lifts the reading by g(s) with s = 2a·|θ|. On a plain cylinder g(s) = s. On a barrelled
skirt the contact stays on the anvil's face up to a lift c = a²/Rz, and there g(s) = s²/4c; beyond,
g(s) = s - c. With a tilt that is normal around zero with spread T (of s) and noise S, what a gauge
of endless digits would read has the density

    f(x | D) = ∫ 2/T·φ(s/T)·φ((x - D - g(s))/S)/S ds,  s from 0;

a gauge with the last digit q shows y where x lies within q/2 of it, and a share e of its readings
are bounces, anywhere within ± `BOUNCE_NM`:

    p(y | D) = (1 - e)·∫ f(x | D)/q dx + e/(2·BOUNCE_NM),  x from y - q/2 to y + q/2.

A display that averages over a window w shows the mean of g along a tilt that moves by v·w
meanwhile. About the upright that lifts the reading by

    e(h) = h²/12c for h < 2c, else h/2 - c + 2c²/3h,   h = v·w/2,

and further up by nothing: as a skirt of the barrel c + e does that is larger by e. So f is the mean
of such densities over the speeds v, which are normal like the tilt and have no say in it.

Tables of the share of f below x and of log p over y - D are kept, because the same few are asked
for again and again: near the size in steps of `STEP_NM`, further up, where noise and barrel no
longer bend the density, wider. Those of an averaging display are made each time of kept ones, of
barrels in steps of a fifth, and between two such steps by the share of each.
"""

import math
from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
Whole = npt.NDArray[np.int64]
Flags = npt.NDArray[np.bool_]

STEP_NM = 100  # step of the tables near the size, and of the sizes tried
BELOW_NM = 16_000  # a reading lower than this under the size is a bounce
ABOVE_NM = 20_000
FAR_STEP_NM = 1_000
FAR_NM = 120_000
BOUNCE_NM = 60_000
TABLES_MAX = 8_192  # kept of each kind, a few kB each
FACES_MAX = 128  # kept, some 100 kB each
BOUNCE_SHARE = 0.02
_FLOOR = BOUNCE_SHARE / (2 * BOUNCE_NM)
_WIDE = 5.0  # noises: further out a normal density is nothing
_ROOT_2PI = math.sqrt(2.0 * math.pi)
_ROOT_2 = math.sqrt(2.0)
_TAILS_AT: Floats = np.arange(-6.0, 6.0, 1e-3)  # beyond, erfc is 2 and nothing
_TAILS: Floats = np.array([0.5 * math.erfc(x) for x in _TAILS_AT.tolist()])
# Of a normal tilt's speeds, without their sign: the middles of four that are as many each.
_SPEEDS = (0.158, 0.491, 0.895, 1.647)
# Barrels that averaging displays show: all that 40 µm of tilt make of those that there are.
AVERAGED_BARRELS_NM = (
    *range(0, 500, 100),
    *(round(500 * 1.2**step) for step in range(22)),
)
_GAUSS = 1.0 / math.sqrt(12.0)  # of a step, to either side of its middle

_NEAR = (ABOVE_NM + BELOW_NM) // STEP_NM + 1  # places of a table in near steps
_LIFTS: Floats = np.concatenate(
    [
        np.arange(-BELOW_NM, ABOVE_NM + 1, STEP_NM, dtype=np.float64),
        np.arange(ABOVE_NM, FAR_NM + 1, FAR_STEP_NM, dtype=np.float64),
    ]
)
PLACES = len(_LIFTS)
_STEPS: Floats = np.diff(_LIFTS)
_MIDDLES: Floats = _LIFTS[:-1] + _STEPS / 2


@dataclass(frozen=True, slots=True)
class Scatter:
    """One way of scattering, all in nm: noise S, barrel's lift c (0: cylinder), spread T."""

    noise_nm: int
    barrel_nm: int
    spread_nm: int


def excess_nm(barrel_nm: float, travel_nm: float) -> float:
    """By how much a display shows a tilt too high that goes `travel_nm` through the upright."""
    half = travel_nm / 2
    if half < 2 * barrel_nm:
        return half * half / (12.0 * barrel_nm)
    return half / 2 - barrel_nm + 2.0 * barrel_nm**2 / (3.0 * half) if half else 0.0


def places(above_nm: Whole) -> Whole:
    """Where in a table the lengths y - D (nm) stand; what lies outside stands at its end."""
    near = np.maximum((above_nm + BELOW_NM + STEP_NM // 2) // STEP_NM, 0)
    far = _NEAR + (np.minimum(above_nm, FAR_NM) - ABOVE_NM) // FAR_STEP_NM
    return np.where(above_nm < ABOVE_NM, near, far)


@dataclass(frozen=True, slots=True)
class Tables:
    """By way of scattering (rows) and the place over D.

    `densities` are log p(y | D) per nm, `shares` the log of the share of x (bounces too) below.
    """

    densities: Floats
    shares: Floats

    def of(self, rows: Whole) -> "Tables":
        """Those of some of the ways."""
        return Tables(self.densities[rows], self.shares[rows])


def log_tables(scatters: Sequence[Scatter], digit_nm: int, travel_nm: float = 0.0) -> Tables:
    """What ways of scattering let expect.

    Args:
        scatters: the ways.
        digit_nm: the gauge's last digit.
        travel_nm: how far the tilt goes while a display averages, the spread of v·w; 0 where it
            does not average.
    """
    if travel_nm:
        below = _below_averaged(scatters, travel_nm)
        return Tables(_logs_of_digit(below, digit_nm), _logs_with_bounces(below))
    return Tables(
        np.concatenate([_plain_log_densities(scatter, digit_nm) for scatter in scatters]),
        np.concatenate([_plain_log_shares(scatter) for scatter in scatters]),
    )


def make_tables(scatter: Scatter, digit_nm: int) -> None:
    """Have the tables of a way at hand, ahead of the sizing that will ask for them."""
    _plain_log_densities(scatter, digit_nm)
    _plain_log_shares(scatter)


def make_averaged_tables(noise_nm: int, spreads_nm: Sequence[int]) -> None:
    """The same of what averaging displays show with this noise and these spreads."""
    for barrel in AVERAGED_BARRELS_NM:
        for spread in spreads_nm:
            _below(Scatter(noise_nm, barrel, spread))


@lru_cache(maxsize=TABLES_MAX)
def _plain_log_densities(scatter: Scatter, digit_nm: int) -> Floats:
    return _logs_of_digit(_below(scatter), digit_nm)


@lru_cache(maxsize=TABLES_MAX)
def _plain_log_shares(scatter: Scatter) -> Floats:
    return _logs_with_bounces(_below(scatter))


def _logs_of_digit(below: Floats, digit_nm: int) -> Floats:
    upper, lower = _moved(below, -digit_nm / 2), _moved(below, digit_nm / 2)
    logs: Floats = np.log((1.0 - BOUNCE_SHARE) * (upper - lower) / digit_nm + _FLOOR)
    return logs


def _logs_with_bounces(below: Floats) -> Floats:
    bounces = np.clip((_LIFTS + BOUNCE_NM) / (2 * BOUNCE_NM), 0.0, 1.0)
    logs: Floats = np.log((1.0 - BOUNCE_SHARE) * below + BOUNCE_SHARE * bounces)
    return logs


def _moved(tables: Floats, by_nm: float) -> Floats:
    """Tables of a length that lies `by_nm` higher, read between the places."""
    at = np.clip(_LIFTS - by_nm, _LIFTS[0], _LIFTS[-1])
    left = np.minimum(np.searchsorted(_LIFTS, at, side="right") - 1, PLACES - 2)
    share = (at - _LIFTS[left]) / (_LIFTS[left + 1] - _LIFTS[left])
    found: Floats = tables[:, left]
    found += share * (tables[:, left + 1] - found)
    return found


@lru_cache(maxsize=TABLES_MAX)
def _below(scatter: Scatter) -> Floats:
    """The share of f that lies below x, by the place of x - D: one row."""
    # Gauss's two points a step: a trapezoid is too high where the density bends upwards.
    sides = [_MIDDLES - _STEPS * _GAUSS, _MIDDLES + _STEPS * _GAUSS]
    sums = [_on_face(scatter, n) + _on_edge(scatter, side) for n, side in enumerate(sides)]
    return np.concatenate([[0.0], np.cumsum((sums[0] + sums[1]) / 2 * _STEPS)])[None, :]


def _below_averaged(scatters: Sequence[Scatter], travel_nm: float) -> Floats:
    """The same of a display that averages: the mean over the tilt's speeds, a row each way."""
    total: Floats = np.zeros((len(scatters), PLACES))
    by_barrel: dict[int, list[int]] = {}
    for row, scatter in enumerate(scatters):
        by_barrel.setdefault(scatter.barrel_nm, []).append(row)
    for barrel, rows in by_barrel.items():
        ways = [scatters[row] for row in rows]
        for speed in _SPEEDS:
            excess = excess_nm(barrel, speed * travel_nm)
            total[rows] += _moved(_below_barrelled(ways, barrel + excess), excess)
    return total / len(_SPEEDS)


def _below_barrelled(ways: Sequence[Scatter], barrel_nm: float) -> Floats:
    """The same with another barrel: between the two kept ones beside it, or the largest one's."""
    right = min(bisect_right(AVERAGED_BARRELS_NM, barrel_nm), len(AVERAGED_BARRELS_NM) - 1)
    one, other = AVERAGED_BARRELS_NM[right - 1 : right + 1]
    share = min((barrel_nm - one) / (other - one), 1.0)
    found = np.concatenate([_below(Scatter(w.noise_nm, one, w.spread_nm)) for w in ways])
    more = np.concatenate([_below(Scatter(w.noise_nm, other, w.spread_nm)) for w in ways])
    found += share * (more - found)
    return found


def lift_to_tilt(lift_nm: float, barrel_nm: float) -> float:
    """The tilt s (nm at the anvil's edge) that lifts a reading by `lift_nm`: g turned round."""
    if lift_nm > barrel_nm:
        return lift_nm + barrel_nm
    return 2.0 * math.sqrt(barrel_nm * max(lift_nm, 0.0))


def _on_edge(scatter: Scatter, lifts: Floats) -> Floats:
    """The part of f from s > 2c, where the lift is s - c: a product of normals, closed."""
    noise, spread, edge = scatter.noise_nm, scatter.spread_nm, 2.0 * scatter.barrel_nm
    total = math.hypot(noise, spread)
    tilts = lifts + scatter.barrel_nm
    means = tilts * (spread / total) ** 2
    width = _ROOT_2 * noise * spread / total
    shares = np.interp((edge - means) / width, _TAILS_AT, _TAILS)
    return 2.0 * np.exp(-0.5 * (tilts / total) ** 2) / _ROOT_2PI / total * shares


def _on_face(scatter: Scatter, side: int) -> Floats:
    """The part of f from 0 < s < 2c, where the lift is s²/4c, at the places of one side."""
    found: Floats = np.zeros(PLACES - 1)
    if scatter.barrel_nm:
        near, tilts, shares = _face(scatter.noise_nm, scatter.barrel_nm, side)
        with_tilt = np.exp(-0.5 * (tilts / scatter.spread_nm) ** 2)
        found[near] = (with_tilt * shares).sum(axis=1) / scatter.spread_nm
    return found


@lru_cache(maxsize=FACES_MAX)
def _face(noise: int, barrel: int, side: int) -> tuple[Flags, Floats, Floats]:
    """For which lifts the face tells, from which tilts, and the share of each of these there.

    Whatever the spread is. The tilts are midpoints finer than the noise.
    """
    lifts = _MIDDLES + (-_GAUSS, _GAUSS)[side] * _STEPS
    near = (lifts > -_WIDE * noise) & (lifts < barrel + _WIDE * noise)
    lifts = lifts[near]
    low = np.clip(lifts - _WIDE * noise, 0.0, barrel)
    high = np.clip(lifts + _WIDE * noise, 0.0, barrel)
    low, high = 2.0 * np.sqrt(barrel * low), 2.0 * np.sqrt(barrel * high)
    steps = max(4, math.ceil(float(np.max(high - low)) / noise))
    widths = (high - low) / steps
    tilts = low[:, None] + (np.arange(steps) + 0.5) * widths[:, None]
    off = (lifts[:, None] - tilts * tilts / (4.0 * barrel)) / noise
    shares = np.exp(-0.5 * off * off) * widths[:, None] / (noise * math.pi)
    return near, tilts, shares
