"""An outside display that averages, of which nobody said so: told by its readings, or in doubt."""

import math
import random
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest
from scipy.linalg import toeplitz
from scipy.optimize import brentq
from scipy.stats import multivariate_normal, norm

from barrelfit.rules.sweep import SweepSized, shared
from barrelfit.rules.sweep.posterior import Posterior, joined
from barrelfit.rules.sweep.shared import log_shares
from barrelfit.rules.sweep.stream import size_trace
from tests.bench.other_study import KINDS, one, row_of

STEP_NS = 20_000_000


def crests(means: int, seed: int, noise_um: float = 1.0) -> list[list[tuple[int, int]]]:
    """Eight crests of a tilt that swings, each reading the mean of the last conversions."""
    chance = random.Random(seed)  # noqa: S311  a test's chance
    found = []
    for number in range(8):
        hertz, phase = chance.uniform(0.8, 1.6), chance.uniform(0, 6.3)
        shown = [
            abs(12.0 * math.sin(2 * math.pi * hertz * 0.02 * i + phase)) + chance.gauss(0, noise_um)
            for i in range(30)
        ]
        mean = [math.fsum(shown[i : i + means]) / means for i in range(30 - means)]
        begin = number * 3_000_000_000
        found.append([(begin + i * STEP_NS, round(2 * y) * 500) for i, y in enumerate(mean)])
    return found


def not_averaged(passes: Sequence[Sequence[tuple[int, int]]]) -> float:
    """The share of a display that does not average."""
    logs = log_shares(passes, 500)
    return math.exp(logs[1]) / math.fsum(math.exp(log) for log in logs.values())


@pytest.mark.parametrize("means", [2, 3, 4])
def test_readings_of_a_crest_tell_that_they_share_conversions(means: int) -> None:
    alone = [not_averaged(crests(means, seed)) for seed in range(8)]
    assert sum(share < 0.5 for share in alone) >= 6


def test_readings_of_a_crest_tell_that_they_share_none() -> None:
    assert min(not_averaged(crests(1, seed)) for seed in range(8)) > 0.9


def test_each_run_is_weighed_as_the_normal_law_of_its_covariance_says() -> None:
    """Against scipy's multivariate normal density."""
    chance = np.random.default_rng(5)
    rows = shared._covariances(8.0, 0.02, 0.29)[::200]
    runs = [chance.normal(0.0, 6.0, size) for size in (3, 11, 24)]
    found = shared._log_likelihoods(rows, runs)
    for row, log in zip(rows, found, strict=True):
        asked = 0.0
        for run in runs:
            law = multivariate_normal(np.zeros(len(run)), toeplitz(row[: len(run)]))
            asked += law.logpdf(run) + len(run) / 2 * math.log(2 * math.pi)
        assert log == pytest.approx(asked, abs=1e-5)


@pytest.mark.parametrize("means", [1, 2, 3, 4, 6])
def test_a_mean_s_covariance_is_that_of_the_sum_of_its_conversions(means: int) -> None:
    kernel = np.exp(-np.abs(np.arange(-29, 30)) / 7.0)
    whole = toeplitz(kernel[29:])
    weights = np.array(
        [[1 / means if i <= k < i + means else 0.0 for k in range(30)] for i in (0, 9)]
    )
    covariance = weights @ whole @ weights.T
    passed = shared._passed(kernel, (means - abs(np.arange(1 - means, means))) / means**2, 30)
    assert passed[[0, 9]] == pytest.approx(covariance[0])


def test_what_is_joined_of_one_is_that_one() -> None:
    part = Posterior(100.0, 30.0, 20.0, 150.0)
    found = joined([(1.0, part)])
    assert (found.mean_nm, found.sd_nm) == (100.0, pytest.approx(30.0))
    assert (found.low_nm, found.high_nm) == (pytest.approx(20.0), pytest.approx(150.0))


def test_what_is_joined_of_two_has_their_quantiles() -> None:
    """Against scipy's normal distribution."""
    u = 300.0
    parts = [(0.7, 0.0), (0.3, -1_500.0)]
    found = joined([(s, Posterior(m, u, m - 1.959964 * u, m + 1.959964 * u)) for s, m in parts])
    for quantile, below in ((found.low_nm, 0.025), (found.high_nm, 0.975)):
        asked = brentq(
            lambda x, b=below: sum(s * norm.cdf((x - m) / u) for s, m in parts) - b, -4e3, 4e3
        )
        assert quantile == pytest.approx(asked, abs=0.1)
    assert found.mean_nm == pytest.approx(-450.0)
    assert found.sd_nm == pytest.approx(math.hypot(u, 1_500.0 * math.sqrt(0.21)))


@pytest.mark.slow
@pytest.mark.parametrize("kind", ["following, mean of 2", "following, mean of 4"])
@pytest.mark.parametrize("rate_hz", [20.0, 50.0])
def test_an_outside_display_that_averages_unsaid_is_told_with_that_doubt(
    kind: str, rate_hz: float
) -> None:
    row = row_of(KINDS[kind], rate_hz, range(100, 116))
    assert row.held >= len(row.errors_um) - 2
    assert len(row.errors_um) >= (14 if rate_hz > 20.0 or kind.endswith("2") else 4)


@pytest.mark.slow
def test_a_mean_of_four_at_ten_readings_a_second_is_hardly_ever_sized() -> None:
    row = row_of(KINDS["following, mean of 4"], 10.0, range(100, 116))
    assert len(row.errors_um) - row.held <= 1


@pytest.mark.slow
def test_at_50_readings_a_second_a_display_that_does_not_average_pays_nothing() -> None:
    for seed in range(100, 108):
        samples, traits, _ = one(KINDS["following"], 50.0, seed)
        assert traits.averages_ms is None
        said = size_trace(samples, replace(traits, averages_ms=0))
        unsaid = size_trace(samples, traits)
        assert isinstance(said, SweepSized)
        assert isinstance(unsaid, SweepSized)
        assert abs(unsaid.size_nm - said.size_nm) < 100
        assert unsaid.u_nm < 1.1 * said.u_nm


@pytest.mark.slow
def test_at_20_readings_a_second_a_display_that_does_not_average_pays_little() -> None:
    row = row_of(KINDS["following"], 20.0, range(100, 116))
    assert len(row.errors_um) >= 13
    assert row.held >= len(row.errors_um) - 1
    assert math.fsum(row.doubts_um) / len(row.doubts_um) < 1.6


@pytest.mark.slow
@pytest.mark.parametrize("rate_hz", [10.0, 20.0, 50.0])
def test_a_screw_that_rides_and_averages_unsaid_is_told_with_that_doubt(rate_hz: float) -> None:
    row = row_of(KINDS["riding, mean of 3"], rate_hz, range(100, 116))
    assert len(row.errors_um) >= 12
    assert row.held >= len(row.errors_um) - 1


@pytest.mark.slow
@pytest.mark.parametrize("rate_hz", [10.0, 20.0, 50.0])
def test_a_screw_that_rides_and_does_not_average_pays_little(rate_hz: float) -> None:
    doubts = []
    for seed in range(100, 110):
        samples, traits, _ = one(KINDS["screw that rides"], rate_hz, seed)
        found = [size_trace(samples, t) for t in (traits, replace(traits, averages_ms=0))]
        doubts.append([sized.u_nm for sized in found if isinstance(sized, SweepSized)])
    unsaid, said = zip(*doubts, strict=True)
    assert math.fsum(unsaid) < 1.15 * math.fsum(said)
