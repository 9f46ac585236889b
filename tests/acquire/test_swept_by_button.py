"""A gauge that is to be swept, but sends on its button by its profile, is told at the start."""

from types import SimpleNamespace

import pytest

from barrelfit.acquire.bench.run import swept_by_button
from barrelfit.acquire.inputs.gauge_profiles import profile_text, proven_profile


def told(name: str, movement: str) -> list[str]:
    profile = proven_profile(profile_text(name), name)
    gauge = SimpleNamespace(id="micrometer", profile=name, movement=movement)
    bench = SimpleNamespace(gauge=[gauge])
    return swept_by_button(SimpleNamespace(bench=bench, profiles={"micrometer": profile}))


def test_a_button_and_a_sweep_do_not_go_together():
    (caution,) = told("signed-decimal-cr", "following")
    assert caution.startswith("micrometer: it sends on its button")
    assert 'movement = "held"' in caution
    assert "signed-decimal-streaming-crlf" in caution


@pytest.mark.parametrize(
    ("name", "movement"),
    [
        ("signed-decimal-cr", "held"),
        ("signed-decimal-streaming-crlf", "following"),
        ("signed-decimal-on-request", "screw"),
    ],
)
def test_others_are_left_alone(name, movement):
    assert told(name, movement) == []
