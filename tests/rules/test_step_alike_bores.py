"""Barrels that may be the one before: they are doubted by all their places together."""

from barrelfit.rules.bench.found import FoundSize
from barrelfit.rules.bench.phases import Armed
from barrelfit.rules.bench.sizing import size_at_20
from barrelfit.rules.bench.taking import refuse, take
from barrelfit.rules.events import (
    Asked,
    EntryMade,
    PedalPressed,
    TwoPartsAsked,
    TwoPartsSettled,
    Wanted,
)
from barrelfit.rules.model import FeatureId
from barrelfit.rules.said import said
from barrelfit.rules.sweep import SweepRefused
from barrelfit.rules.uncertainty.size_budget import AsRead
from tests.rules.step_rig import WHO, Hand
from tests.rules.test_step_alike import verdict


def test_a_barrel_is_doubted_too_where_the_one_before_it_had_a_place_put_off():
    """B1 has one place left for later; B1 is taken again for B2; B1's place comes last of all."""
    hand = Hand(5, set_to_nm=300.0)
    bores = [p.at for p in hand.bench.plan if p.at.feature == "bore"]
    first, rest = bores[0], bores[1:]
    for number, at in enumerate(p.at for p in hand.bench.plan if p.at.feature == "skirt"):
        hand.feed(EntryMade(number, at, "84.92", "mm", WHO))
    hand.feed(PedalPressed(hand.now_ns(), "next"))
    for at in (*rest, first):
        assert hand.bench.asked.at == at
        in_hand = "B1" if at.part == "B2" else at.part
        swept(hand, at, 85.01 + 0.02 * int(in_hand[1:]) + 0.002 * PLACES.index(place(at)))
    (question,) = hand.of(TwoPartsAsked)
    (pair,) = question.pairs
    assert (pair.earlier, pair.later) == ("B1", "B2")


def one_barrel_twice() -> tuple[Hand, list[FeatureId]]:
    """All is measured, B1 in place of B2 as well; nobody presses anything yet."""
    hand = Hand(5, set_to_nm=300.0)
    bores = [p.at for p in hand.bench.plan if p.at.feature == "bore"]
    for number, at in enumerate(p.at for p in hand.bench.plan if p.at.feature == "skirt"):
        hand.feed(EntryMade(number, at, "84.92", "mm", WHO))
    for at in bores:
        in_hand = "B1" if at.part == "B2" else at.part
        swept(hand, at, mm_of(in_hand, at))
    return hand, bores


def mm_of(part: str, at: FeatureId) -> float:
    return 85.01 + 0.02 * int(part[1:]) + 0.002 * PLACES.index(place(at))


def all_true(hand: Hand, bores: list[FeatureId]) -> None:
    for at in bores:
        off_nm = hand.bench.sizes[at].size_nm - mm_of(at.part, at) * 1e6
        assert abs(off_nm) < 1_000, at


def test_an_undo_while_they_are_measured_once_more_leaves_no_place_of_another_part():
    hand, bores = one_barrel_twice()
    doubted = [at for at in bores if at.part in {"B1", "B2"}]
    for at in doubted[: len(PLACES) + 1]:
        assert hand.bench.asked.at == at
        swept(hand, at, mm_of(at.part, at))
    hand.feed(PedalPressed(hand.now_ns(), "undo"))
    hand.feed(hand.of(Asked)[-1])
    for at in doubted[len(PLACES) :]:
        assert hand.bench.asked.at == at
        assert verdict(hand, "B2") == "undecided"
        swept(hand, at, mm_of(at.part, at))
    assert hand.of(TwoPartsSettled) == [TwoPartsSettled("bore", "measured")]
    all_true(hand, bores)


def test_a_place_that_is_taken_back_leaves_the_doubt_with_the_others():
    """The last place of what may be another barrel is taken back, and measured in the right one."""
    hand, bores = one_barrel_twice()
    hand.feed(Wanted(hand.now_ns(), next(at for at in reversed(bores) if at.part == "B2"), WHO))
    hand.feed(hand.of(Asked)[-1])
    at = hand.bench.asked.at
    swept(hand, at, mm_of("B2", at))
    assert verdict(hand, "B2") == "undecided"
    while hand.bench.asked is not None and hand.bench.asked.at.feature == "bore":
        swept(hand, hand.bench.asked.at, mm_of(hand.bench.asked.at.part, hand.bench.asked.at))
    all_true(hand, bores)


def came_back_for_one(in_hand: str) -> Hand:
    """A place of B1 and one of B2 are put off, and come last of all: `in_hand` for that of B2."""
    hand = Hand(5, set_to_nm=300.0)
    bores = [p.at for p in hand.bench.plan if p.at.feature == "bore"]
    last = [next(at for at in bores if at.part == part) for part in ("B1", "B2")]
    for number, at in enumerate(p.at for p in hand.bench.plan if p.at.feature == "skirt"):
        hand.feed(EntryMade(number, at, "84.92", "mm", WHO))
    for at in (*(at for at in bores if at not in last), *last):
        while hand.bench.asked.at != at:
            hand.feed(PedalPressed(hand.now_ns(), "next"))
        swept(hand, at, mm_of(in_hand if at == last[1] else at.part, at))
    return hand


