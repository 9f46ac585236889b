"""The estimators' arithmetic against NumPy and SciPy, and against closed forms."""

import math
import random
from itertools import pairwise
from statistics import NormalDist

import numpy as np
import pytest
from scipy import integrate, stats

from barrelfit.rules.manner import told_all
from barrelfit.rules.model import Movement
from barrelfit.rules.sweep import GaugeTraits
from barrelfit.rules.sweep.agreement import APART, DRIFT, disagreement, odds_of
from barrelfit.rules.sweep.crest import crest_zone
from barrelfit.rules.sweep.dome import plateau_mm
from barrelfit.rules.sweep.excess import (
    ABOVE_NM,
    BELOW_NM,
    BOUNCE_NM,
    BOUNCE_SHARE,
    FAR_NM,
    STEP_NM,
    Scatter,
    lift_to_tilt,
    log_tables,
    places,
)
from barrelfit.rules.sweep.finder import PassFinder
from barrelfit.rules.sweep.floor import correlation_time, fit_floor
from barrelfit.rules.sweep.lines import fit_polynomial, value_at
from barrelfit.rules.sweep.movements import hills_of
from barrelfit.rules.sweep.posterior import moments, widened
from barrelfit.rules.sweep.refusals import REFUSALS, refuse, too_few
from barrelfit.rules.sweep.rock import fit_rocks, rock_window
from barrelfit.rules.sweep.stairs import held_posterior, last_stairs
from tests.rules.sweep_physics import World, make, outside_mm

SCATTERS = [Scatter(450, 0, 15_000), Scatter(1_250, 3_500, 12_000), Scatter(650, 13_000, 20_000)]


def density(z: float, scatter: Scatter) -> float:
    """The density as the module's docstring writes it, integrated by SciPy (per nm)."""
    c = scatter.barrel_nm

    tilt, noise = NormalDist(0, scatter.spread_nm).pdf, NormalDist(0, scatter.noise_nm).pdf

    def lift(s: float) -> float:
        return s - c if s > 2 * c else s * s / (4 * c)

    def at(s: float) -> float:
        return 2 * tilt(s) * noise(z - lift(s))

    top = 8 * scatter.spread_nm
    near = lift_to_tilt(max(z, 0.0), c)
    cuts = sorted({0.0, min(2.0 * c, top), max(near - 9_000, 0), near, near + 9_000, top})
    total = sum(integrate.quad(at, a, b, limit=200)[0] for a, b in pairwise(cuts))
    return (1 - BOUNCE_SHARE) * total + BOUNCE_SHARE / (2 * BOUNCE_NM)


@pytest.mark.slow
@pytest.mark.parametrize("scatter", SCATTERS)
def test_the_density_of_crest_readings_is_its_integral(scatter: Scatter) -> None:
    lengths = [-1_500, 0, 700, 2_500, 6_000, 13_500, 19_000, 25_000, 60_000]
    told = np.exp(log_tables([scatter], 200).densities[0][places(np.array(lengths))])
    for z, found in zip(lengths, told, strict=True):
        ends, sides = (density(z - x, scatter) + density(z + x, scatter) for x in (100, 50))
        mean = (7 * ends + 32 * sides + 12 * density(z, scatter)) / 90  # Boole's rule, over a digit
        assert found == pytest.approx(mean, rel=0.01), z


@pytest.mark.slow
@pytest.mark.parametrize("scatter", SCATTERS)
def test_a_coarse_digit_shows_the_mean_density_of_its_lengths(scatter: Scatter) -> None:
    lengths = np.array([-6_000, -1_000, 2_000, 9_000])
    told = np.exp(log_tables([scatter], 10_000).densities[0][places(lengths)])
    for z, found in zip(lengths, told, strict=True):
        inside = np.linspace(z - 5_000, z + 5_000, 81)
        mean = integrate.trapezoid([density(x, scatter) for x in inside], inside) / 10_000
        assert found == pytest.approx(mean, rel=0.02), z


