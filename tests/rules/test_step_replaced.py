"""A ring or a pin that is replaced: what was measured of the one before says nothing of it."""

import pytest

from barrelfit.rules.engine.set_facts import with_part
from barrelfit.rules.engine.setfile import set_of_filled
from barrelfit.rules.errors import UnfitError
from barrelfit.rules.events import EntryMade, Judged, TakenBack
from barrelfit.rules.judge.fact_entry import FactDoubt, FactStands, check_fact
from barrelfit.rules.judge.plan import whole_way
from barrelfit.rules.model import FeatureId
from barrelfit.rules.told import FactHeld, FactTaken, FactTold
from tests.rules.step_rig import WHO, Hand, gone_once, replayed, with_steps
from tests.rules.way_rig import SETUP, of, press, through, way

LEFT = {"left_out": ("pins", "mass", "looked-at", "height-groups", "head-seal")}
OTHER = FeatureId("P2", "replaced_by", "top")
GAP = FeatureId("P2", "gap", "top")


@gone_once
def measured() -> Hand:
    """A set whose rings were measured without the steps of a job."""
    hand = way(steps=None, **LEFT)
    through(hand)
    return hand


def tell(hand: Hand, at: FeatureId, value: str, **more) -> list:
    hand.t_s += 3
    return list(hand.feed(FactTold(hand.now_ns(), at, value, who=WHO, **more)))


def test_a_ring_that_is_replaced_is_measured_anew_and_its_groove_is_not():
    hand = measured()
    before = set(hand.bench.sizes)
    found = tell(hand, OTHER, "R7")
    (taken,) = of(found, FactTaken)
    assert (taken.value, taken.before) == ("R7", "")
    gone = {one.at for one in of(found, TakenBack)}
    assert GAP in gone
    assert {(at.part, at.depth) for at in gone} == {("P2", "top")}
    assert not {at.feature for at in gone} & {"skirt", "groove", "bore"}
    assert set(hand.bench.sizes) == before - gone
    assert hand.bench.asked.at in gone
    assert any(j.about == "P2" and j.verdict == "undecided" for j in of(found, Judged))
    hand.feed(EntryMade(hand.now_ns(), GAP, "0.41", "mm", WHO))
    assert hand.bench.sizes[GAP].size_nm == 410_000


def test_the_same_word_again_takes_nothing_back():
    hand = measured()
    tell(hand, OTHER, "R7")
    hand.feed(EntryMade(hand.now_ns(), GAP, "0.41", "mm", WHO))
    assert not of(tell(hand, OTHER, "R7"), TakenBack)
    held = tell(hand, OTHER, "R8")  # another one once more: said on purpose only
    assert of(held, FactHeld)
    assert GAP in hand.bench.sizes
    found = tell(hand, OTHER, "R8", why="R7 broke")
    assert GAP in {one.at for one in of(found, TakenBack)}


def test_one_ring_lies_in_one_groove():
    hand = measured()
    tell(hand, OTHER, "R7")
    (held,) = of(tell(hand, FeatureId("P3", "replaced_by", "top"), "R7"), FactHeld)
    assert held.reason == "not-on-sheet"


def test_an_undo_takes_the_replacement_back_with_what_was_measured_of_it():
    hand = measured()
    tell(hand, OTHER, "R7")
    found = press(hand, "undo")
    assert [f.value for f in of(found, FactTaken)] == [""]
    assert GAP not in hand.bench.sizes  # asked for once more rather than guessed


def test_the_same_events_come_to_the_same():
    hand = measured()
    tell(hand, OTHER, "R7")
    setup = with_steps(SETUP, steps=None, **LEFT)
    assert replayed(hand.fed, setup) == hand.said


# ---------------------------------------------------------------- pins


def test_a_pin_that_is_replaced_is_asked_for_no_more_and_the_new_one_is():
    hand = way(left_out=("rings", "mass", "looked-at", "height-groups", "head-seal"))
    found = tell(hand, FeatureId("W9", "id"), "pin replaces W2")
    assert of(found, FactTaken)
    engine = hand.bench.setup.engine
    assert engine.pin_of("P2").id == "W9"
    asked = {p.at.part for p in whole_way(hand.bench.setup.sheet, engine)}
    assert "W9" in asked
    assert "W2" not in asked


def test_a_pin_may_be_replaced_once_and_by_nothing_that_is_no_pin():
    keys, sheet = SETUP.keys, SETUP.sheet
    with pytest.raises(UnfitError):
        with_part(keys, "W9", "pin replaces P2")
    once = check_fact(
        keys, sheet, FactTold(1, FeatureId("W9", "id"), "pin replaces W2"), insists=False
    )
    assert isinstance(once, FactStands)
    again = FactTold(2, FeatureId("W8", "id"), "pin replaces W2")
    assert isinstance(check_fact(once.filled, sheet, again, insists=False), FactDoubt)
    chain = FactTold(2, FeatureId("W8", "id"), "pin replaces W9")
    third = check_fact(once.filled, sheet, chain, insists=False)
    assert isinstance(third, FactStands)
    assert set_of_filled(third.filled).engine.pin_of("P2").id == "W8"
