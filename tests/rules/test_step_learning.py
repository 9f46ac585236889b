"""What the bench learns of a piston's sweep for the next: of whose; it goes with the size."""

from dataclasses import replace

import pytest

from barrelfit.rules.bench.learning import lessons_for
from barrelfit.rules.bench.taken_over import take_over
from barrelfit.rules.events import EntryMade, PedalPressed, Sized, TwoPartsAsked
from barrelfit.rules.manner import told
from barrelfit.rules.model import FeatureId
from tests.rules.step_rig import GOOD_MM, P1, P2, P3, WHO, Hand, gone_once, replayed, standing_of

P4 = FeatureId("P4", "skirt")
SIZES_MM = (GOOD_MM, GOOD_MM + 0.012, GOOD_MM - 0.01, GOOD_MM + 0.022)


@gone_once
def pistons(count: int) -> Hand:
    if count == 0:
        return Hand(5, set_to_nm=300.0)
    hand = pistons(count - 1)
    hand.size(SIZES_MM[count - 1])
    return hand


def taught_by(hand: Hand) -> list[tuple[str, ...]]:
    """For each size, whose sweeps it was taught by, as it is said beside it."""
    notes = [[n for n in one.notes if n.key == "taught_by"] for one in hand.of(Sized)]
    return [tuple(note[0].values["by"]) if note else () for note in notes]


def teaching(hand: Hand, at: FeatureId) -> list[str]:
    """Whose sweeps teach the next one of a feature."""
    gauge = hand.bench.setup.gauges["micrometer"]
    return [str(other) for other in lessons_for(hand.bench, at, gauge)]


def test_each_piston_learns_of_those_before_it_and_says_so():
    hand = pistons(3)
    assert taught_by(hand) == [(), ("P1/skirt",), ("P1/skirt", "P2/skirt")]
    (note,) = [n for n in hand.of(Sized)[-1].notes if n.key == "taught_by"]
    assert told(note) == (
        "with what the sweeps of P1/skirt and P2/skirt told of the gauge's noise and of such parts'"
        " barrel"
    )


def test_an_undo_takes_the_lesson_back():
    hand = pistons(2)
    hand.feed(PedalPressed(hand.now_ns(), "undo"))
    assert teaching(hand, P3) == ["P1/skirt"]
    hand.size(SIZES_MM[1])
    assert taught_by(hand)[-1] == ("P1/skirt",)


def test_sizes_that_were_given_stay_when_what_taught_them_is_taken_back():
    hand = pistons(2)
    given = hand.bench.sizes[P2]
    hand.feed(EntryMade(hand.now_ns(), P1, f"{GOOD_MM}", "mm", WHO, why="read again by eye"))
    assert hand.of(Sized)[-1].source == "hand"
    assert hand.bench.sizes[P2] == given
    assert teaching(hand, P3) == ["P2/skirt"]  # what was typed in tells nothing


def test_a_second_sweep_of_a_place_learns_nothing_of_its_first():
    hand = pistons(1)
    hand.size(84.845)  # too small by one sweep: measured twice
    hand.size(84.845)
    assert [one.at for one in hand.of(Sized)] == [P1, P2, P2]
    assert taught_by(hand)[1:] == [("P1/skirt",), ("P1/skirt",)]
    assert teaching(hand, P3) == ["P1/skirt", "P2/skirt"]


def test_two_sweeps_that_do_not_agree_teach_nothing():
    hand = pistons(1)
    hand.size(84.845)
    hand.size(84.900)
    assert teaching(hand, P3) == ["P1/skirt"]


def test_parts_that_may_be_one_teach_nothing_until_they_are_two():
    hand = pistons(2)
    hand.size(SIZES_MM[1])  # P3 reads as P2 did
    assert teaching(hand, P4) == ["P1/skirt"]
    hand.size(SIZES_MM[3])
    assert hand.of(TwoPartsAsked)
    hand.t_s += 3.0
    for _ in range(2):
        hand.feed(PedalPressed(hand.now_ns(), "next"))
        hand.t_s += 3.0
    assert teaching(hand, P4) == ["P1/skirt", "P2/skirt", "P3/skirt"]


@pytest.mark.parametrize("other", [{"spare": True}, {"crown": "domed"}, {"kind": "pin"}])
def test_a_part_that_is_made_otherwise_teaches_and_learns_nothing(other):
    hand = pistons(3)
    parts = [replace(part, crown="flat") for part in hand.bench.setup.engine.parts]
    parts = [replace(part, **other) if part.id == "P2" else part for part in parts]
    engine = replace(hand.bench.setup.engine, parts=tuple(parts))
    hand.bench.setup = replace(hand.bench.setup, engine=engine)
    assert teaching(hand, P4) == ["P1/skirt", "P3/skirt"]
    assert teaching(hand, P2) == []


def test_pistons_learn_of_one_another_though_each_has_a_number_of_its_own():
    """The number inside keeps a pin with its piston; it says nothing of how the piston is made."""
    hand = pistons(3)
    old = hand.bench.setup.engine
    parts = tuple(replace(part, number=part.id[1:]) for part in old.parts)
    hand.bench.setup = replace(hand.bench.setup, engine=replace(old, parts=parts))
    assert teaching(hand, P4) == ["P1/skirt", "P2/skirt", "P3/skirt"]


def test_another_gauge_and_other_anvils_teach_nothing():
    hand = pistons(1)
    bench = hand.bench
    gauge = bench.setup.gauges["micrometer"]
    assert lessons_for(bench, P2, gauge)
    assert not lessons_for(bench, P2, replace(gauge, name="another"))
    wide = replace(gauge.traits, anvil_nm=8_000_000)
    assert not lessons_for(bench, P2, replace(gauge, traits=wide))


def test_a_bore_neither_teaches_nor_learns():
    hand = pistons(1)
    gauge = hand.bench.setup.gauges["bore"]
    assert not lessons_for(hand.bench, FeatureId("B1", "bore", "top", "pin"), gauge)


def test_of_sizes_that_another_version_found_nothing_is_learned():
    hand = pistons(2)
    bench, _ = take_over(hand.bench.setup, standing_of(hand))
    assert set(bench.sizes) == {P1, P2}
    assert not lessons_for(bench, P3, bench.setup.gauges["micrometer"])


def test_the_same_session_again_learns_the_same():
    hand = pistons(3)
    assert replayed(hand.fed, hand.bench.setup) == hand.said
