"""Decision rules against JCGM 106, ILAC-G8 and ISO 14253-1.

JCGM 106's own text could not be read; its examples' inputs are from memory, confirmed for 7.4 by a
metrology page that reworks it, and every result is recomputed to the printed figure.
"""

import pytest

from barrelfit.rules.uncertainty.decide import GUARD_FACTOR, Zone, decide, guard_band_nm, p_conform
from barrelfit.rules.uncertainty.student import normal_quantile, normal_tail

# Any unit will do in place of nm: values are scaled to whole numbers.


def test_jcgm_106_example_7_4_two_sided():
    """Motor-oil viscosity 13.6 mm2/s, u 1.8, limits 12.5 and 16.3: p_c printed 0.66."""
    p = p_conform(13_600, 1_800.0, 12_500, 16_300)
    assert round(p, 2) == 0.66
    assert p == pytest.approx(0.662630, abs=1e-6)


def test_jcgm_106_example_7_2_upper():
    """Breakdown voltage -5.47 V, u 0.05 V, upper -5.40 V: p_c printed 0.92 (from memory)."""
    assert p_conform(-5_470, 50.0, None, -5_400) == pytest.approx(0.919243, abs=1e-6)


def test_jcgm_106_example_7_2_lower():
    """Burst pressure 509.7 kPa, u 8.6 kPa, lower 490 kPa: p_c printed 0.99 (from memory)."""
    assert p_conform(509_700, 8_600.0, 490_000, None) == pytest.approx(0.989010, abs=1e-6)


def test_jcgm_106_example_8_3_guarded_rejection():
    """Speed law: limit 100 km/h, u/v 0.02, 99.9 %: rejected from 107 km/h (from memory)."""
    least = 100.0 / (1.0 - 0.02 * normal_quantile(0.999))
    assert least == pytest.approx(106.6, abs=0.05)
    zones = {
        v: decide(v * 1_000, 0.02 * v * 1_000, None, 100_000, normal_quantile(0.999)).zone
        for v in (100, 106, 107)
    }
    assert zones == {100: Zone.UNDECIDED, 106: Zone.UNDECIDED, 107: Zone.OUTSIDE}


@pytest.mark.parametrize(
    ("p", "z"), [(0.80, 0.84), (0.90, 1.28), (0.95, 1.64), (0.99, 2.33), (0.999, 3.09)]
)
def test_jcgm_106_table_1(p, z):
    """One-sided z for a conformance probability (from memory)."""
    assert normal_quantile(p) == pytest.approx(z, abs=0.0051)


def test_jcgm_106_8_3_2_guard_band_of_u_95():
    """Guard band w = U = 2u: at most 2.3 % of what is accepted at the edge does not conform."""
    edge = 1_000_000 - guard_band_nm(1_000.0, 2.0)
    assert 1.0 - p_conform(edge, 1_000.0, None, 1_000_000) == pytest.approx(0.02275, abs=1e-5)


@pytest.mark.parametrize(
    ("share_of_expanded", "at_most", "exact"),
    [
        (0.0, 0.50, 0.5),
        (0.83, 0.05, 0.048457),
        (1.0, 0.025, 0.022750),
        (1.5, 0.0016, 0.001350),
        (3.0, 1e-6, 9.87e-10),
    ],
)
def test_ilac_g8_risks(share_of_expanded, at_most, exact):
    """ILAC-G8:09/2019, guard bands w = r·U with U = 2u and their greatest specific risk.

    Read in a training note that quotes the table.
    """
    u_nm = 1e6
    edge = 10**9 - guard_band_nm(u_nm, 2.0 * share_of_expanded)
    risk = 1.0 - p_conform(edge, u_nm, None, 10**9)
    assert risk <= at_most * (1 + 1e-9)
    assert risk == pytest.approx(exact, rel=1e-3)


def test_iso_14253_1_factor():
    """ISO 14253-1:2017: 95 % conformance probability by default, guard band 1.65 u = 0.825 U.

    Read in two documents that cite the standard.
    """
    assert GUARD_FACTOR == 1.65
    assert normal_tail(GUARD_FACTOR) < 0.05 < normal_tail(1.64)
    assert guard_band_nm(1_000.0) == 0.825 * 2_000
    assert decide(0, 1_000.0, None, 1_650).zone is Zone.INSIDE
    assert decide(1, 1_000.0, None, 1_650).zone is Zone.UNDECIDED


def test_the_1998_rule_can_be_set():
    """ISO 14253-1:1998 took the whole U with k = 2 (from memory)."""
    assert guard_band_nm(1_000.0, 2.0) == 2_000
