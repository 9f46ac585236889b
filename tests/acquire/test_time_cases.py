"""The wall clock is set, drifts, or was never set: order never depends on it, and it is told."""

from datetime import UTC, datetime, timedelta

from barrelfit.acquire.clock import utc_text
from barrelfit.acquire.journal.clock_watch import ClockWatch
from barrelfit.acquire.journal.record_events import ClockNotSet, ClockStepped

NOON = datetime(2026, 11, 25, 12, tzinfo=UTC)


def looks(*pairs):
    """What a watch says at each look: (monotonic seconds, wall seconds after noon)."""
    watch = ClockWatch()
    return [watch.look(round(m * 1e9), NOON + timedelta(seconds=w)) for m, w in pairs]


def test_a_clock_that_runs_true_says_nothing():
    assert looks((5.0, 10.0), (5.1, 10.1), (3605.0, 3610.0)) == [[], [], []]


def test_the_clock_set_forward_is_one_step():
    # request sent at wall 00:00:10, the clock set to 09:00:00 before the answer came
    said = looks((5.0, 10.0), (5.3, 32_400.2))
    assert said == [[], [ClockStepped(32_389_900_000)]]


def test_the_clock_set_back_an_hour_is_one_step():
    said = looks((5.0, 0.0), (7.0, -3598.0), (9.0, -3596.0))
    assert said == [[], [ClockStepped(-3_600_000_000)], []]


def test_half_a_second_is_the_limit():
    assert looks((0.0, 0.0), (1.0, 1.5)) == [[], []]
    assert looks((0.0, 0.0), (1.0, 1.500_001)) == [[], [ClockStepped(500_001)]]


def test_a_slow_drift_is_told_when_it_adds_up():
    said = looks(*((n, n * 1.1) for n in range(12)))
    assert [len(events) for events in said] == [0] * 6 + [1] + [0] * 5


def test_a_clock_that_was_never_set_is_told_once_until_it_is_set():
    watch = ClockWatch()
    old = datetime(1970, 1, 1, 0, 5, tzinfo=UTC)
    assert watch.look(0, old) == [ClockNotSet(utc_text(old))]
    assert watch.look(10**9, old + timedelta(seconds=1)) == []
    (step,) = watch.look(2 * 10**9, NOON)
    assert isinstance(step, ClockStepped)
    assert watch.look(3 * 10**9, NOON + timedelta(seconds=1)) == []


def test_wall_text_is_always_utc_with_six_decimals():
    for microsecond in (0, 1, 500_000):
        text = utc_text(NOON.replace(microsecond=microsecond))
        assert text == f"2026-11-25T12:00:00.{microsecond:06d}Z"
