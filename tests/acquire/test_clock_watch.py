"""Wall clocks that are set or were never set; pure."""

from datetime import UTC, datetime, timedelta

from hypothesis import given
from hypothesis import strategies as st

from acquire.clock_watch import STEP_US, WRITTEN, ClockWatch
from acquire.events import ClockNotSet, ClockStepped

NOON = datetime(2026, 11, 25, 12, tzinfo=UTC)


@given(st.lists(st.tuples(st.integers(1, 10**10), st.integers(-400_000, 400_000)), max_size=20))
def test_a_clock_that_runs_is_never_called_stepped(ticks):
    """It may run fast or slow and jitter, as long as no look finds a step."""
    watch, mono_ns, offset_us = ClockWatch(), 0, 0
    for delta_ns, drift_us in ticks:
        mono_ns += delta_ns
        before, offset_us = offset_us, max(-400_000, min(400_000, drift_us))
        utc = NOON + timedelta(microseconds=mono_ns // 1000 + offset_us)
        found = watch.look(mono_ns, utc)
        assert all(isinstance(event, ClockStepped) for event in found)
        if abs(offset_us - before) < STEP_US - 2:
            assert found == []


def test_a_step_is_told_once_with_its_size():
    watch = ClockWatch()
    assert watch.look(0, NOON) == []
    (stepped,) = watch.look(10**9, NOON + timedelta(seconds=61))
    assert abs(stepped.step_us - 60_000_000) <= 1
    assert watch.look(2 * 10**9, NOON + timedelta(seconds=62)) == []


def test_a_clock_that_was_never_set_is_told_once_and_again_after_a_step_back():
    watch, long_ago = ClockWatch(), datetime(1970, 1, 1, tzinfo=UTC)
    (unset,) = watch.look(0, long_ago)
    assert isinstance(unset, ClockNotSet)
    assert watch.look(10**9, long_ago + timedelta(seconds=1)) == []
    (stepped,) = watch.look(2 * 10**9, WRITTEN)
    assert isinstance(stepped, ClockStepped)
    stepped, unset = watch.look(3 * 10**9, long_ago)
    assert isinstance(unset, ClockNotSet)
