"""What one sweep tells the next of noise and barrel, against sums written out and SciPy's normals.

The reference works p(y | D, S, c, T) out by itself: the normal distribution is `scipy.stats.norm`,
the integral over the tilt SciPy's Simpson rule, and what the parts share is summed by running
through every pair, as Bayes' theorem says (JCGM 106:2012, 6.2, from memory).
"""

import math
import random
from itertools import pairwise, product

import numpy as np
import pytest
from scipy.integrate import simpson
from scipy.stats import norm

from barrelfit.rules.sweep import Lesson
from barrelfit.rules.sweep.floor import FloorFit, fit_floor
from barrelfit.rules.sweep.lessons import (
    BARRELS_NM,
    BESIDE,
    NOISES_NM,
    OTHER_BARREL,
    OTHER_NOISE,
    prior_after,
)
from barrelfit.rules.sweep.scatters import scatters_for
from tests.bench.set_study import Kind, rows_of

DIGIT_NM = 1_000
BOUNCES, BOUNCE_NM = 0.02, 60_000
PAIRS = list(product(BARRELS_NM, NOISES_NM))
NOBODY = Lesson(((0.0,) * len(NOISES_NM),) * len(BARRELS_NM))


def readings(seed: int, barrel_nm: int, size_nm: int = 85_000_000) -> list[list[int]]:
    """Readings of a rocking part, each a pass of its own: none repeats another."""
    chance = random.Random(seed)  # noqa: S311  a simulated hand
    lengths = []
    for _ in range(24):
        tilt = abs(chance.gauss(0, 9_000))
        lift = tilt * tilt / (4 * barrel_nm) if tilt < 2 * barrel_nm else tilt - barrel_nm
        lengths.append(size_nm + lift + chance.gauss(0, 700))
    return [[round(length / DIGIT_NM) * DIGIT_NM] for length in lengths]