@pytest.mark.parametrize("digit_nm", [500, 1_270, 10_000])
@pytest.mark.parametrize("scatter", SCATTERS)
def test_the_digits_shares_sum_to_one(scatter: Scatter, digit_nm: int) -> None:
    shown = np.arange(-60_000, 120_000, digit_nm) + 300
    total = digit_nm * np.exp(log_tables([scatter], digit_nm).densities[0][places(shown)]).sum()
    assert total == pytest.approx(1.0, abs=0.03)
    shares = log_tables([scatter], digit_nm).shares[0]
    assert math.exp(shares[-1]) == pytest.approx(1.0, abs=0.02)
    assert all(a <= b for a, b in pairwise(shares))


def test_a_length_stands_at_the_nearest_step_and_outside_at_an_end() -> None:
    lengths = np.array([-BELOW_NM - 1, -BELOW_NM, 49 - BELOW_NM, 50 - BELOW_NM, ABOVE_NM - STEP_NM])
    assert places(lengths).tolist() == [0, 0, 0, 1, (ABOVE_NM + BELOW_NM) // STEP_NM - 1]
    last = len(log_tables(SCATTERS[:1], 200).shares[0]) - 1
    assert places(np.array([FAR_NM, 2 * FAR_NM])).tolist() == [last, last]


def test_lift_and_tilt_are_each_others_inverse() -> None:
    for barrel in (0.0, 1_500.0, 9_000.0):
        for tilt in (0.0, 500.0, 2_999.0, 3_001.0, 40_000.0):
            edge = tilt > 2 * barrel or barrel == 0
            lift = tilt - barrel if edge else tilt * tilt / (4 * barrel)
            assert lift_to_tilt(lift, barrel) == pytest.approx(tilt)


@pytest.mark.parametrize("terms", [2, 3, 4])
def test_weighted_polynomials_are_numpys(terms: int) -> None:
    chance = random.Random(terms)  # noqa: S311  a test's chance
    points = [(k / 5, chance.gauss(0, 3), chance.uniform(0.2, 4)) for k in range(9)]
    ours = fit_polynomial(points, terms)
    assert ours is not None
    x, y, w = (np.array(column) for column in zip(*points, strict=True))
    theirs = np.polynomial.polynomial.polyfit(x, y, terms - 1, w=np.sqrt(w))
    assert ours == pytest.approx(tuple(theirs), rel=1e-9)
    assert value_at(ours, 0.7) == pytest.approx(np.polynomial.polynomial.polyval(0.7, theirs))


def test_points_that_determine_no_curve_give_none() -> None:
    assert fit_polynomial([(1.0, 2.0, 1.0), (1.0, 3.0, 1.0)], 2) is None


def test_moments_of_a_normal_density() -> None:
    logs = {x: float(stats.norm.logpdf(x, 1_000, 300)) for x in range(-1_000, 3_001, 20)}
    found = moments(logs)
    assert found.mean_nm == pytest.approx(1_000, abs=1)
    assert found.sd_nm == pytest.approx(300, abs=1)
    assert found.low_nm == pytest.approx(stats.norm.ppf(0.025, 1_000, 300), abs=3)
    assert found.high_nm == pytest.approx(stats.norm.ppf(0.975, 1_000, 300), abs=3)
    wider = widened(found, 400.0)
    assert wider.sd_nm == pytest.approx(500, abs=2)
    assert wider.high_nm - wider.mean_nm == pytest.approx(500 * 1.95996, abs=5)


def test_a_density_on_one_step_of_the_grid_is_widened_by_the_model_alone() -> None:
    narrow = moments({900: -1e3, 1_000: 0.0, 1_100: -1e3})
    wider = widened(narrow, 110.0)
    assert wider.sd_nm == pytest.approx(110, abs=1)
    assert wider.high_nm - wider.low_nm == pytest.approx(2 * math.hypot(50, 1.96 * 110), abs=15)


def test_a_held_level_between_two_digits_is_found_by_their_shares() -> None:
    """Rounded to 1 µm with 0.35 µm noise, a level at .25 of a digit shows the next one rarely."""
    chance = random.Random(5)  # noqa: S311  a test's chance
    closings = [
        [round((84_000_250 + chance.gauss(0, 350)) / 1_000) * 1_000 for _ in range(40)]
        for _ in range(5)
    ]
    found = held_posterior(closings, 1_000, last_stairs(closings, 1_000))
    assert found.mean_nm == pytest.approx(84_000_250, abs=150)
    assert found.low_nm < 84_000_250 < found.high_nm


def test_the_last_stair_of_closings_tells_the_size() -> None:
    """Two stairs at 3 and 1.2 µm over the size, for most of the time, before the last one."""
    chance = random.Random(7)  # noqa: S311  a test's chance
    stairs = [3_000] * 12 + [1_200] * 14 + [0] * 10 + [25_000]
    closings = [
        [round((84_000_300 + up + chance.gauss(0, 400)) / 1_000) * 1_000 for up in stairs]
        for _ in range(6)
    ]
    last = last_stairs(closings, 1_000)
    assert all(len(stair) < 24 for stair in last)
    found = held_posterior(closings, 1_000, last)
    assert found.mean_nm == pytest.approx(84_000_300, abs=250)
    assert found.low_nm < 84_000_300 < found.high_nm


@pytest.mark.parametrize("digit_nm", [1_000, 10_000])
def test_a_reading_that_never_flickers_leaves_the_size_open_by_its_digit(digit_nm: int) -> None:
    """However often it is read: 2 s at 50/s, six closings, all on one digit."""
    closings = [[84_000_000] * 100] * 6
    found = held_posterior(closings, digit_nm, closings)
    assert found.low_nm < 84_000_000 - 0.3 * digit_nm
    assert found.high_nm > 84_000_000 + 0.2 * digit_nm
    assert found.sd_nm < 0.35 * digit_nm


@pytest.mark.slow
def test_rocks_without_noise_give_the_size_within_a_tenth_of_a_micrometre() -> None:
    calm = World(rate_hz=10.0, noise_um=0.0, digit_mm=1e-6, bounce_share=0.0, drop_share=0.0)
    samples = make("bore", calm, 2)
    fit = fit_rocks(_rock_windows(samples))
    assert fit.size_nm == pytest.approx(calm.diameter_mm * 1e6, abs=100)
    assert 0.5 < fit.bend < 1.5


def _rock_windows(samples: list[tuple[int, int]]) -> list[list[tuple[int, int]]]:
    finder = PassFinder(hills_of(Movement.BORE).shape, -1)
    hills = [hill for sample in samples if (hill := finder.push(*sample)) is not None]
    return [window for hill in hills if (window := rock_window(hill))]


def test_the_crest_zone_is_where_the_axis_was_between_the_anvils() -> None:
    """Swept evenly at 10 mm/s past flat anvils of 6.5 mm: the crest lasts 0.65 s."""
    world = World(diameter_mm=84.0)
    hill = [
        (round(k * 0.02 * 1e9), round(outside_mm(world, -8 + 0.2 * k, 0.0) * 1e6))
        for k in range(81)
    ]
    zone = crest_zone(hill, 84_000_000, 6_500_000)
    inside = [k for k in range(81) if abs(-8 + 0.2 * k) < 3.25]
    assert abs(zone.first - inside[0]) <= 1
    assert abs(zone.last - inside[-1]) <= 1
    went = plateau_mm(hill, 84_000_000)
    assert went == pytest.approx(6.5 + 2 * 0.9, abs=0.3)


def test_readings_that_repeat_count_for_less() -> None:
    chance = random.Random(2)  # noqa: S311  a test's chance
    fresh = [[round(abs(chance.gauss(0, 15_000))) for _ in range(40)] for _ in range(6)]
    slow = [[y for y in crest[:10] for _ in range(4)] for crest in fresh]
    assert correlation_time(fresh) < 1.6
    assert correlation_time(slow) > 2.5


def test_a_floor_under_tilt_is_found() -> None:
    """One-sided lifts of 15 µm spread over a floor at 84 mm, 0.6 µm noise, 1 µm digit."""
    chance = random.Random(11)  # noqa: S311  a test's chance
    crests = [
        [
            round((84e6 + abs(chance.gauss(0, 15_000)) + chance.gauss(0, 600)) / 1e3) * 1_000
            for _ in range(30)
        ]
        for _ in range(6)
    ]
    fit = fit_floor(crests, 1_000)
    assert fit.posterior.mean_nm == pytest.approx(84e6, abs=1_500)
    assert fit.posterior.low_nm < 84e6 < fit.posterior.high_nm


def wandering(seed: int, pulls_s: float) -> list[list[tuple[int, int]]]:
    """Six passes of a second at 20/s: tilt pulled back to the upright, 12 µm, 0.6 µm noise."""
    chance = random.Random(seed)  # noqa: S311  a test's chance
    keep = math.exp(-0.05 / pulls_s)
    tilt, passes = chance.gauss(0, 12_000), []
    for number in range(6):
        used = []
        for k in range(20):
            tilt = keep * tilt + chance.gauss(0, 12_000 * math.sqrt(1 - keep * keep))
            length = round((84e6 + abs(tilt) + chance.gauss(0, 600)) / 1e3) * 1_000
            used.append((round((2.0 * number + 0.05 * k) * 1e9), length))
        passes.append(used)
    return passes


@pytest.mark.parametrize("pulls_s", [0.05, 0.2, 0.5])
def test_a_steady_part_agrees_whatever_the_hand_does(pulls_s: float) -> None:
    refused = sum(bool(disagreement(wandering(seed, pulls_s), 1_000)) for seed in range(20))
    assert refused <= 1  # 1 in 40 is allowed for


def raised(used: list[tuple[int, int]], by_nm: int) -> list[tuple[int, int]]:
    return [(t, length + by_nm) for t, length in used]


@pytest.mark.parametrize("pulls_s", [0.05, 0.2])
def test_what_passes_differ_by_is_told(pulls_s: float) -> None:
    for seed in range(10):
        passes = wandering(seed, pulls_s)
        drifting = [raised(used, 6_000 * k) for k, used in enumerate(passes)]
        assert odds_of(drifting, 1_000).drift > DRIFT
        another = passes[:3] + [raised(used, 30_000) for used in passes[3:]]
        assert odds_of(another, 1_000).halves > APART
        one = [*passes[:2], raised(passes[2], 60_000), *passes[3:]]
        assert odds_of(one, 1_000).one > APART
        assert disagreement(drifting, 1_000)
        assert disagreement(another, 1_000)
        assert disagreement(one, 1_000)


def test_one_pass_leant_between_others_is_the_hands_a_lower_or_an_outer_one_is_not() -> None:
    said = dict.fromkeys(("middle", "lower", "first", "few"), 0)
    for seed in range(10):
        passes = wandering(seed, 0.1)
        for where, number, by_nm, count in (
            ("middle", 2, 27_000, 6),
            ("lower", 2, -40_000, 6),
            ("first", 0, 35_000, 6),
            ("few", 1, 35_000, 3),
        ):
            moved = [raised(u, by_nm * (n == number)) for n, u in enumerate(passes[:count])]
            said[where] += bool(disagreement(moved, 1_000))
    assert said["middle"] <= 1
    assert min(said["lower"], said["first"], said["few"]) >= 9


def test_every_refusal_says_what_is_wrong_and_what_to_do() -> None:
    few = too_few(GaugeTraits(Movement.FOLLOWING, 1_000), 2)
    refused = [few if r == few.reason else refuse(r, Movement.FOLLOWING) for r in REFUSALS]
    for sentence, advice in (told_all([r.sentence, r.advice]) for r in refused):
        assert sentence[0].islower()
        assert advice[0].islower()
        assert not sentence.endswith(".")
