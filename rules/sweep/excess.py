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

Tables of log p over y - D are kept, because the same few are asked for again and again: near the
size in steps of `STEP_NM`, further up, where noise and barrel no longer bend the density, wider.
"""

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt

STEP_NM = 100  # step of the tables near the size, and of the sizes tried
BELOW_NM = 16_000  # a reading lower than this under the size is a bounce
ABOVE_NM = 20_000
FAR_STEP_NM = 1_000
FAR_NM = 120_000
BOUNCE_NM = 60_000
TABLES_MAX = 4_096  # kept of each kind, a few kB each
BOUNCE_SHARE = 0.02
_FLOOR = BOUNCE_SHARE / (2 * BOUNCE_NM)
_WIDE = 5.0  # noises: further out a normal density is nothing
_ROOT_2PI = math.sqrt(2.0 * math.pi)
_ROOT_2 = math.sqrt(2.0)
_ALL_BELOW, _NONE_BELOW = -6.0, 27.3  # erfc is 2 under the one, and 0 over the other
# Of a normal tilt's speeds, without their sign: the middles of four that are as many each.
_SPEEDS = (0.158, 0.491, 0.895, 1.647)
_BARREL_STEP_NM = 100  # barrels of averaging displays, so that tables recur
_GAUSS = 1.0 / math.sqrt(12.0)  # of a step, to either side of its middle

Floats = npt.NDArray[np.float64]
Whole = npt.NDArray[np.int64]

_NEAR = (ABOVE_NM + BELOW_NM) // STEP_NM + 1  # places of a table in near steps
_LIFTS: Floats = np.concatenate(
    [
        np.arange(-BELOW_NM, ABOVE_NM + 1, STEP_NM, dtype=np.float64),
        np.arange(ABOVE_NM, FAR_NM + 1, FAR_STEP_NM, dtype=np.float64),
    ]
)
PLACES = len(_LIFTS)


@dataclass(frozen=True, slots=True)
class Scatter:
    """One way of scattering, all in nm: noise S, barrel's lift c (0: cylinder), spread T.

    `travel_nm` is how far the tilt goes while a display averages: the spread of v·w.
    """

    noise_nm: int
    barrel_nm: int
    spread_nm: int
    travel_nm: int = 0


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


@lru_cache(maxsize=TABLES_MAX)
def log_densities(scatter: Scatter, digit_nm: int) -> Floats:
    """Log of p(y | D) per nm, by the place of y - D."""
    below = _below(scatter)
    half = digit_nm / 2
    upper, lower = (np.interp(_LIFTS + side, _LIFTS, below) for side in (half, -half))
    logs: Floats = np.log((1.0 - BOUNCE_SHARE) * (upper - lower) / digit_nm + _FLOOR)
    return logs


@lru_cache(maxsize=TABLES_MAX)
def log_shares(scatter: Scatter) -> Floats:
    """Log of the share of x (bounces too) that lie below a length, by its place over D."""
    bounces = np.clip((_LIFTS + BOUNCE_NM) / (2 * BOUNCE_NM), 0.0, 1.0)
    logs: Floats = np.log((1.0 - BOUNCE_SHARE) * _below(scatter) + BOUNCE_SHARE * bounces)
    return logs


@lru_cache(maxsize=TABLES_MAX)
def _below(scatter: Scatter) -> Floats:
    """The share of f that lies below x, by the place of x - D."""
    if scatter.travel_nm:
        return _below_averaged(scatter)
    steps = np.diff(_LIFTS)
    middles = _LIFTS[:-1] + steps / 2
    # Gauss's two points a step: a trapezoid is too high where the density bends upwards.
    sides = (middles - steps * _GAUSS, middles + steps * _GAUSS)
    sums = [_on_face(scatter, side) + _on_edge(scatter, side) for side in sides]
    return np.concatenate([[0.0], np.cumsum((sums[0] + sums[1]) / 2 * steps)])


def _below_averaged(scatter: Scatter) -> Floats:
    """The same of a display that averages: the mean over the tilt's speeds."""
    shares = []
    for speed in _SPEEDS:
        excess = excess_nm(scatter.barrel_nm, speed * scatter.travel_nm)
        step = round((scatter.barrel_nm + excess) / _BARREL_STEP_NM) * _BARREL_STEP_NM
        plain = _below(Scatter(scatter.noise_nm, step, scatter.spread_nm))
        shares.append(np.interp(_LIFTS - excess, _LIFTS, plain))
    total: Floats = np.sum(shares, axis=0) / len(_SPEEDS)
    return total


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
    off = (edge - means) / width
    shares = np.where(off < 0.0, 1.0, 0.0)
    near = (off > _ALL_BELOW) & (off < _NONE_BELOW)
    shares[near] = 0.5 * np.array(list(map(math.erfc, off[near].tolist())))
    return 2.0 * np.exp(-0.5 * (tilts / total) ** 2) / _ROOT_2PI / total * shares


def _on_face(scatter: Scatter, lifts: Floats) -> Floats:
    """The part of f from 0 < s < 2c, where the lift is s²/4c: midpoints finer than the noise."""
    noise, barrel, spread = scatter.noise_nm, scatter.barrel_nm, scatter.spread_nm
    if barrel == 0:
        return np.zeros(len(lifts))
    found = np.zeros(len(lifts))
    near = (lifts > -_WIDE * noise) & (lifts < barrel + _WIDE * noise)
    lifts = lifts[near]
    low = np.clip(lifts - _WIDE * noise, 0.0, barrel)
    high = np.clip(lifts + _WIDE * noise, 0.0, barrel)
    low, high = 2.0 * np.sqrt(barrel * low), 2.0 * np.sqrt(barrel * high)
    steps = max(4, math.ceil(float(np.max(high - low)) / noise))
    widths = (high - low) / steps
    tilts = low[:, None] + (np.arange(steps) + 0.5) * widths[:, None]
    off = (lifts[:, None] - tilts * tilts / (4.0 * barrel)) / noise
    total = np.exp(-0.5 * ((tilts / spread) ** 2 + off * off)).sum(axis=1)
    found[near] = total * widths / (spread * noise * math.pi)
    return found
