"""Scenes of a day at the bench, in the midst of a job that asks the whole way.

What befalls sweeps alone stands in `test_step_facts` (the phone, a dropped barrel, an early part
measured again), `test_step_alike` (one piston twice) and `test_step_far_off` (a zeroed gauge).
"""

from barrelfit.rules.bench.phases import ToTell
from barrelfit.rules.events import Asked, EntryMade, Judged, Sized, Wanted
from barrelfit.rules.manner import told
from barrelfit.rules.model import FeatureId, Verdict
from barrelfit.rules.told import AtBench, FactHeld, FactTaken, FactTold
from tests.rules.step_rig import P1, WHO, Hand
from tests.rules.way_rig import answer, at_feeler, of, press, through, way


def tell(hand: Hand, at: str, value: str, **more) -> list:
    event = FactTold(hand.now_ns(), FeatureId(*at.split("/")), value, who=WHO, **more)
    return list(hand.feed(event))


def test_the_phone_rings_for_five_minutes_between_two_places_of_a_groove():
    hand = at_feeler()
    press(hand)
    hand.t_s += 300.0
    assert told(of(hand.said, Asked)[-1].sentence).endswith("Place 2 of 4")
    assert of(press(hand, after_s=0.0), FactTaken)


def test_the_wrong_piston_is_known_by_the_number_inside_of_it():
    hand = way(steps=("identify",))
    tell(hand, "P1/number", "17")
    through(hand, "number")
    assert hand.bench.asked.at.part == "P2"
    (held,) = of(answer(hand, "17"), FactHeld)
    assert "P1" in told(held.sentence)
    assert hand.bench.asked.at == FeatureId("P2", "number")  # it stays asked for


def test_an_early_part_is_measured_again_from_the_midst_of_the_rings():
    hand = at_feeler()
    press(hand)
    hand.feed(Wanted(hand.now_ns(), P1, WHO))
    found = hand.feed(EntryMade(hand.now_ns(), P1, "84.930", "mm", WHO))
    assert of(list(found), Sized)
    assert hand.bench.asked.at.feature == "feeler"
    assert told(of(hand.said, Asked)[-1].sentence).endswith("Place 2 of 4")  # nothing is lost


def test_a_piston_from_the_shelf_goes_the_whole_way_by_itself():
    hand = way()
    answer(hand, "cracked")
    tell(hand, "P5/id", "piston replaces P1")
    tell(hand, "W5/id", "pin of P5")
    through(hand, "skirt")
    keys = {p.at.feature for p in hand.bench.way if p.at.part == "P5" and p.telling is not None}
    assert keys >= {"looked", "group_stamp", "number", "cleaned", "height_marked", "feeler"}
    assert hand.bench.setup.engine.part("P5").cleaned == "done"
    asked = [a.at for a in of(hand.said, Asked) if a.at is not None]
    assert FeatureId("P1", "cleaned") not in asked
    assert FeatureId("P5", "cleaned") in asked


def test_the_bench_is_handed_over_in_the_midst_of_a_groove():
    hand = at_feeler()
    (before,) = of(press(hand), FactTaken)
    hand.feed(AtBench(hand.now_ns(), "B. Jones"))
    (after,) = of(press(hand), FactTaken)
    assert (before.who, after.who) == ("A. Smith", "B. Jones")
    assert after.value == "out, out"


def test_a_barrel_is_dropped_and_scored_while_the_rings_are_tried():
    hand = at_feeler()
    sizes = dict(hand.bench.sizes)
    found = tell(hand, "B1/looked", "scored-bore", why="dropped")
    assert [j.verdict for j in of(found, Judged) if j.about == "B1"] == [Verdict.REWORK]
    assert hand.bench.sizes == sizes
    assert isinstance(hand.bench.phase, ToTell)  # the groove goes on
    assert of(press(hand), FactTaken)
