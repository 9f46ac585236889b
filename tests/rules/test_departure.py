"""When a measured part, or the gauge, has come away."""

import math

import pytest

from barrelfit.rules.bench.departure import FAR_NM, GONE_NS, SILENT_NS, Departure
from barrelfit.rules.model import Movement
from barrelfit.rules.sweep import GaugeTraits
from barrelfit.rules.sweep.stillness import STILL_NM, Stillness

SIZE_NM = 84_920_000
STEP_NS = 50_000_000


def first_gone(movement: Movement, readings) -> float | None:
    """Seconds until the part is taken for gone; None when it never is."""
    watch = Departure(SIZE_NM, GaugeTraits(movement, 1_000))
    for number, nm in enumerate(readings):
        if watch.gone(number * STEP_NS, nm):
            return number * STEP_NS / 1e9
    return None


@pytest.mark.parametrize("movement", [m for m in Movement if m is not Movement.HELD])
@pytest.mark.parametrize("away_nm", [-15_000_000, -FAR_NM - 1, FAR_NM + 1, 4_000_000])
def test_a_gauge_far_from_the_size_for_long_is_away(movement, away_nm):
    gone = first_gone(movement, [SIZE_NM + away_nm] * 60)
    assert gone == pytest.approx(GONE_NS / 1e9, abs=STEP_NS / 1e9)


def test_sweeping_on_over_the_same_part_is_not_leaving():
    swing = [SIZE_NM - round(1_500_000 * max(0.0, math.sin(n / 4))) for n in range(2_000)]
    assert first_gone(Movement.FOLLOWING, swing) is None


def test_rocking_on_in_a_bore_is_not_leaving_but_resting_is():
    rocking = [SIZE_NM + round(60_000 * math.sin(n / 3) ** 2) for n in range(2_000)]
    assert first_gone(Movement.BORE, rocking) is None
    resting = [*rocking[:100], *([rocking[99]] * 60)]
    assert first_gone(Movement.BORE, resting) == pytest.approx(5 + GONE_NS / 1e9, abs=0.15)


def test_an_outside_gauge_that_rests_on_its_part_has_not_left():
    assert first_gone(Movement.FOLLOWING, [SIZE_NM] * 500) is None
    assert first_gone(Movement.SCREW, [SIZE_NM + STILL_NM] * 500) is None


def test_a_short_time_away_starts_anew_when_the_part_is_back():
    away = [SIZE_NM - 5_000_000] * 20  # one second
    assert first_gone(Movement.FOLLOWING, [*away, SIZE_NM, *away, SIZE_NM, *away]) is None


def test_how_long_a_part_must_be_away_is_told_once_and_that_it_came_back():
    watch, told = Departure(SIZE_NM, GaugeTraits(Movement.FOLLOWING, 1_000), 2_000_000_000), []
    far = SIZE_NM - 5_000_000
    for number, nm in enumerate([SIZE_NM] * 4 + [far] * 20 + [SIZE_NM] * 4 + [far] * 4 + [SIZE_NM]):
        assert not watch.gone(number * STEP_NS, nm)
        turned = watch.turned(number * STEP_NS)
        told += [(number, *turned)] if turned is not None else []
    assert told == [(12, 4 * STEP_NS, 2_000_000_000), (24, 24 * STEP_NS, 0)]


@pytest.mark.parametrize(("away_s", "lingers"), [(1.0, False), (1.7, True)])
def test_what_is_brought_back_too_soon_is_told_at_once(away_s, lingers):
    watch = Departure(SIZE_NM, GaugeTraits(Movement.FOLLOWING, 1_000), 2_000_000_000)
    far = [SIZE_NM - 5_000_000] * round(away_s / 0.05)
    for number, nm in enumerate([SIZE_NM, *far, SIZE_NM]):
        watch.gone(number * STEP_NS, nm)
    assert watch.begins_to_linger() is lingers


def test_a_long_silence_is_a_departure_whatever_is_read_after_it():
    watch = Departure(SIZE_NM, GaugeTraits(Movement.FOLLOWING, 1_000))
    assert not watch.gone(0, SIZE_NM)
    assert not watch.gone(SILENT_NS, SIZE_NM)
    assert watch.gone(2 * SILENT_NS + 1, SIZE_NM)


def test_a_slow_swing_is_gone_only_after_its_own_time_but_a_bore_gauge_at_rest_after_the_usual():
    watch = Departure(SIZE_NM, GaugeTraits(Movement.BORE, 1_000), gone_ns=3_000_000_000)
    far = [SIZE_NM + 300_000 + round(80_000 * math.sin(n / 5)) for n in range(100)]
    gone_at = [n for n, nm in enumerate(far) if watch.gone(n * STEP_NS, nm)]
    assert gone_at[0] * STEP_NS == 3_000_000_000
    watch = Departure(SIZE_NM, GaugeTraits(Movement.BORE, 1_000), gone_ns=3_000_000_000)
    gone_at = [n for n in range(100) if watch.gone(n * STEP_NS, SIZE_NM + 600_000)]
    assert gone_at[0] * STEP_NS == GONE_NS


def test_a_bounce_at_rest_is_no_movement_but_two_readings_elsewhere_are():
    still = Stillness(1_000)
    assert [still.for_ns(n * STEP_NS, SIZE_NM + 30_000 * (n % 5 == 2)) for n in range(20)][
        -1
    ] == 19 * STEP_NS
    assert still.for_ns(20 * STEP_NS, SIZE_NM + 9_000) == 20 * STEP_NS
    assert still.for_ns(21 * STEP_NS, SIZE_NM + 9_500) == 0


def test_a_coarse_last_digit_that_flickers_stands_still():
    still = Stillness(10_000)
    assert [still.for_ns(n * STEP_NS, SIZE_NM + 10_000 * (n % 2)) for n in range(9)][-1] > 0
