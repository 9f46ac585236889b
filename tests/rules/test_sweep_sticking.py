"""A part that sticks shows the same tilt for a while: its size is less sure, no other part's is."""

import math

import pytest

from barrelfit.rules.sweep.sticking import stuck_nm
from tests.bench.other_study import KINDS, row_of

STEP_NS = 50_000_000


def wave(passes: int, of_nm: int = 20_000) -> list[list[tuple[int, int]]]:
    """Passes of a part whose tilt swings all the time."""
    return [
        [(n * STEP_NS, round(of_nm * abs((0.2 * n + 0.3 * k) % 2.0 - 1.0))) for n in range(24)]
        for k in range(passes)
    ]


def stairs(passes: int) -> list[list[tuple[int, int]]]:
    """The same where the part follows every eighth reading only."""
    return [[(t, used[n - n % 8][1]) for n, (t, _) in enumerate(used)] for used in wave(passes)]


def test_a_part_that_moves_all_the_time_costs_no_doubt() -> None:
    assert stuck_nm(wave(6), 1_000) == 0.0


def test_a_part_that_sticks_does() -> None:
    assert 1_000.0 < stuck_nm(stairs(6), 1_000) < 3_500.0


@pytest.mark.parametrize("digit_nm", [1_000, 10_000])
def test_readings_that_hardly_move_tell_nothing_of_it(digit_nm: int) -> None:
    still = wave(6, of_nm=2_000)
    coarse = [[(t, round(y / digit_nm) * digit_nm) for t, y in used] for used in wave(6)]
    assert stuck_nm(still, 1_000) == 0.0
    assert digit_nm == 1_000 or stuck_nm(coarse, digit_nm) == 0.0


def test_few_readings_tell_nothing_of_it() -> None:
    assert stuck_nm([used[:3] for used in stairs(2)], 1_000) == 0.0


@pytest.mark.slow
@pytest.mark.parametrize("rate_hz", [20.0, 50.0])
def test_intervals_of_parts_that_stick_hold(rate_hz: float) -> None:
    row = row_of(KINDS["following, part sticks"], rate_hz, range(700, 724))
    assert row.held >= 0.8 * len(row.errors_um)
    doubt = sum(row.doubts_um) / len(row.errors_um)
    assert doubt > 0.8 * math.sqrt(sum(e * e for e in row.errors_um) / len(row.errors_um))
