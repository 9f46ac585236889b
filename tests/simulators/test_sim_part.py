"""Parts: identities of the geometry, against brute force and against figures from elsewhere."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from barrelfit.simulators.part import Barrel, Bore, Piston, Skirt, grown, to_nm

FACE_MM = 3.25

tilts = st.floats(-0.01, 0.01)
offsets = st.floats(-20.0, 20.0)
profiles = st.one_of(st.just(math.inf), st.floats(200.0, 20_000.0))


@given(tilts, offsets, profiles)
def test_tilt_only_lengthens(tilt, offset, profile):
    skirt = Skirt(84.0, profile_mm=profile)
    upright = skirt.width_mm(offset, 0.0, 0.0, FACE_MM)
    assert skirt.width_mm(offset, tilt, 0.0, FACE_MM) >= upright - 1e-9


@given(tilts, offsets, profiles)
def test_chord_only_shortens(tilt, offset, profile):
    skirt = Skirt(84.0, profile_mm=profile)
    over_the_crest = skirt.width_mm(0.0, tilt, 0.0, FACE_MM)
    assert skirt.width_mm(offset, tilt, 0.0, FACE_MM) <= over_the_crest + 1e-9


@given(st.floats(-FACE_MM, FACE_MM), tilts, profiles)
def test_inside_the_faces_an_offset_changes_nothing(offset, tilt, profile):
    skirt = Skirt(84.0, profile_mm=profile)
    assert skirt.width_mm(offset, tilt, 0.0, FACE_MM) == skirt.width_mm(0.0, tilt, 0.0, FACE_MM)


@given(tilts, profiles)
def test_a_barrelled_skirt_softens_the_tilt_and_never_sharpens_it(tilt, profile):
    straight = Skirt(84.0).width_mm(0.0, tilt, 0.0, FACE_MM)
    barrelled = Skirt(84.0, profile_mm=profile).width_mm(0.0, tilt, 0.0, FACE_MM)
    assert 84.0 - 1e-9 <= barrelled <= straight + 1e-9


def test_straight_skirt_against_worked_figures():
    # by hand: 84 mm, 0.2 degrees, faces of 3.25 mm: (84 + 6.5*sin t)/cos t
    tilt = math.radians(0.2)
    expected = (84.0 + 6.5 * 0.0034906514) / 0.9999939077
    assert Skirt(84.0).width_mm(0.0, tilt, 0.0, FACE_MM) == pytest.approx(expected, abs=1e-8)
    # by hand: 5 mm beyond a face's edge: 2*sqrt(42^2 - 5^2) = 2*sqrt(1739)
    expected = 2.0 * 41.701319
    assert Skirt(84.0).width_mm(8.25, 0.0, 0.0, FACE_MM) == pytest.approx(expected, abs=1e-5)


@pytest.mark.parametrize("profile", [400.0, 1_500.0, 10_000.0])
@pytest.mark.parametrize("tilt_deg", [0.0, 0.05, 0.2, 0.5])
@pytest.mark.parametrize("belly", [0.0, 1.0, -2.0])
def test_barrelled_width_against_brute_force(profile, tilt_deg, belly):
    """Close two faces onto a finely cut profile until they touch; no formula shared."""
    skirt = Skirt(84.0, profile_mm=profile, belly_mm=belly)
    tilt = math.radians(tilt_deg)
    cut = [i * 0.0005 for i in range(-12_000, 12_001)]
    outline = [(42.0 - (z - belly) ** 2 / (2.0 * profile), z) for z in cut]
    found = sum(
        max(
            r * math.cos(side) + z * math.sin(side)
            for r, z in outline
            if abs(z * math.cos(side) - r * math.sin(side)) <= FACE_MM
        )
        for side in (tilt, -tilt)
    )
    assert skirt.width_mm(0.0, tilt, 0.0, FACE_MM) == pytest.approx(found, abs=5e-6)


@given(st.floats(-math.pi, math.pi), st.floats(0.0, 0.6))
def test_oval_skirt(turn, oval):
    skirt = Skirt(84.0, oval_mm=oval)
    # a quarter turn away the skirt is smaller by the whole ovality; halves in between
    assert skirt.diameter_mm(math.pi / 2.0) == pytest.approx(84.0 - oval)
    assert skirt.diameter_mm(turn) + skirt.diameter_mm(turn + math.pi / 2.0) == pytest.approx(
        168.0 - oval
    )
    assert 84.0 - oval - 1e-9 <= skirt.diameter_mm(turn) <= 84.0 + 1e-9


@given(st.floats(-0.3, 0.3), st.floats(50.0, 150.0), st.floats(0.5, 5.0))
def test_rocked_bore_reads_the_diameter_only_upright(tilt, size, tip):
    bore = Bore(size)
    assert bore.width_mm(0.0, tip) == pytest.approx(size, abs=1e-12)
    assert bore.width_mm(tilt, tip) >= size - 1e-12
    assert bore.width_mm(tilt, tip) == bore.width_mm(-tilt, tip)


def test_the_plain_ways_to_take_a_bore_give_worn_taper_oval_as_made():
    barrel = Barrel("B", 84.0, wear_mm=0.03, taper_mm=0.012, oval_mm=0.008, worn_at_mm=20.0)
    across, along = barrel.bore20(20.0, 0.0).size_mm, barrel.bore20(20.0, math.pi / 2).size_mm
    assert across - along == pytest.approx(0.008)
    foot = barrel.bore20(120.0, math.pi / 2.0).size_mm
    assert foot == pytest.approx(84.0, abs=1e-4)
    assert along == pytest.approx(84.0 + 0.03 + 0.012 * 100.0 / 120.0)


@given(st.floats(0.0, 0.05), st.floats(-math.pi, math.pi))
def test_two_facing_points_never_see_three_lobes(lobes, turn):
    # geometry: r + a·cos 3φ and its like on the far side, at φ + π, add up to 2 r
    barrel = Barrel("B", 84.0, lobes_mm=lobes)
    assert barrel.bore20(50.0, turn).size_mm == pytest.approx(84.0, abs=1e-12)


def test_expansion_of_a_piston_per_kelvin():
    # design figure: an 85 mm aluminium piston grows about 1.8 µm per kelvin
    growth_um = (grown(85.0, "aluminium-silicon", 21.0) - 85.0) * 1e3
    assert growth_um == pytest.approx(1.8, abs=0.1)
    assert grown(85.0, "grey-iron", 20.0) == 85.0
    warm = Piston("P", Skirt(85.0, oval_mm=0.3), part_c=30.0).skirt_now()
    assert to_nm(warm.truth_mm(FACE_MM)) == 85_017_425  # 85 mm · 20.5e-6/K · 10 K = 17.425 µm
