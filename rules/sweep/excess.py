"""How readings of a crest scatter above the size: tilt, barrel, noise, last digit, bounces.

A tilt θ lifts the reading by g(s) with s = 2a·|θ|. On a plain cylinder g(s) = s. On a barrelled
skirt the contact stays on the anvil's face up to a lift c = a²/Rz, and there g(s) = s²/4c; beyond,
g(s) = s − c. With a tilt that is normal around zero with spread `spread` (of s), noise σ, the
last digit q as a rectangular rounding error (σ' = sqrt(σ² + q²/12)) and a share ε of bounces
anywhere within ± `BOUNCE_NM`, a crest reading y has the density

    p(y | D) = (1 − ε)·∫₀^∞ 2/spread·φ(s/spread)·φ((y − D − g(s))/σ')/σ' ds + ε/(2·BOUNCE_NM).

Tables of log p over y − D are kept, because the same few are asked for again and again.
"""

import math
from collections.abc import Sequence
from functools import lru_cache

STEP_NM = 100  # step of the tables and of the sizes tried
BELOW_NM = 10_000  # a reading lower than this under the size is a bounce
ABOVE_NM = 24_000  # from here on noise and barrel no longer bend the density
FAR_NM = 120_000
BOUNCE_NM = 60_000
BOUNCE_SHARE = 0.02
_ROOT_2PI = math.sqrt(2.0 * math.pi)
_ROOT_2 = math.sqrt(2.0)


@lru_cache(maxsize=256)
def log_density(noise_nm: int, barrel_nm: int, spread_nm: int) -> Sequence[float]:
    """Log of p(y | D) per nm at y − D = −BELOW_NM, … in steps of STEP_NM up to FAR_NM.

    Args:
        noise_nm: σ', noise and last digit together.
        barrel_nm: lift c up to which the contact stays on the face; 0 is a plain cylinder.
        spread_nm: spread of s.
    """
    floor = BOUNCE_SHARE / (2 * BOUNCE_NM)
    table = []
    for step in range(-BELOW_NM // STEP_NM, FAR_NM // STEP_NM + 1):
        z = float(step * STEP_NM)
        if z > ABOVE_NM:
            clean = 2.0 / spread_nm * _normal((z + barrel_nm) / spread_nm)
        else:
            clean = _on_face(z, noise_nm, barrel_nm, spread_nm)
            clean += _on_edge(z + barrel_nm, 2.0 * barrel_nm, noise_nm, spread_nm)
        table.append(math.log((1.0 - BOUNCE_SHARE) * clean + floor))
    return tuple(table)


def _normal(x: float) -> float:
    return math.exp(-0.5 * x * x) / _ROOT_2PI


def _on_edge(z: float, from_s: float, noise: float, spread: float) -> float:
    """∫ over s > from_s of the half-normal tilt times the noise: closed, a product of normals."""
    total = math.hypot(noise, spread)
    mean = z * spread * spread / (total * total)
    sigma = noise * spread / total
    share = 0.5 * math.erfc((from_s - mean) / (sigma * _ROOT_2))
    return 2.0 * _normal(z / total) / total * share


def _on_face(z: float, noise: float, barrel: float, spread: float) -> float:
    """∫ over 0 < s < 2·barrel, where the lift is s²/4c: midpoints finer than the noise."""
    if barrel == 0 or z > barrel + 5.0 * noise or z < -5.0 * noise:
        return 0.0
    low = 2.0 * math.sqrt(barrel * max(z - 5.0 * noise, 0.0))
    high = 2.0 * math.sqrt(barrel * min(z + 5.0 * noise, barrel))
    steps = max(4, math.ceil((high - low) / noise * 1.5))
    width = (high - low) / steps
    total = 0.0
    for k in range(steps):
        s = low + (k + 0.5) * width
        total += math.exp(-0.5 * ((s / spread) ** 2 + ((z - s * s / (4.0 * barrel)) / noise) ** 2))
    return total * width * 2.0 / (spread * noise * 2.0 * math.pi)
