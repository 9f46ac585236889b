"""A display that averages lifts the turn of a rock by k·w²/12; said or told, it is taken off."""

import math
import random
from collections.abc import Sequence

import pytest

from barrelfit.rules.sweep.window import Residuals, excess_share, told_window
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


def told(rocks: Sequence[Residuals]) -> float:
    window_s2, _ = told_window(rocks, STEP_S, 0.05)
    return math.sqrt(window_s2 / STEP_S**2 + 1)


@pytest.mark.parametrize("means", [1, 2, 3, 4])
def test_the_readings_tell_how_many_conversions_they_are_the_mean_of(means: int) -> None:
    counts = [told(residuals(means, 8, seed)) for seed in range(8)]
    assert sum(abs(count - means) < 0.5 for count in counts) >= 7


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
