"""Traces: the same seed gives the same trace, the truth lies in it, the bad ones are bad."""

import math
import random
from dataclasses import replace

import pytest

from barrelfit.simulators.__main__ import main
from barrelfit.simulators.hand import WANDERS
from barrelfit.simulators.trace import MOVEMENTS, kinds, make_trace, mm_text

STILL = {"noise_um": 0.0, "jitter": 0.02, "bounce_share": 0.0, "missed_share": 0.0}


@pytest.mark.parametrize("kind", kinds())
def test_trace_is_made_again_by_its_seed(kind):
    one, again, other = (make_trace(kind, 10.0, seed) for seed in (5, 5, 6))
    assert one == again
    assert one.readings_nm != other.readings_nm
    assert one.movement == MOVEMENTS[kind.partition("/")[0]]
    assert len(one.samples) > 20
    assert (one.truth_nm is None) == (one.expect == "refuse")


@pytest.mark.parametrize("kind", [k for k in kinds() if "backwards" not in k])
def test_times_do_not_go_back_and_keep_the_rate(kind):
    trace = make_trace(kind, 20.0, 3, missed_share=0.0)
    steps = [b - a for a, b in zip(trace.times_ns, trace.times_ns[1:], strict=False)]
    assert min(steps) > 0 or "duplicates" in kind
    fair = [step for step in steps if step]
    assert sorted(fair)[len(fair) // 2] == pytest.approx(5e7, rel=0.1)


@pytest.mark.parametrize("kind", list(MOVEMENTS))
@pytest.mark.parametrize("shape", ["plain", "barrelled"])
@pytest.mark.parametrize("seed", [1, 2])
@pytest.mark.slow
def test_truth_is_in_a_trace_without_tilt_noise_and_digit(kind, shape, seed):
    trace = make_trace(
        kind, 500.0, seed, tilt_deg=0.0, lean_deg=0.0, shape=shape, digit_nm=1, **STILL
    )
    if trace.movement == "following":  # the largest chord is the diameter
        assert max(trace.readings_nm) == pytest.approx(trace.truth_nm, abs=2)
    else:  # the smallest rocked width is the diameter
        assert min(trace.readings_nm) == pytest.approx(trace.truth_nm, abs=80)


@pytest.mark.parametrize("wander", list(WANDERS))
@pytest.mark.slow
def test_truth_is_the_least_over_the_crests_of_a_tilted_fast_trace(wander):
    """Cut the flanks off by brute force: crests are what lies above the truth less a hair."""
    trace = make_trace("to-and-fro", 2_000.0, 4, wander=wander, shape="plain", digit_nm=1, **STILL)
    floor = trace.truth_nm - 50
    crest = [reading for reading in trace.readings_nm if reading >= floor]
    assert min(crest) == pytest.approx(trace.truth_nm, abs=60)
    assert max(crest) > trace.truth_nm + 5_000  # the tilt is there
    assert len(crest) > 2_000


@pytest.mark.parametrize("wander", list(WANDERS))
def test_wander_has_the_root_mean_square_it_is_given(wander):
    values = []
    for seed in range(40):
        one = WANDERS[wander](0.002, random.Random(seed))
        values += [one.at(t * 0.05) for t in range(400)]
    rms = math.sqrt(sum(v * v for v in values) / len(values))
    assert rms == pytest.approx(0.002, rel=0.12)


def test_warm_part_has_two_truths():
    trace = make_trace("bore", 20.0, 1, part_c=30.0, size_mm=84.0)
    assert trace.truth20_nm == 84_000_000
    assert trace.truth_nm == 84_008_904  # 84 mm · 10.6e-6/K · 10 K = 8.904 µm
    skirt = make_trace("screw", 20.0, 1, part_c=30.0, size_mm=84.0, shape="plain")
    assert skirt.truth_nm == 84_017_220  # 84 mm · 20.5e-6/K · 10 K = 17.22 µm


@pytest.mark.parametrize("digit_nm", [1_000, 500, 1_270])
def test_readings_are_whole_digits(digit_nm):
    trace = make_trace("screw", 20.0, 1, digit_nm=digit_nm)
    assert all(reading % digit_nm == 0 for reading in trace.readings_nm)
    assert trace.samples[0][1] == trace.readings_nm[0] / 1e6


def test_gaps_leave_no_whole_crest():
    whole = make_trace("to-and-fro", 20.0, 2, **STILL)
    gaps = make_trace("to-and-fro/gaps", 20.0, 2, **STILL)
    longest = max(b - a for a, b in zip(gaps.times_ns, gaps.times_ns[1:], strict=False))
    assert longest > 0.15e9
    assert len(gaps.times_ns) < len(whole.times_ns)


def test_csv_keeps_every_digit(capsys):
    assert mm_text(84_012_700) == "84.0127"
    assert mm_text(-13_000) == "-0.013"
    assert mm_text(84_000_000) == "84.000"
    assert main(["trace", "bore", "--rate", "10", "--seed", "7"]) == 0
    out, err = capsys.readouterr()
    rows = out.splitlines()
    assert rows[0] == "t_s,reading_mm"
    trace = make_trace("bore", 10.0, 7)
    assert [row.split(",")[1] for row in rows[1:]] == [mm_text(nm) for nm in trace.readings_nm]
    assert "seed 7" in err


def test_unknown_kind_and_option_are_refused():
    with pytest.raises(ValueError, match="no kind of trace is called 'wobble'"):
        make_trace("wobble")
    with pytest.raises(ValueError, match="no trace option is called wobble"):
        make_trace("bore", wobble=1)


def test_fixing_one_option_leaves_the_other_draws():
    free = make_trace("to-and-fro", 20.0, 9)
    fixed = make_trace("to-and-fro", 20.0, 9, noise_um=0.4)
    assert fixed.options == replace(free.options, noise_um=0.4)