def test_a_gauge_that_came_back_for_one_place_may_have_stayed_in_the_barrel_before():
    """B1's last place is measured, then B2's with the gauge in B1 still."""
    hand = came_back_for_one("B1")
    (question,) = hand.of(TwoPartsAsked)
    assert [(pair.earlier, pair.later) for pair in question.pairs] == [("B1", "B2")]
    assert verdict(hand, "B2") == "undecided"
    for at in [p.at for p in hand.bench.plan if p.at.part in {"B1", "B2"}]:
        assert hand.bench.asked.at == at
        swept(hand, at, mm_of(at.part, at))
    assert hand.of(TwoPartsSettled) == [TwoPartsSettled("bore", "measured")]
    all_true(hand, [p.at for p in hand.bench.plan if p.at.feature == "bore"])


def test_a_gauge_that_came_back_for_one_place_of_its_barrel_is_asked_about_nothing():
    assert not came_back_for_one("B2").of(TwoPartsAsked)


def test_that_they_were_two_barrels_before_says_nothing_of_a_place_that_is_measured_later():
    """B1 and B2 are said to be two; B2's last place, put off, is then swept in B1."""
    hand = Hand(5, set_to_nm=300.0)
    bores = [p.at for p in hand.bench.plan if p.at.feature == "bore"]
    hand.bench.settled |= {("bore", "B1", "B2")}
    first = {part: next(at for at in bores if at.part == part) for part in ("B1", "B2")}
    for number, at in enumerate(p.at for p in hand.bench.plan if p.at.feature == "skirt"):
        hand.feed(EntryMade(number, at, "84.92", "mm", WHO))
    order = [at for at in bores if at not in first.values()]
    for at in (*order, first["B1"], first["B2"]):
        while hand.bench.asked.at != at:
            hand.feed(PedalPressed(hand.now_ns(), "next"))
        swept(hand, at, mm_of("B1" if at == first["B2"] else at.part, at))
    assert len(hand.of(TwoPartsAsked)) == 1


def swept_anew(in_hand: str, part: str = "B2") -> Hand:
    """Of a barrel the last place but one came to nothing at first; then `in_hand` is swept."""
    hand = Hand(5, set_to_nm=300.0)
    bores = [p.at for p in hand.bench.plan if p.at.feature == "bore"]
    second = [at for at in bores if at.part == part]
    for number, at in enumerate(p.at for p in hand.bench.plan if p.at.feature == "skirt"):
        hand.feed(EntryMade(number, at, "84.92", "mm", WHO))
    for at in bores:
        if at == second[-2]:
            nothing = SweepRefused("passes-disagree", said("passes_disagree"), said("do_one_part"))
            armed = Armed.fresh(hand.bench.phase.ask, hand.bench.gauge)
            hand.said += refuse(hand.bench, armed, nothing)
        swept(hand, at, mm_of(in_hand if at in second[-2:] else at.part, at))
    return hand


def test_after_a_sweep_that_came_to_nothing_the_gauge_may_be_in_the_barrel_before():
    (question,) = swept_anew("B1").of(TwoPartsAsked)
    assert [(pair.earlier, pair.later) for pair in question.pairs] == [("B1", "B2")]


def test_after_a_sweep_that_came_to_nothing_the_same_barrel_is_asked_about_nothing():
    assert not swept_anew("B2").of(TwoPartsAsked)


def test_the_first_barrel_of_all_is_not_compared_with_itself():
    assert not swept_anew("B1", "B1").of(TwoPartsAsked)


def swept_apart(*, went_on: bool) -> Hand:
    """One place of B1 is swept in two barrels, before and after an interruption; B1 again for B2.

    Four rocks of another barrel, which is 1.8 µm larger there, and one of its own agree.
    """
    hand = Hand(5, set_to_nm=300.0)
    bores = [p.at for p in hand.bench.plan if p.at.feature == "bore"]
    for number, at in enumerate(p.at for p in hand.bench.plan if p.at.feature == "skirt"):
        hand.feed(EntryMade(number, at, "84.92", "mm", WHO))
    mixed = next(at for at in bores if at.part == "B1")
    for at in bores:
        in_hand = "B1" if at.part == "B2" else at.part
        more_mm = 0.0018 if at == mixed else 0.0
        swept(hand, at, mm_of(in_hand, at) + more_mm, went_on=went_on and at == mixed)
    return hand


def test_a_sweep_that_went_on_may_have_been_of_two_barrels_and_is_compared_as_such():
    (question,) = swept_apart(went_on=True).of(TwoPartsAsked)
    assert [(pair.earlier, pair.later) for pair in question.pairs] == [("B1", "B2")]


def test_places_that_were_each_swept_in_one_go_are_compared_as_they_are():
    assert not swept_apart(went_on=False).of(TwoPartsAsked)


PLACES = [(d, r) for d in ("top", "middle", "bottom") for r in ("thrust", "pin")]


def place(at: FeatureId) -> tuple[str, str]:
    return at.depth, at.direction


def swept(hand: Hand, at: FeatureId, mm: float, *, went_on: bool = False) -> None:
    """A size as a sweep of a bore finds it."""
    gauge = hand.bench.gauge
    read = AsRead(round(mm * 1e6), 250.0, 9.0, 0.0)
    found = FoundSize(read, "rock-fit", "minimum of two-point sizes", (round(mm * 1e6),))
    size = size_at_20(hand.bench, at, gauge, found)
    hand.said += take(hand.bench, *size, went_on=went_on)
    hand.feed(hand.of(Asked)[-1])
