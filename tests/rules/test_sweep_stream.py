"""The stream: each reading once, the same answer however it comes, bounded memory, notes."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from barrelfit.rules.model import Movement
from barrelfit.rules.sweep import (
    GaugeTraits,
    Left,
    PassFound,
    SweepContact,
    SweepNote,
    SweepRefused,
    SweepSized,
)
from barrelfit.rules.sweep.finder import KEPT_MAX, PassFinder
from barrelfit.rules.sweep.movements import entry_of, hills_of
from barrelfit.rules.sweep.stream import Sweep, size_trace, sweep_of
from tests.rules.sweep_physics import Trace, World, make

TRAITS = {m: GaugeTraits(Movement(m), 1_000) for m in ("following", "screw", "bore")}


def pushed(sweep: Sweep, samples: Trace) -> list[SweepNote]:
    return [note for t_ns, length in samples for note in sweep.push(t_ns, length)]


@pytest.mark.slow
@settings(max_examples=12, deadline=None)
@given(
    movement=st.sampled_from(["following", "screw", "bore"]),
    rate_hz=st.sampled_from([5.0, 10.0, 23.0, 50.0]),
    seed=st.integers(0, 10_000),
    data=st.data(),
)
def test_streamed_in_pieces_is_offline_to_the_nanometre(
    movement: str, rate_hz: float, seed: int, data: st.DataObject
) -> None:
    """Asking in between, piece by piece, changes nothing; the answers are equal as values."""
    samples = make(movement, World(rate_hz=rate_hz, passes=4), seed)
    whole = size_trace(samples, TRAITS[movement])
    cuts = sorted(data.draw(st.lists(st.integers(0, len(samples)), max_size=3)))
    sweep = Sweep(TRAITS[movement])
    for begin, end in zip([0, *cuts], [*cuts, len(samples)], strict=True):
        pushed(sweep, samples[begin:end])
        sweep.estimate()
    assert sweep.estimate() == whole


@settings(max_examples=60, deadline=None)
@given(
    movement=st.sampled_from(list(Movement)),
    lengths=st.lists(st.integers(-(10**9), 10**9), max_size=60),
    steps=st.lists(st.integers(-(10**9), 10**10), min_size=60, max_size=60),
)
def test_no_stream_whatever_breaks_a_sweep(
    movement: Movement, lengths: list[int], steps: list[int]
) -> None:
    sweep = sweep_of(GaugeTraits(movement, 1_000))
    t_ns = 0
    for length, step in zip(lengths, steps, strict=False):
        t_ns += step
        sweep.push(t_ns, length)
    assert isinstance(sweep.estimate(), SweepSized | SweepRefused)


@pytest.mark.slow
@pytest.mark.parametrize("movement", ["following", "screw", "bore"])
def test_every_pass_is_told_once_and_in_order(movement: str) -> None:
    world = World(passes=6, rest_mm=1.0, stroke_s=2.0)
    notes = pushed(Sweep(TRAITS[movement]), make(movement, world, 5))
    assert isinstance(notes[0], SweepContact)
    numbers = [note.number for note in notes if isinstance(note, PassFound)]
    assert numbers == list(range(1, len(numbers) + 1))
    assert len(numbers) >= 5


def still(samples: Trace, seconds: int) -> Trace:
    """The last reading repeated for a while, 20 times a second."""
    t_ns, length = samples[-1]
    return [(t_ns + k * 50_000_000, length) for k in range(1, 20 * seconds)]


@pytest.mark.slow
@pytest.mark.parametrize("movement", ["following", "screw", "bore"])
def test_a_part_that_left_is_told_once(movement: str) -> None:
    samples = make(movement, World(rest_mm=1.0), 5)
    notes = pushed(Sweep(TRAITS[movement]), samples + still(samples, 6))
    assert sum(isinstance(note, Left) for note in notes) == 1
    assert isinstance(notes[-1], Left)


@pytest.mark.slow
@pytest.mark.parametrize("rate_hz", [5.0, 10.0, 20.0, 50.0])
@pytest.mark.parametrize("away_s", [None, 4.0])
def test_a_part_has_left_after_the_same_time_at_every_rate(
    rate_hz: float, away_s: float | None
) -> None:
    """From its last chord on, however few readings come in that time."""
    samples = make("following", World(rate_hz=rate_hz, passes=4, stroke_s=2.5), 3)
    last_ns, size_nm = samples[-1][0], max(length for _, length in samples)
    ended_ns = next(t for t, length in reversed(samples) if length > size_nm - 100_000)
    step_ns = round(1e9 / rate_hz)
    stop_nm = min(length for _, length in samples) - 1_000_000
    away = [(last_ns + n * step_ns, stop_nm) for n in range(1, round(8 * rate_hz))]
    sweep = Sweep(TRAITS["following"])
    if away_s is not None:
        sweep.waits(round(away_s * 1e9))
    left = next(n for n in pushed(sweep, [*samples, *away]) if isinstance(n, Left))
    want_ns = 2_500_000_000 if away_s is None else round(away_s * 1e9)
    assert left.t_ns - ended_ns == pytest.approx(want_ns, abs=0.2e9 + 2.5 * step_ns)
    assert sweep.passes == 4


def test_a_long_silence_is_a_departure() -> None:
    samples = make("bore", World(), 5)
    sweep = Sweep(TRAITS["bore"])
    pushed(sweep, samples)
    notes = sweep.push(samples[-1][0] + 10 * 10**9, samples[-1][1])
    assert any(isinstance(note, Left) for note in notes)


@pytest.mark.parametrize("movement", [m for m in Movement if m is not Movement.HELD])
def test_memory_stays_bounded(movement: Movement) -> None:
    """A part felt on its crest for an hour: only the youngest readings are kept."""
    finder = PassFinder(hills_of(movement).shape, entry_of(movement).crest_sign)
    sign = 1 if movement is Movement.FOLLOWING else -1
    for k in range(20_000):
        height = min(k * 10_000, 2_000_000)  # up onto the crest, and there for ever
        finder.push(k * 20_000_000, 84_000_000 + sign * height)
    assert len(finder._kept) <= KEPT_MAX
    assert len(finder._since_floor) <= KEPT_MAX
