"""A simulated scale: its swing, its frames, and what the daemon's driver makes of them."""

import random

import pytest

from barrelfit.drivers.decode import Wire
from barrelfit.drivers.outcome import UNSTEADY, Note, WireFault, WireMass
from barrelfit.simulators.line import profile_tables
from barrelfit.simulators.scale import SimulatedScale
from tests.drivers.wires import profile

STREAM, ONCE = "steady-letter-mass-unit-crlf", "settled-mass-unit-cr"
S = 1_000_000_000


def played(name, *loads, seed=1, tare_g=0.0):
    """What a wire makes of a scale on which loads lie, each for so many seconds."""
    scale = SimulatedScale(profile_tables(name), random.Random(seed))
    scale.tare_g = tare_g
    wire, outcomes, now = Wire(profile(name), min_repeat_ms=0), [], 0.0
    for grams, seconds in loads:
        scale.lay(grams, now)
        end = now + seconds
        while now < end:
            now += 1 / scale.rate_hz
            outcomes += wire.feed(scale.sample(now), round(now * S))
    return outcomes


def shown(outcomes):
    return [float(o.value) for o in outcomes if isinstance(o, WireMass)]


@pytest.mark.parametrize("seed", range(5))
def test_a_stream_says_that_it_moves_and_then_what_lies_there(seed):
    outcomes = played(STREAM, (0.0, 2.0), (512.4, 3.0), seed=seed)
    assert not [o for o in outcomes if isinstance(o, WireFault)]
    moving = [o for o in outcomes if isinstance(o, Note)]
    assert {o.note for o in moving} == {UNSTEADY}
    assert {round(g, 1) for g in shown(outcomes)} <= {-0.1, 0.0, 0.1, 512.3, 512.4, 512.5}
    assert shown(outcomes)[-1] == pytest.approx(512.4, abs=0.11)


@pytest.mark.parametrize("seed", range(5))
def test_one_that_sends_once_sends_each_load_once(seed):
    outcomes = played(ONCE, (0.0, 2.0), (512.4, 3.0), (0.0, 2.0), (498.0, 3.0), seed=seed)
    assert shown(outcomes) == [pytest.approx(512.4, abs=0.11), pytest.approx(498.0, abs=0.11)]


def test_a_scale_that_was_set_to_zero_with_something_on_it_shows_less_than_nothing():
    assert min(shown(played(STREAM, (0.0, 3.0), tare_g=200.0))) == pytest.approx(-200, abs=0.11)
