"""The second physical model: its own geometry by brute force, and where the two models agree."""

import math
import random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from barrelfit.simulators.__main__ import main
from barrelfit.simulators.part import Skirt
from barrelfit.simulators.second import Strokes, disc_width_mm, settled, trembling
from barrelfit.simulators.second_trace import make_second_trace, second_kinds

FACE_MM = 3.25
tilts = st.floats(-0.008, 0.008)


@given(tilts)
def test_both_models_agree_over_the_middle_of_a_straight_skirt(tilt):
    first = Skirt(84.0).width_mm(0.0, tilt, 0.0, FACE_MM)
    assert disc_width_mm(84.0, math.inf, 0.0, tilt, FACE_MM) == pytest.approx(first, abs=2e-6)


@given(tilts, st.floats(-15.0, 15.0))
def test_disc_never_stands_wider_than_a_square_face_would(tilt, offset):
    first = Skirt(84.0).width_mm(offset, tilt, 0.0, FACE_MM)
    second = disc_width_mm(84.0, math.inf, offset, tilt, FACE_MM)
    assert second <= first + 2e-6
    upright = disc_width_mm(84.0, math.inf, offset, 0.0, FACE_MM)
    assert second >= upright - 2e-6  # tilt only lengthens
    assert upright <= 84.0 + 1e-9  # a chord only shortens


@pytest.mark.parametrize("profile", [math.inf, 900.0, 4_000.0])
@pytest.mark.parametrize(("offset", "tilt_deg"), [(0.0, 0.2), (2.5, 0.15), (5.0, 0.1), (-1.0, 0.0)])
def test_disc_width_against_a_fine_grid_over_the_face(profile, offset, tilt_deg):
    tilt, found = math.radians(tilt_deg), 0.0
    for ring in range(41):
        for way in range(720):
            u = FACE_MM * ring / 40 * math.cos(way * math.pi / 360)
            v = FACE_MM * ring / 40 * math.sin(way * math.pi / 360)
            z = 42.0 * math.sin(tilt) + v * math.cos(tilt)
            radius = 42.0 - z * z / (2.0 * profile)
            half = math.sqrt(radius * radius - (offset + u) ** 2)
            found = max(found, 2.0 * (half + v * math.sin(tilt)) / math.cos(tilt))
    got = disc_width_mm(84.0, profile, offset, tilt, FACE_MM)
    assert got == pytest.approx(found, abs=3e-5)  # the grid's own coarseness
    assert got >= found - 2e-6


def test_strokes_start_and_end_at_rest():
    path = Strokes(10.0, begin_s=1.0)
    path.to(-4.0, 2.0)
    path.to(-4.0, 0.5)
    assert (path(0.0), path(1.0), path(3.0), path(3.3), path(9.0)) == (10.0, 10.0, -4.0, -4.0, -4.0)
    assert path(2.0) == pytest.approx(3.0)
    assert abs(path(1.01) - 10.0) < 1e-4
    assert abs(path(2.99) + 4.0) < 1e-4


def test_trembling_has_its_root_mean_square():
    values = [trembling(0.003, random.Random(s))(t * 0.37) for s in range(60) for t in range(60)]
    assert math.sqrt(sum(v * v for v in values) / len(values)) == pytest.approx(0.003, rel=0.1)


def test_screw_settles_at_the_least_width_and_opens_only_when_wound_up():
    def winding(t):
        return -0.5 if t < 3.0 else 0.5

    opening = settled(lambda t: 84.0 + 0.01 * math.cos(t * 9.0), winding, 84.4, 4.0)
    assert opening(0.0) == 84.4
    assert opening(2.99) == pytest.approx(83.99, abs=1e-4)
    assert opening(4.0) == pytest.approx(84.49, abs=0.01)


@pytest.mark.slow
@pytest.mark.parametrize("kind", second_kinds())
def test_second_trace_is_made_again_by_its_seed(kind):
    one, again = (make_second_trace(kind, 10.0, 3) for _ in range(2))
    assert one == again
    assert (one.truth_nm is None) == (one.expect == "refuse")
    times = [t for t, _ in one.samples_ns]
    assert times == sorted(set(times))
    assert all(nm % 1_000 == 0 for _, nm in one.samples_ns)


@pytest.mark.parametrize("kind", ["to-and-fro", "in-and-out", "screw", "bore"])
def test_truth_lies_in_the_second_models_traces(kind):
    trace = make_second_trace(kind, 50.0, 5)
    near = sum(abs(nm - trace.truth_nm) < 3_000 for _, nm in trace.samples_ns)
    assert near > 10


def test_second_model_on_the_command_line(capsys):
    assert main(["trace", "screw", "--model", "second", "--rate", "10"]) == 0
    assert capsys.readouterr().out.startswith("t_s,reading_mm\n")
    assert main(["trace", "screw/gaps", "--model", "second"]) == 2
    assert "has no 'screw/gaps'" in capsys.readouterr().err
    with pytest.raises(ValueError, match="no kind is called"):
        make_second_trace("wobble")
