"""Wall clocks that are set or were never set; pure."""

from datetime import UTC, datetime, timedelta

from hypothesis import given
from hypothesis import strategies as st

from barrelfit.acquire.journal.clock_watch import STEP_US, WRITTEN, ClockWatch
from barrelfit.acquire.journal.record_events import ClockNotSet, ClockStepped

NOON = datetime(2026, 11, 25, 12, tzinfo=UTC)


@given(st.lists(st.tuples(st.integers(1, 10**10), st.integers(-249_000, 249_000)), max_size=20))
def test_a_clock_that_jitters_is_never_called_stepped(ticks):
    watch, mono_ns = ClockWatch(), 0
    for delta_ns, offset_us in ticks:
        mono_ns += delta_ns
        assert watch.look(mono_ns, NOON + timedelta(microseconds=mono_ns // 1000 + offset_us)) == []


def test_a_clock_that_runs_slow_is_told_when_it_adds_up():
    watch = ClockWatch()
    found = [
        event
        for second in range(1_000)
        for event in watch.look(second * 10**9, NOON + timedelta(seconds=second * 0.999))
    ]
    assert [round(event.step_us / STEP_US, 1) for event in found] == [-1.0]


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
