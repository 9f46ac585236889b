"""Hertz's elliptic contact, solved in full: a reference for the simple power the rules use."""

import math

from scipy.optimize import brentq
from scipy.special import ellipe, ellipk

# Young's modulus in Pa and Poisson's ratio; handbook values, good to about 10 %.
ALUMINIUM, STEEL, CARBIDE, IRON = (72e9, 0.33), (206e9, 0.30), (600e9, 0.22), (110e9, 0.26)


def approach_um(force_n, radii_m, one, other):
    """Approach of two elastic bodies in µm; `radii_m` are the two relative radii of curvature.

    Hertz's solution as in K. L. Johnson, Contact Mechanics (1985), 4.26 and following (from
    memory; checked against the line-contact formula in another place).
    """
    modulus = 1.0 / ((1.0 - one[1] ** 2) / one[0] + (1.0 - other[1] ** 2) / other[0])
    flat, sharp = sorted(0.5 / r for r in radii_m)

    def excess(e):
        k, ee = ellipk(e * e), ellipe(e * e)
        return (ee / (1.0 - e * e) - k) / (k - ee) - sharp / flat

    e = brentq(excess, 1e-6, 1.0 - 1e-12)
    ratio, k, ee = math.sqrt(1.0 - e * e), ellipk(e * e), ellipe(e * e)
    shape = math.sqrt((ee / ratio**2 - k) * (k - ee))
    a = (1.5 * force_n / (math.pi * modulus) * shape / e**2 / math.sqrt(flat * sharp)) ** (1 / 3)
    pressure = 1.5 * force_n / (math.pi * a * a * ratio)
    return pressure / modulus * a * ratio * k * 1e6


def skirt_um(force_n, barrel_radius_m):
    """Both faces of a steel gauge on a barrelled aluminium skirt of 80 mm, in µm."""
    return 2.0 * approach_um(force_n, (0.040, barrel_radius_m), ALUMINIUM, STEEL)


def bore_residue_um(force_n, wall):
    """What two carbide balls of 3 mm radius sink deeper into a bore of 84 mm than into steel."""
    radii = (0.003, 1.0 / (1.0 / 0.003 - 1.0 / 0.042))
    deeper = approach_um(force_n, radii, CARBIDE, wall)
    return 2.0 * (deeper - approach_um(force_n, radii, CARBIDE, STEEL))
