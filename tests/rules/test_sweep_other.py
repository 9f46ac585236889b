"""Sizes on traces of other physics (`tests.bench.other_traces`): a few of each kind, seeded."""

import math
from dataclasses import replace

import pytest
from scipy.stats import binom

from barrelfit.rules.sweep import SweepSized
from barrelfit.rules.sweep.faults import LAG_CHANCE, LAG_UNLIKELY, lags
from barrelfit.rules.sweep.repeats import conversions
from barrelfit.rules.sweep.stream import size_trace
from tests.bench.other_study import KINDS, one, row_of


@pytest.mark.slow
@pytest.mark.parametrize("name", ["screw", "screw, part sticks"])
@pytest.mark.parametrize("rate_hz", [10.0, 50.0])
def test_a_screw_is_sized_by_its_last_stairs(name: str, rate_hz: float) -> None:
    row = row_of(KINDS[name], rate_hz, range(6))
    assert len(row.errors_um) >= 5
    assert math.sqrt(sum(e * e for e in row.errors_um) / 6) < 0.3
    assert abs(sum(row.errors_um) / 6) < 0.2
    assert row.held >= 5


@pytest.mark.slow
def test_one_closing_on_a_part_that_leant_costs_that_closing() -> None:
    samples, traits, truth_um = one(KINDS["screw"], 20.0, 2)
    begin, end = (samples[0][0] + round(s * 1e9) for s in (6.5, 9.5))
    assert isinstance(size_trace(samples, traits), SweepSized)
    leant = [
        (t, y + 12_000 if begin < t < end and y < truth_um * 1e3 + 200_000 else y)
        for t, y in samples
    ]
    found = size_trace(leant, replace(traits, digit_nm=traits.digit_nm))
    assert isinstance(found, SweepSized)
    assert abs(found.size_nm / 1e3 - truth_um) < 0.6


@pytest.mark.slow
@pytest.mark.parametrize(
    ("name", "worst_um"),
    [("following", 3.0), ("bore", 1.5), ("screw", 0.6)],
)
@pytest.mark.parametrize("times", ["twice", "4 times"])
def test_what_a_display_sends_again_is_no_reading_of_its_own(
    name: str, worst_um: float, times: str
) -> None:
    row = row_of(KINDS.get(f"{name}, each sent {times}", KINDS[name]), 50.0, range(8))
    assert len(row.errors_um) >= 6
    assert max(map(abs, row.errors_um)) < worst_um
    assert row.held >= len(row.errors_um) - 1


@pytest.mark.slow
@pytest.mark.parametrize("name", ["following, shown to 0.01 mm", "following, to 0.0005 in"])
def test_a_coarse_digit_is_in_the_interval(name: str) -> None:
    row = row_of(KINDS[name], 50.0, range(16))
    assert len(row.errors_um) >= 12
    assert math.sqrt(sum(e * e for e in row.errors_um) / len(row.errors_um)) < 3.0
    assert row.held >= len(row.errors_um) - 1


@pytest.mark.slow
def test_a_display_that_lags_is_told_from_a_part_that_is_smaller() -> None:
    row = row_of(KINDS["following, damped for 0.1 s"], 50.0, range(12))
    assert row.refused["display-lags"] >= 8
    assert row.refused.total() >= 10
    good = row_of(KINDS["following"], 50.0, range(12))
    assert "display-lags" not in good.refused


@pytest.mark.parametrize(("lowest_first", "of", "lags_so"), [(6, 6, True), (3, 6, False)])
def test_a_first_reading_that_is_too_often_the_lowest_is_a_lag(
    lowest_first: int, of: int, lags_so: bool
) -> None:
    """Of 6 crests of 20 readings, against scipy's binomial distribution."""
    crest = [85_000_000 + 1_000 * abs(n - 9) for n in range(20)]
    late = [84_990_000, *crest[1:]]
    crests = [late] * lowest_first + [crest] * (of - lowest_first)
    assert lags([[(n, y) for n, y in enumerate(c)] for c in crests]) is lags_so
    likely = float(binom.sf(lowest_first - 1, of, LAG_CHANCE + 1 / 20))
    assert (likely < LAG_UNLIKELY) is lags_so


def test_values_that_stand_while_a_reading_runs_are_conversions_sent_again() -> None:
    climb = [(n * 20_000_000, 84_000_000 + 20_000 * (n // 3)) for n in range(60)]
    rest = [(n * 20_000_000, 85_180_000) for n in range(60, 75)]
    (kept,) = conversions([climb + rest], 1_000)
    assert [t // 20_000_000 for t, _ in kept] == list(range(0, 75, 3))


def test_a_part_at_rest_repeats_itself_and_no_conversion_is_taken_away() -> None:
    climb = [(n * 20_000_000, 84_000_000 + 20_000 * n) for n in range(60)]
    rest = [(n * 20_000_000, 85_180_000) for n in range(60, 300)]
    assert conversions([climb + rest], 1_000) == [climb + rest]
