"""Gauges: what each mechanism can and cannot do, and what the display makes of it."""

import random
import statistics

from hypothesis import given
from hypothesis import strategies as st

from barrelfit.simulators.gauge import Gauge, GaugeTraits

widths = st.lists(st.one_of(st.none(), st.floats(80.0, 90.0)), min_size=1, max_size=50)


def gauge(**keys):
    keys = {"movement": "following", "rest_mm": 82.0, "noise_um": 0.0, **keys}
    return Gauge(GaugeTraits(**keys), random.Random(1))


@given(widths)
def test_following_faces_ride_on_the_part_and_rest_on_the_stop(seen):
    one = gauge()
    for width in seen:
        assert one.step(0.1, width) == (82.0 if width is None else max(width, 82.0))


@given(widths)
def test_bore_tips_stand_at_their_free_width_in_the_air(seen):
    one = gauge(movement="bore", rest_mm=86.0)
    for width in seen:
        assert one.step(0.1, width) == (86.0 if width is None else min(width, 86.0))


@given(st.lists(st.floats(84.0, 84.1), min_size=1, max_size=60))
def test_screw_closes_to_the_smallest_width_met_and_never_opens_by_itself(seen):
    one = gauge(movement="screw", rest_mm=84.5)
    before = 84.5
    for width in seen:
        now = one.step(0.004, width, -0.5)
        assert now <= before
        assert now >= min(before, *seen)
        before = now
    for _ in range(2_000):
        one.step(0.004, min(seen), -0.5)
    assert one.opening_mm == min(*seen, before)
    assert one.step(0.1, min(seen), 1.0) > min(seen)


def test_screw_winds_freely_in_the_air():
    one = gauge(movement="screw", rest_mm=84.5)
    assert one.step(1.0, None, -0.5) == 84.0
    assert one.step(1.0, 83.0, 0.0) == 84.0


def test_display_rounds_to_its_digit_and_has_the_noise_it_is_given():
    for digit_nm in (1_000, 500, 1_270):
        one = gauge(noise_um=1.0, digit_nm=digit_nm)
        one.step(0.1, 84.1234)
        shown = [one.show() for _ in range(4_000)]
        assert all(reading % digit_nm == 0 for reading in shown)
        assert abs(statistics.mean(shown) - 84_123_400) < 100
        assert 900 < statistics.stdev(shown) < 1_200


def test_squeezing_makes_the_reading_smaller():
    one = gauge()
    one.step(0.1, 84.0)
    assert one.show(squeeze_um=5.0) == 83_995_000


def test_warm_gauge_reads_short_and_its_zero_error_adds():
    one = gauge(expansion_per_k=11.5e-6, gauge_c=30.0, zero_um=3.0)
    one.step(0.1, 84.0)
    # 84 mm · 11.5e-6/K · 10 K = 9.66 µm short, 3 µm up
    assert one.show() == 83_993_000


def test_bounces_are_single_samples_and_both_ways_and_samples_get_lost():
    one = gauge(bounce_share=0.1, missed_share=0.1)
    one.step(0.1, 84.0)
    shown = [one.show() for _ in range(2_000)]
    low = sum(1 for reading in shown if reading is not None and reading < 83_996_000)
    high = sum(1 for reading in shown if reading is not None and reading > 84_004_000)
    assert low > high > 20
    assert 140 < shown.count(None) < 260


def test_pauses_have_the_rate_asked_for_and_never_go_back():
    one = gauge(rate_hz=25.0, jitter=0.12)
    pauses = [one.pause_s() for _ in range(2_000)]
    assert min(pauses) > 0.0
    assert abs(statistics.mean(pauses) - 0.04) < 0.001
