"""Never a size from a sweep that holds none: every trouble, every movement, seeded."""

from collections import Counter

import pytest

from barrelfit.rules.manner import told
from barrelfit.rules.model import Movement
from barrelfit.rules.sweep import GaugeTraits, SweepRefused, SweepSized
from barrelfit.rules.sweep.refusals import REFUSALS
from barrelfit.rules.sweep.stream import Sweep, size_trace
from tests.rules.sweep_bad import TROUBLES, bad_sweep
from tests.rules.sweep_physics import World, make

MOVEMENTS = ("following", "screw", "bore")
FEW, MANY = 6, 3_334  # of each movement: 10,000 of each trouble


def refused_reasons(trouble: str, movement: str, seeds: range) -> Counter[str]:
    """Count the reasons; a size among them is an error that names its seed."""
    reasons: Counter[str] = Counter()
    for seed in seeds:
        bad = bad_sweep(trouble, movement, seed)
        result = size_trace(bad.samples, bad.traits)
        assert isinstance(result, SweepRefused), f"{trouble}, {movement}, seed {seed}: {result}"
        assert told(result.sentence)
        assert told(result.advice)
        reasons[result.reason] += 1
    return reasons


@pytest.mark.slow
@pytest.mark.parametrize("movement", MOVEMENTS)
@pytest.mark.parametrize("trouble", TROUBLES)
def test_a_spoiled_sweep_is_refused(trouble: str, movement: str) -> None:
    reasons = refused_reasons(trouble, movement, range(FEW))
    assert set(reasons) <= set(REFUSALS)


@pytest.mark.long
@pytest.mark.timeout(3_600)
@pytest.mark.parametrize("movement", MOVEMENTS)
@pytest.mark.parametrize("trouble", TROUBLES)
def test_ten_thousand_of_each_are_refused(trouble: str, movement: str) -> None:
    refused_reasons(trouble, movement, range(MANY))


@pytest.mark.slow
@pytest.mark.parametrize(
    ("trouble", "movement", "reason"),
    [
        ("no-contact", "following", "no-contact"),
        ("too-few-passes", "bore", "too-few-passes"),
        ("drift", "screw", "drift"),
        ("gap-in-crest", "following", "gap-in-crest"),
        ("stale-times", "bore", "stale-times"),
        ("out-of-range", "screw", "out-of-range"),
    ],
)
def test_the_reason_fits_the_trouble(trouble: str, movement: str, reason: str) -> None:
    reasons = refused_reasons(trouble, movement, range(10, 10 + FEW))
    assert reasons.most_common(1)[0][0] == reason


def test_nothing_at_all_is_no_contact() -> None:
    result = size_trace([], GaugeTraits(Movement.FOLLOWING, 1_000))
    assert isinstance(result, SweepRefused)
    assert result.reason == "no-contact"


@pytest.mark.slow
def test_too_few_passes_counts_them() -> None:
    samples = make("screw", World(passes=2), 1)
    result = size_trace(samples, GaugeTraits(Movement.SCREW, 1_000))
    assert isinstance(result, SweepRefused)
    assert told(result.sentence) == "only 2 of at least 3 closings that were held"


@pytest.mark.slow
def test_fewer_passes_may_be_asked_for() -> None:
    samples = make("screw", World(passes=2), 1)
    result = size_trace(samples, GaugeTraits(Movement.SCREW, 1_000, passes_min=2))
    assert isinstance(result, SweepSized)


@pytest.mark.slow
def test_one_repeated_time_refuses_the_whole_sweep() -> None:
    samples = make("screw", World(), 1)
    sweep = Sweep(GaugeTraits(Movement.SCREW, 1_000))
    for t_ns, length in samples:
        sweep.push(t_ns, length)
    sweep.push(samples[-1][0], samples[-1][1])
    result = sweep.estimate()
    assert isinstance(result, SweepRefused)
    assert result.reason == "stale-times"
