"""How readings of a crest scatter above the size: tilt, barrel, noise, last digit, bounces.

A tilt θ lifts the reading by g(s) with s = 2a·|θ|. On a plain cylinder g(s) = s. On a barrelled
skirt the contact stays on the anvil's face up to a lift c = a²/Rz, and there g(s) = s²/4c; beyond,
g(s) = s - c. With a tilt that is normal around zero with spread T (of s), noise S, the last
digit q as a rectangular rounding error (S' = sqrt(S² + q²/12)) and a share e of bounces
anywhere within ± `BOUNCE_NM`, a crest reading y of a part of size D has the density

    p(y | D) = (1 - e)·∫ 2/T·φ(s/T)·φ((y - D - g(s))/S')/S' ds + e/(2·BOUNCE_NM),  s from 0.

Tables of log p over y - D are kept, because the same few are asked for again and again.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

STEP_NM = 100  # step of the near table and of the sizes tried
BELOW_NM = 8_000  # a reading lower than this under the size is a bounce
ABOVE_NM = 20_000  # from here on noise and barrel no longer bend the density
FAR_STEP_NM = 1_000
FAR_NM = 120_000
BOUNCE_NM = 60_000
TABLES_MAX = 2_048  # kept of each kind, a few kB each
BOUNCE_SHARE = 0.02
_FLOOR = BOUNCE_SHARE / (2 * BOUNCE_NM)
_WIDE = 5.0  # noises: further out a normal density is nothing
_ROOT_2PI = math.sqrt(2.0 * math.pi)
_ROOT_2 = math.sqrt(2.0)


@dataclass(frozen=True, slots=True)
class Scatter:
    """One way of scattering, all in nm: noise S', barrel's lift c (0: cylinder), spread T."""

    noise_nm: int
    barrel_nm: int
    spread_nm: int


@lru_cache(maxsize=TABLES_MAX)
def near_table(scatter: Scatter) -> Sequence[float]:
    """Log of p(y | D) per nm at y - D = -BELOW_NM … ABOVE_NM in steps of STEP_NM."""
    noise, barrel, spread = scatter.noise_nm, scatter.barrel_nm, scatter.spread_nm
    table = []
    for z in range(-BELOW_NM, ABOVE_NM + 1, STEP_NM):
        clean = 0.0
        if z > -_WIDE * noise:
            clean = _on_face(z, scatter) + _on_edge(z + barrel, 2.0 * barrel, noise, spread)
        table.append(math.log((1.0 - BOUNCE_SHARE) * clean + _FLOOR))
    return tuple(table)


@lru_cache(maxsize=TABLES_MAX)
def far_table(scatter: Scatter) -> Sequence[float]:
    """Log of p(y | D) per nm at y - D = ABOVE_NM … FAR_NM in steps of FAR_STEP_NM."""
    spread = scatter.spread_nm
    table = []
    for z in range(ABOVE_NM, FAR_NM + 1, FAR_STEP_NM):
        clean = 2.0 / spread * _normal((z + scatter.barrel_nm) / spread)
        table.append(math.log((1.0 - BOUNCE_SHARE) * clean + _FLOOR))
    return tuple(table)


@lru_cache(maxsize=TABLES_MAX)
def share_below(scatter: Scatter) -> tuple[Sequence[float], Sequence[float]]:
    """Log of the share of readings below y - D, at the steps of the near and of the far table."""
    run, near, far = 0.0, [], []
    for log in near_table(scatter):
        run += STEP_NM * math.exp(log)
        near.append(math.log(run))
    for log in far_table(scatter):
        far.append(math.log(run))
        run += FAR_STEP_NM * math.exp(log)
    return tuple(near), tuple(far)


def lift_to_tilt(lift_nm: float, barrel_nm: float) -> float:
    """The tilt s (nm at the anvil's edge) that lifts a reading by `lift_nm`: g turned round."""
    if lift_nm > barrel_nm:
        return lift_nm + barrel_nm
    return 2.0 * math.sqrt(barrel_nm * max(lift_nm, 0.0))


def _normal(x: float) -> float:
    return math.exp(-0.5 * x * x) / _ROOT_2PI


def _on_edge(z: float, from_s: float, noise: float, spread: float) -> float:
    """∫ over s > from_s of the half-normal tilt times the noise: a product of normals, closed."""
    total = math.hypot(noise, spread)
    mean = z * spread * spread / (total * total)
    sigma = noise * spread / total
    share = 0.5 * math.erfc((from_s - mean) / (sigma * _ROOT_2))
    return 2.0 * _normal(z / total) / total * share


def _on_face(z: float, scatter: Scatter) -> float:
    """∫ over 0 < s < 2c, where the lift is s²/4c: midpoints finer than the noise."""
    noise, barrel, spread = scatter.noise_nm, scatter.barrel_nm, scatter.spread_nm
    if barrel == 0 or z > barrel + _WIDE * noise:
        return 0.0
    low = 2.0 * math.sqrt(barrel * max(z - _WIDE * noise, 0.0))
    high = 2.0 * math.sqrt(barrel * min(max(z + _WIDE * noise, 0.0), barrel))
    steps = max(4, math.ceil((high - low) / noise))
    width = (high - low) / steps
    total = 0.0
    for k in range(steps):
        s = low + (k + 0.5) * width
        lift = s * s / (4.0 * barrel)
        total += math.exp(-0.5 * ((s / spread) ** 2 + ((z - lift) / noise) ** 2))
    return total * width / (spread * noise * math.pi)
