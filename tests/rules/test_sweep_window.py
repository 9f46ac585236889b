"""A display that averages lifts the turn of a rock by k·w²/12; said or told, it is taken off."""

import math
import random
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest

from barrelfit.rules.sweep import window
from barrelfit.rules.sweep.excess import Scatter, excess_nm, log_tables, places
from barrelfit.rules.sweep.window import Residuals, excess_share
from tests.bench.other_study import KINDS, row_of

STEP_S = 0.05


def test_the_excess_is_the_mean_square_of_the_window() -> None:
    """The mean of t² over an even spread of width w about 0 is w²/12."""
    w = 0.3
    points = [w * ((n + 0.5) / 1_000 - 0.5) for n in range(1_000)]
    assert excess_share(w * w) == pytest.approx(sum(t * t for t in points) / 1_000, rel=1e-5)


@pytest.mark.parametrize("means", [2, 3, 4])
def test_n_moments_spread_as_a_window_of_their_own(means: int) -> None:
    moments = [STEP_S * (n - (means - 1) / 2) for n in range(means)]
    square = sum(t * t for t in moments) / means
    assert excess_share((means**2 - 1) * STEP_S**2) == pytest.approx(square)


def residuals(means: int, rocks: int, seed: int) -> list[Residuals]:
    """Noise of 0.8 µm, each reading the mean of the last conversions, rounded to 0.1 µm."""
    chance = random.Random(seed)  # noqa: S311  a test's chance
    found = []
    for _ in range(rocks):
        noise = [chance.gauss(0, 0.8) for _ in range(24)]
        shown = [math.fsum(noise[i : i + means]) / means for i in range(24 - means)]
        times = [STEP_S * (i - 10) for i in range(len(shown))]
        found.append(Residuals(times, [round(y, 1) for y in shown], [40 * t for t in times]))
    return found


def told(rocks: Sequence[Residuals], step_s: float = STEP_S) -> int:
    logs = window.log_shares(rocks, step_s, 0.05)
    return max(logs, key=logs.__getitem__)


@pytest.mark.parametrize("means", [1, 2, 3, 4])
def test_the_readings_tell_how_many_conversions_they_are_the_mean_of(means: int) -> None:
    counts = [told(residuals(means, 8, seed)) for seed in range(8)]
    assert counts.count(means) >= 7


@pytest.mark.slow
def test_a_bore_is_sized_where_it_is_said_for_how_long_its_display_averages() -> None:
    row = row_of(KINDS["bore, mean of 4, said"], 20.0, range(6))
    assert len(row.errors_um) == 6
    assert max(map(abs, row.errors_um)) < 1.0
    assert row.held >= 5


@pytest.mark.slow
def test_a_bore_whose_display_averages_unsaid_is_mostly_told() -> None:
    row = row_of(KINDS["bore, mean of 3"], 50.0, range(6))
    assert max(map(abs, row.errors_um)) < 0.8


@pytest.mark.slow
def test_a_bore_s_display_that_is_damped_for_long_is_in_its_doubt_or_refused() -> None:
    row = row_of(KINDS["bore, damped for 0.1 s"], 50.0, range(12))
    assert row.held + row.refused.total() >= 9


@pytest.mark.slow
def test_a_hand_s_tremor_without_noise_of_the_gauge_is_no_average() -> None:
    calm = replace(KINDS["bore"], gauge={"noise": 0.1, "digit": 1.0})
    row = row_of(calm, 20.0, range(18, 36))
    assert len(row.errors_um) == 18
    assert sum(abs(e) > 1.0 for e in row.errors_um) <= 2


def test_a_hand_s_tremor_is_no_average() -> None:
    """Noise of each reading's own beside a tremor that lasts for half a dozen readings."""
    found = []
    for seed in range(8):
        chance, rocks = random.Random(seed), []  # noqa: S311  a test's chance
        for _ in range(8):
            slow = [chance.gauss(0, 0.8) for _ in range(30)]
            off = [chance.gauss(0, 0.35) + math.fsum(slow[i : i + 6]) / 4 + 0.0 for i in range(24)]
            times = [0.02 * (i - 12) for i in range(24)]
            rocks.append(Residuals(times, off, [40 * t for t in times]))
        found.append(told(rocks, 0.02))
    assert found == [1] * 8


@pytest.mark.slow
@pytest.mark.parametrize("kind", ["bore, mean of 2", "bore, mean of 3"])
@pytest.mark.parametrize("rate_hz", [10.0, 20.0, 50.0])
def test_a_bore_of_which_nobody_says_whether_it_averages_is_told_with_that_doubt(
    kind: str, rate_hz: float
) -> None:
    row = row_of(KINDS[kind], rate_hz, range(100, 120))
    assert row.held >= len(row.errors_um) - 2
    assert len(row.errors_um) >= (5 if rate_hz < 20.0 else 17)


@pytest.mark.slow
def test_a_bore_whose_display_does_not_average_is_hardly_less_right_for_it() -> None:
    row = row_of(KINDS["bore"], 10.0, range(100, 120))
    assert len(row.errors_um) >= 18
    assert row.held >= 18
    assert math.fsum(e * e for e in row.errors_um) / len(row.errors_um) < 0.5**2


@pytest.mark.parametrize("barrel_nm", [1.0, 1_500.0, 7_000.0])
@pytest.mark.parametrize("travel_nm", [800.0, 9_000.0, 40_000.0])
def test_the_excess_of_a_tilt_is_its_mean_lift_through_the_upright(
    barrel_nm: float, travel_nm: float
) -> None:
    def lift(s: float) -> float:
        return s * s / (4 * barrel_nm) if s < 2 * barrel_nm else s - barrel_nm

    ways = [travel_nm * ((n + 0.5) / 20_000 - 0.5) for n in range(20_000)]
    mean = math.fsum(lift(abs(s)) for s in ways) / len(ways)
    assert excess_nm(barrel_nm, travel_nm) == pytest.approx(mean, rel=1e-3, abs=0.2)


@pytest.mark.parametrize(("barrel_nm", "within"), [(0, 0.015), (3_500, 0.02), (7_000, 0.015)])
def test_averaged_readings_of_a_tilt_lie_as_their_density_says(
    barrel_nm: int, within: float
) -> None:
    """Tilts and speeds that are normal, each reading the mean over a window: counted."""

    def lift(s: float) -> float:
        return s * s / (4 * barrel_nm) if s < 2 * barrel_nm else s - barrel_nm

    chance = random.Random(3)  # noqa: S311  a test's chance
    lifts = []
    for _ in range(20_000):
        tilt, way = chance.gauss(0, 13_000), chance.gauss(0, 9_000)
        moments = [lift(abs(tilt + way * ((n + 0.5) / 12 - 0.5))) for n in range(12)]
        lifts.append(math.fsum(moments) / 12 + chance.gauss(0, 650))
    (shares,) = log_tables([Scatter(650, barrel_nm, 13_000)], 200, 9_000).shares
    for length in (1_000, 3_000, 6_000, 12_000):
        below = sum(x < length for x in lifts) / len(lifts)
        place = int(places(np.array([length]))[0])
        assert math.exp(shares[place]) == pytest.approx(0.98 * below + 0.01, abs=within)


@pytest.mark.slow
def test_an_outside_size_is_held_where_it_is_said_for_how_long_its_display_averages() -> None:
    said = row_of(KINDS["following, mean of 4, said"], 50.0, range(12))
    assert said.held >= 10
    assert sum(map(abs, said.errors_um)) < 12.0
