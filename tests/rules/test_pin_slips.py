"""Wrist pins, typed or swept: a slip is held with a question, and never passes for a sound pin."""

from dataclasses import replace
from functools import cache

import pytest

from barrelfit.acquire.inputs.setup import setup_of
from barrelfit.rules.bench.setup import Setup
from barrelfit.rules.engine.features import pin_at
from barrelfit.rules.engine.parts import Marks, Part
from barrelfit.rules.events import EntryMade, Judged, Refused, Sized
from barrelfit.rules.manner import told
from barrelfit.rules.model import Verdict
from tests.acquire.recorded import opening
from tests.rules.step_rig import GOOD_MM, P1, WHO, Hand

W1 = pin_at("W1")  # 23 mm, worn by at most 0.008 mm


@cache
def with_pins() -> Setup:
    """The bench of the other tests, with the pins of its four pistons to be measured as well."""
    setup = setup_of(opening())
    engine = setup.engine
    pins = tuple(
        Part(f"W{n}", "pin", marks=Marks(pin_class="white"), mate=f"P{n}", play="none")
        for n in range(1, 5)
    )
    asked = tuple(topic for topic in engine.left_out if topic != "pins")
    return replace(setup, engine=replace(engine, parts=(*engine.parts, *pins), left_out=asked))


def typed(hand, text, unit="mm", **more):
    return hand.feed(EntryMade(1, W1, text, unit, WHO, **more))


@pytest.mark.parametrize(
    ("text", "unit", "asks"),
    [
        ("229.99", "mm", "22.999 mm would be: decimal slip?"),
        ("2.2999", "mm", "22.999 mm would be: decimal slip?"),
        ("2299.9", "mm", "22.999 mm would be: decimal slip?"),
        ("0.9055", "mm", "0.9055 inch would be: which unit?"),
        ("22.999", "inch", "22.999 mm would be: which unit?"),
        ("84.92", "mm", "nothing like this feature"),
        ("0", "mm", "nothing like this feature"),
    ],
)
def test_a_pin_typed_with_a_slip_is_held(text, unit, asks):
    hand = Hand(setup=with_pins())
    (held,) = typed(hand, text, unit)
    assert (held.at, held.reason) == (W1, "entry-held")
    assert asks in told(held.sentence)
    assert W1 not in hand.bench.sizes


@pytest.mark.parametrize(
    ("text", "verdict"), [("22.999", Verdict.SERVICEABLE), ("22.9", Verdict.DISCARD)]
)
def test_a_pin_that_may_be_one_is_taken_and_judged(text, verdict):
    found = typed(Hand(setup=with_pins()), text)
    assert [one.at for one in found if isinstance(one, Sized)] == [W1]
    assert {one.about: one.verdict for one in found if isinstance(one, Judged)}["W1"] is verdict


def test_a_held_pin_counts_when_the_same_person_types_it_again():
    hand = Hand(setup=with_pins())
    typed(hand, "229.99")
    found = typed(hand, "229.99", confirms=True)
    assert [one.at for one in found if isinstance(one, Sized)] == [W1]


def test_a_skirt_that_is_swept_where_a_pin_is_asked_for_is_no_sound_pin():
    hand = Hand(setup=with_pins())
    for number in range(1, 5):
        at = replace(P1, part=f"P{number}")
        hand.feed(EntryMade(number, at, f"{GOOD_MM}", "mm", WHO))
    assert hand.bench.asked.at == W1
    hand.rest(3.0)
    hand.sweep(GOOD_MM, 12)
    (refused,) = [one for one in hand.of(Refused) if one.reason == "unlike"]
    assert refused.at == W1
    assert W1 not in hand.bench.sizes
