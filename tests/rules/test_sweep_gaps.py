"""A gap in a crest costs its pass, not the sweep; what else is wrong shows as without it."""

import random
from dataclasses import replace

import pytest

from barrelfit.rules.model import Movement
from barrelfit.rules.sweep import GaugeTraits, PassFound, PassLost, SweepRefused, SweepSized
from barrelfit.rules.sweep.stream import Sweep, size_trace
from tests.rules.sweep_bad import crests_of, joined
from tests.rules.sweep_physics import Trace, World, make, varied

WORLD = World(passes=8, stroke_s=2.6, reach_mm=8.0, tilt_deg=0.12, drop_share=0.0)
SIZE_NM = WORLD.diameter_mm * 1e6
MOVEMENTS = ("following", "screw", "bore")
TRAITS = {m: GaugeTraits(Movement(m), 1_000) for m in MOVEMENTS}


def with_gaps(samples: Trace, numbers: list[int], size_nm: float = SIZE_NM) -> Trace:
    """No readings from the middle of these crests to 0.7 s later, or to the crest's end."""
    crests = crests_of(samples, size_nm)
    for number in numbers:
        begin = crests[number][len(crests[number]) // 2]
        end = max(begin + 700_000_000, crests[number][-1] + 1)
        samples = [s for s in samples if not begin <= s[0] < end]
    return samples


def in_holds(samples: Trace, numbers: list[int]) -> Trace:
    """No readings for 0.4 s while these closings are held."""
    crests = crests_of(samples, SIZE_NM)
    for number in numbers:
        begin = crests[number][len(crests[number]) // 3]
        samples = [s for s in samples if not begin <= s[0] < begin + 400_000_000]
    return samples


@pytest.mark.slow
@pytest.mark.timeout(120)
@pytest.mark.parametrize("movement", MOVEMENTS)
@pytest.mark.parametrize("rate_hz", [10.0, 20.0, 50.0])
def test_three_gaps_leave_a_size(movement: str, rate_hz: float) -> None:
    whole, lost = 0, 0
    for seed in range(3):
        samples = make(movement, replace(WORLD, rate_hz=rate_hz), seed)
        if isinstance(size_trace(samples, TRAITS[movement]), SweepRefused):
            continue
        whole += 1
        found = size_trace(with_gaps(samples, [1, 3, 5]), TRAITS[movement])
        lost += isinstance(found, SweepRefused)
        if isinstance(found, SweepSized):
            assert abs(found.size_nm - SIZE_NM) < 4_000, seed
    assert whole >= 2
    assert lost == 0


@pytest.mark.slow
@pytest.mark.parametrize("movement", MOVEMENTS)
def test_a_lost_pass_is_told_as_it_happens_and_does_not_count(movement: str) -> None:
    sweep = Sweep(TRAITS[movement])
    samples = make(movement, replace(WORLD, rate_hz=20.0), 3)
    whole = sum(isinstance(n, PassFound) for s in samples for n in Sweep.push(sweep, *s))
    sweep = Sweep(TRAITS[movement])
    notes = [note for s in with_gaps(samples, [2]) for note in sweep.push(*s)]
    assert sum(isinstance(note, PassLost) for note in notes) == 1
    found = [note.number for note in notes if isinstance(note, PassFound)]
    assert found == list(range(1, len(found) + 1))
    assert whole - 2 <= len(found) <= whole - 1
    assert sweep.estimate() == size_trace(with_gaps(samples, [2]), TRAITS[movement])


@pytest.mark.slow
def test_a_held_screw_keeps_its_gaps() -> None:
    samples = make("screw", replace(WORLD, rate_hz=20.0), 4)
    whole = size_trace(samples, TRAITS["screw"])
    found = size_trace(in_holds(samples, [0, 1, 2, 3, 4]), TRAITS["screw"])
    assert isinstance(whole, SweepSized)
    assert isinstance(found, SweepSized)
    assert len(found.pass_sizes_nm) == len(whole.pass_sizes_nm)


@pytest.mark.slow
@pytest.mark.parametrize("movement", MOVEMENTS)
def test_gaps_in_all_passes_but_two_leave_none(movement: str) -> None:
    samples = make(movement, replace(WORLD, passes=5), 6)
    crests = len(crests_of(samples, SIZE_NM))
    found = size_trace(with_gaps(samples, list(range(crests - 2))), TRAITS[movement])
    assert isinstance(found, SweepRefused)
    assert found.reason == "gap-in-crest"


@pytest.mark.slow
@pytest.mark.parametrize("movement", MOVEMENTS)
def test_a_silence_in_a_crest_costs_its_pass(movement: str) -> None:
    samples = make(movement, replace(WORLD, rate_hz=20.0), 3)
    crest = crests_of(samples, SIZE_NM)[2]
    middle = crest[len(crest) // 2]
    sweep = Sweep(TRAITS[movement])
    silent = [(t + (4_000_000_000 if t > middle else 0), y) for t, y in samples]
    notes = [note for s in silent for note in sweep.push(*s)]
    assert any(isinstance(note, PassLost) for note in notes)
    found = sweep.estimate()
    assert isinstance(found, SweepSized)
    assert abs(found.size_nm - SIZE_NM) < 3_000


@pytest.mark.slow
@pytest.mark.parametrize("movement", MOVEMENTS)
@pytest.mark.parametrize("seed", range(4))
def test_parts_exchanged_in_a_gap_are_no_size(movement: str, seed: int) -> None:
    """The readings while the parts are changed are missing, and those of a crest on each side."""
    chance = random.Random(seed)  # noqa: S311  a simulated hand
    step_mm = chance.choice((-1, 1)) * chance.uniform(0.035, 0.06)
    one = replace(WORLD, passes=4, rate_hz=20.0)
    other = replace(one, diameter_mm=one.diameter_mm + step_mm)
    first = make(movement, one, seed)
    second = make(movement, other, seed + 100)
    first = with_gaps(first, [len(crests_of(first, SIZE_NM)) - 1])
    second = with_gaps(second, [0], other.diameter_mm * 1e6)
    found = size_trace(joined([first, second], 0.8), TRAITS[movement])
    assert isinstance(found, SweepRefused)


@pytest.mark.slow
@pytest.mark.parametrize("movement", ["following", "bore"])
@pytest.mark.parametrize("seed", range(4))
def test_chords_with_gaps_are_no_size(movement: str, seed: int) -> None:
    chance = random.Random(seed)  # noqa: S311  a simulated hand
    world = replace(WORLD, rate_hz=20.0, rock_short=True)
    samples = make("chords" if movement == "following" else "bore", world, seed)
    for _ in range(3):
        begin = samples[chance.randrange(len(samples) // 2)][0]
        end = begin + round(chance.uniform(0.3, 0.8) * 1e9)
        samples = [s for s in samples if not begin < s[0] < end]
    assert isinstance(size_trace(samples, TRAITS[movement]), SweepRefused)


@pytest.mark.slow
@pytest.mark.parametrize("movement", MOVEMENTS)
@pytest.mark.parametrize("seed", range(3))
def test_a_drift_with_gaps_is_no_size(movement: str, seed: int) -> None:
    still = make(movement, replace(WORLD, rate_hz=20.0), seed)
    moves = 60.0 / (still[-1][0] / 1e9)
    samples = make(movement, replace(WORLD, rate_hz=20.0, drift_um_s=moves), seed)
    crests = crests_of(still, SIZE_NM)
    for number in (2, 4):
        begin = crests[number][0]
        samples = [s for s in samples if not begin <= s[0] < begin + 500_000_000]
    assert isinstance(size_trace(samples, TRAITS[movement]), SweepRefused)


@pytest.mark.slow
def test_quick_hands_are_seldom_called_two_parts_and_two_parts_always() -> None:
    """Two to four readings a pass, tilts of 0.1 to 0.2°; parts 30 µm apart."""
    told = []
    for seed in range(12):
        one = replace(varied(seed, World(rate_hz=10.0)), passes=3)
        other = replace(one, diameter_mm=one.diameter_mm + (0.03 if seed % 2 else -0.03))
        traits = GaugeTraits(Movement.FOLLOWING, round(one.digit_mm * 1e6))
        swapped = joined([make("following", one, seed), make("following", other, seed + 50)], 0.3)
        assert isinstance(size_trace(swapped, traits), SweepRefused), seed
        told.append(size_trace(make("following", replace(one, passes=6), seed), traits))
    exchanged = [f for f in told if isinstance(f, SweepRefused) and f.reason == "part-exchanged"]
    assert len(exchanged) <= 1
