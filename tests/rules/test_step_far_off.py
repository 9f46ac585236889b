"""A gauge that was zeroed, shows inches, is on another part or is the wrong one: told at once."""

import msgspec
import pytest

from barrelfit.acquire.inputs.setup import setup_of
from barrelfit.rules.events import Contact, EntryMade, FarOff, Sized
from barrelfit.rules.model import FeatureId
from tests.acquire.recorded import SET, opening
from tests.rules.step_rig import BORE, GOOD_MM, OUTSIDE, P1, WHO, Hand, outside_mm

MM = 1_000_000


def swept(hand: Hand, shows) -> None:
    """A good sweep of which the gauge shows something else."""
    plain = hand.show
    hand.show = lambda mm, _gauge=OUTSIDE: plain(shows(mm))  # type: ignore[method-assign]
    hand.rest(1.0)
    hand.sweep(GOOD_MM, 4)


@pytest.mark.parametrize(
    ("shows", "code"),
    [
        (lambda mm: mm - GOOD_MM, "zeroed"),
        (lambda mm: mm - 85.0, "zeroed"),
        (lambda mm: mm / 25.4, "inches"),
        (lambda mm: mm + 7.0, "far"),
        (lambda mm: mm - 40.0, "far"),
        (lambda mm: mm * 10, "far"),
    ],
)
def test_it_is_told_within_two_seconds_of_the_contact_and_once(shows, code):
    hand = Hand(stroke_s=2.0)
    swept(hand, shows)
    (contact, *_), (far,) = hand.of(Contact), hand.of(FarOff)
    assert (far.at, far.gauge, far.code) == (P1, OUTSIDE, code)
    assert far.like is None
    assert abs(far.expected_nm - 84_940_000) < 200_000
    fed = next(n for n, e in enumerate(hand.fed) if getattr(e, "length_nm", None) == far.read_nm)
    assert hand.fed[fed].t_ns - contact.t_ns < 2_500_000_000
    assert not hand.of(Sized)


def test_a_gauge_on_another_part_of_the_set_says_which():
    document = opening(set_text=SET.format(job="j", serial="s").replace('"pins", ', ""))
    setup = setup_of(document)
    pin_mm = setup.sheet.pin.diameter_nm / MM
    hand = Hand()
    pins = "".join(f'[[pin]]\nid = "W{n}"\npiston = "P{n}"\n' for n in range(1, 5))
    hand.begin(setup_of(msgspec.structs.replace(document, set_text=document.set_text + pins)))
    swept(hand, lambda mm: mm - GOOD_MM + pin_mm)
    (far,) = hand.of(FarOff)
    assert (far.code, far.like.feature) == ("another-feature", "diameter")


def test_another_gauge_than_the_one_asked_for_is_told():
    hand = Hand()
    for n in range(1, 5):
        hand.feed(EntryMade(n, FeatureId(f"P{n}", "skirt"), "84.92", "mm", WHO))
    assert hand.bench.gauge.name == BORE
    hand.rest(1.0)
    hand.sweep(GOOD_MM, 4)  # the micrometer is swept on
    (far,) = hand.of(FarOff)
    assert (far.code, far.gauge, far.at.part) == ("another-gauge", OUTSIDE, "B1")


@pytest.mark.parametrize("size_mm", [84.80, GOOD_MM, 85.45])
@pytest.mark.parametrize("reach_mm", [7.0, 16.0])
def test_good_and_worn_and_oversize_parts_are_not_called_far(size_mm, reach_mm):
    hand = Hand(reach_mm=reach_mm, stroke_s=2.4)
    hand.rest(1.0)
    hand.sweep(size_mm, 7)
    assert not hand.of(FarOff)


def test_a_hand_that_rests_on_the_flank_is_not_called_far():
    hand = Hand()
    hand.rest(1.0)
    hand.rest(5.0, outside_mm(GOOD_MM, 14.0, 0.0))
    hand.sweep(GOOD_MM, 3)
    assert not hand.of(FarOff)


def test_the_gauge_that_lies_still_is_no_other_gauge():
    hand = Hand()
    hand.rest(1.0)
    for _ in range(300):
        hand.show(86.0, BORE)
    hand.sweep(GOOD_MM, 2)
    assert not hand.of(FarOff)
