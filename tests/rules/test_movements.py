"""The catalogue of movements is whole: each movement has its finder, estimator, watch and words."""

import pytest

from barrelfit.acquire.commands.identify import identify
from barrelfit.acquire.commands.size import size
from barrelfit.rules.bench.departure import Departure
from barrelfit.rules.model import Movement
from barrelfit.rules.sweep import GaugeTraits
from barrelfit.rules.sweep.movements import MOVEMENTS, entry_of, hills_of
from barrelfit.rules.sweep.outcome import ESTIMATORS, prepare
from barrelfit.rules.sweep.presses import Presses
from barrelfit.rules.sweep.stream import Sweep, size_trace, sweep_of

DIGIT_NM = 1_000


def named(entry):
    return entry.movement.value


def help_of(command, option):
    return command.__annotations__[option].__metadata__[0].help


def test_every_movement_has_one_entry():
    assert [entry.movement for entry in MOVEMENTS] == list(Movement)
    assert len({entry.estimator for entry in MOVEMENTS}) == len(MOVEMENTS)
    assert len({entry.passes for entry in MOVEMENTS}) == len(MOVEMENTS)


def test_every_kind_of_gauge_has_a_movement():
    assert {kind for entry in MOVEMENTS for kind in entry.measures} == {"outside", "bore"}


@pytest.mark.parametrize("entry", MOVEMENTS, ids=named)
def test_hills_have_an_estimator_and_presses_their_own(entry):
    traits = GaugeTraits(entry.movement, DIGIT_NM)
    assert (entry.movement in ESTIMATORS) is (entry.hills is not None)
    assert isinstance(sweep_of(traits), Presses if entry.by_press else Sweep)
    prepare(traits)
    if entry.by_press:
        with pytest.raises(ValueError, match="presses"):
            hills_of(entry.movement)


@pytest.mark.parametrize("entry", MOVEMENTS, ids=named)
def test_a_sweep_without_a_pass_is_refused_and_its_watch_begins(entry):
    traits = GaugeTraits(entry.movement, DIGIT_NM)
    assert size_trace([], traits).reason == "no-contact"
    assert not Departure(85_000_000, traits).gone(0, 85_000_000)
    assert entry.longer >= 1
    assert entry_of(entry.movement) is entry


@pytest.mark.parametrize("entry", MOVEMENTS, ids=named)
def test_the_commands_help_names_every_movement(entry):
    assert entry.movement.value in help_of(identify, "movement")
    assert entry.movement.value in help_of(size, "gauge")