def reference(passes: list[list[int]]) -> tuple[np.ndarray, dict[tuple[int, int], np.ndarray]]:
    """Sizes (nm), and Σ_T π(T)·Π p(y | D, S, c, T) at each of them, by barrel and noise."""
    ordered = sorted(length for crest in passes for length in crest)
    sizes = np.arange(ordered[0] - 6_000, ordered[0] + 4_001, 200)
    lifts = np.array(ordered)[:, None] - sizes[None, :]
    only = np.unique(lifts)
    found = {pair: np.zeros(len(sizes)) for pair in PAIRS}
    for way in scatters_for(ordered, DIGIT_NM):
        s, barrel = way.scatter, way.scatter.barrel_nm
        tilts = np.linspace(0.0, 6.0 * s.spread_nm, 201 + 2 * (6 * s.spread_nm // s.noise_nm))
        face = tilts**2 / (4 * barrel) if barrel else tilts
        up = only[None, :] - np.where(tilts < 2 * barrel, face, tilts - barrel)[:, None]
        half = DIGIT_NM / 2
        seen = norm.cdf((up + half) / s.noise_nm) - norm.cdf((up - half) / s.noise_nm)
        tilted = 2 * norm.pdf(tilts / s.spread_nm) / s.spread_nm
        density = simpson(tilted[:, None] * seen / DIGIT_NM, x=tilts, axis=0)
        density = (1 - BOUNCES) * density + BOUNCES / (2 * BOUNCE_NM)
        by_size = np.prod(density[np.searchsorted(only, lifts)] * 1e4, axis=0)
        found[barrel, s.noise_nm] += way.spread_share * by_size
    return sizes, found


def nearly(priors: dict[int, float], x: int, shared: int, other: float) -> float:
    """K(x | x₀), written out."""
    steps = list(priors)
    beside = {b for a, b in (*pairwise(steps), *pairwise(steps[::-1])) if a == shared and a and b}
    near = {b: BESIDE * min(priors[b] / priors[shared], 1.0) for b in beside}
    near[shared] = 1.0 - sum(near.values())
    return (1 - other) * near.get(x, 0.0) + other * priors[x] / sum(priors.values())


def together(pair: tuple[int, int], shared: tuple[int, int]) -> float:
    return nearly(BARRELS_NM, pair[0], shared[0], OTHER_BARREL) * nearly(
        NOISES_NM, pair[1], shared[1], OTHER_NOISE
    )


def usual(pair: tuple[int, int]) -> float:
    return BARRELS_NM[pair[0]] * NOISES_NM[pair[1]]


def prior_written_out(told: list[dict[tuple[int, int], float]]) -> dict[tuple[int, int], float]:
    """π'(S, c) by running through every pair of each sweep and of what they share."""
    found = dict.fromkeys(PAIRS, 0.0)
    for shared in PAIRS:
        weight = usual(shared)
        for lesson in told:
            weight *= sum(together(pair, shared) * lesson[pair] for pair in PAIRS)
        for pair in PAIRS:
            found[pair] += weight * together(pair, shared)
    total = sum(found.values())
    return {pair: share / total for pair, share in found.items()}


def told_by(fit: FloorFit) -> dict[tuple[int, int], float]:
    """A lesson's evidence by barrel and noise."""
    logs = fit.lesson.logs
    return {
        (barrel, noise): math.exp(logs[n][k])
        for n, barrel in enumerate(BARRELS_NM)
        for k, noise in enumerate(NOISES_NM)
    }


@pytest.mark.slow
@pytest.mark.timeout(120)  # the reference's sums take long on a busy machine
@pytest.mark.parametrize("barrel_nm", [1, 3_500])
def test_a_lesson_is_the_evidence_summed_over_size_and_spread(barrel_nm):
    passes = readings(1, barrel_nm)
    _, found = reference(passes)
    best = max(by_size.sum() for by_size in found.values())
    for pair, told in told_by(fit_floor(passes, DIGIT_NM)).items():
        log = math.log(found[pair].sum() / best)
        assert math.log(told) == pytest.approx(max(log, -9.0), abs=0.1), pair


def test_what_lessons_leave_is_what_running_through_every_pair_finds():
    fits = [fit_floor(readings(seed, 3_500), DIGIT_NM) for seed in (1, 2, 3)]
    after = prior_after([fit.lesson for fit in fits])
    expected = prior_written_out([told_by(fit) for fit in fits])
    for n, barrel in enumerate(BARRELS_NM):
        for k, noise in enumerate(NOISES_NM):
            assert after[n, k] == pytest.approx(expected[barrel, noise], rel=1e-9)
    assert after.sum() == pytest.approx(1.0)


@pytest.mark.slow
@pytest.mark.timeout(120)  # the reference's sums take long on a busy machine
def test_a_size_after_lessons_is_that_of_all_readings_together():
    """Of a sweep alone, and of one after another: the mean of the size's density, summed out."""
    first, second = readings(4, 3_500), readings(5, 3_500)
    lesson = fit_floor(first, DIGIT_NM).lesson
    _, by_first = reference(first)
    sizes, by_second = reference(second)
    told = {pair: float(by_size.sum()) for pair, by_size in by_first.items()}
    for lessons, shares in (((), prior_written_out([])), ((lesson,), prior_written_out([told]))):
        density = sum(shares[pair] * by_second[pair] for pair in PAIRS)
        mean = float((sizes * density).sum() / density.sum())
        found = fit_floor(second, DIGIT_NM, lessons=lessons)
        assert found.posterior.mean_nm == pytest.approx(mean, abs=30)


def test_the_order_of_lessons_is_nothing_and_one_that_tells_nothing_changes_nothing():
    lessons = [fit_floor(readings(seed, 3_500), DIGIT_NM).lesson for seed in (1, 2, 3)]
    assert (prior_after(lessons) == prior_after(lessons[::-1])).all()
    assert prior_after([NOBODY, *lessons]) == pytest.approx(prior_after(lessons))
    alone = fit_floor(readings(4, 3_500), DIGIT_NM)
    assert fit_floor(readings(4, 3_500), DIGIT_NM, lessons=[NOBODY]).posterior.mean_nm == (
        pytest.approx(alone.posterior.mean_nm, abs=1e-3)
    )


def test_what_a_sweep_tells_is_the_same_whatever_was_known_before():
    lessons = [fit_floor(readings(seed, 1), DIGIT_NM).lesson for seed in (1, 2, 3)]
    passes = readings(6, 7_000)
    after, alone = (fit_floor(passes, DIGIT_NM, lessons=known).lesson for known in (lessons, ()))
    assert np.array(after.logs) == pytest.approx(np.array(alone.logs), abs=0.1)


def test_noise_is_never_learned_alone():
    """Two gauges' noise is told apart by one lesson each only together with the barrel."""
    lesson = fit_floor(readings(1, 7_000), DIGIT_NM).lesson
    after = prior_after([lesson])
    apart = after / (after.sum(axis=1, keepdims=True) * after.sum(axis=0, keepdims=True))
    assert apart.max() / apart.min() > 1.5  # noise and barrel are no two matters of their own


def test_no_number_of_neighbours_makes_a_part_what_its_own_readings_speak_against():
    """Of many cylinders alike, the next one still is barrelled once in so many."""
    lesson = fit_floor(readings(1, 1), DIGIT_NM).lesson
    after = prior_after([lesson] * 40).sum(axis=1)
    assert after[1:].sum() > OTHER_BARREL * 0.4


@pytest.mark.long
@pytest.mark.timeout(1_800)
@pytest.mark.parametrize("model", ["other", "quick"])
def test_intervals_of_taught_sizes_hold_the_truth_with_an_odd_piston_among_them(model):
    rows = dict(rows_of(Kind(model, odd=True), 20.0, range(100, 124)))
    row = rows["taught, third to fifth"]
    assert row.held >= 0.92 * len(row.errors_um)
    odd = rows["taught, the odd one"]
    assert odd.held >= 0.85 * len(odd.errors_um)  # some 20 of them
