"""A scale on a wire: which mass counts for which part, and what is told of one that does not."""

import random
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from barrelfit.rules.bench.phases import ToTell
from barrelfit.rules.bench.scales import grams
from barrelfit.rules.bench.setup import Scale, Setup
from barrelfit.rules.events import (
    Asked,
    GaugeChanged,
    Reading,
    ReadingFault,
    RecordBroken,
    Refused,
    Wanted,
    WentOn,
)
from barrelfit.rules.manner import told
from barrelfit.rules.model import FeatureId
from barrelfit.rules.said import written
from barrelfit.rules.told import FactHeld, FactSettled, FactTaken, FactTold, Weighed
from tests.rules.step_rig import OUTSIDE, WHO, Hand, gone_once, replayed
from tests.rules.way_rig import READ_S, of, press, through, way

SCALE = "scale"
G = 10**15
RATE_S = 0.1


def mass(part: str) -> FeatureId:
    return FeatureId(part, "mass_g")


@gone_once
def at_mass(*, by_print: bool = False, steps: tuple[str, ...] | None = ("mass",)) -> Hand:
    """All sizes of a set are typed in, and the masses are asked for."""
    hand = Hand(setup=_setup(by_print, steps))
    if steps is not None:
        through(hand, "mass_g")
    return hand


def _setup(by_print: bool, steps: tuple[str, ...] | None) -> Setup:
    hand = way(steps=steps, left_out=("rings", "pins", "looked-at", "height-groups", "head-seal"))
    return replace(hand.bench.setup, scales={SCALE: Scale(SCALE, by_print=by_print)})


def show(hand: Hand, g: float, seconds: float = 2.0, *, digit_g: float = 0.1) -> list:
    """The scale shows one mass all the time."""
    found = []
    end_s = hand.t_s + seconds
    while hand.t_s < end_s:
        found += once(hand, g, digit_g=digit_g)
        hand.t_s += RATE_S
    return found


def once(hand: Hand, g: float, *, digit_g: float = 0.1) -> list:
    return list(hand.feed(Weighed(SCALE, hand.now_ns(), round(g * 1000) * G // 1000,
                                  round(digit_g * 1000) * G // 1000)))  # fmt: skip


def masses(hand: Hand) -> dict[str, str]:
    return {f.at.part: f.value for f in hand.of(FactTaken) if f.at.feature == "mass_g"}


def test_each_part_is_laid_on_in_turn_and_nothing_is_touched():
    hand = at_mass()
    for n, g in enumerate((512.4, 513.0, 512.4, 511.9), start=1):
        assert hand.bench.asked.at == mass(f"P{n}")
        show(hand, 0.0, 2.0)
        show(hand, g, 2.0)
    assert masses(hand) == {"P1": "512.4", "P2": "513", "P3": "512.4", "P4": "511.9"}
    assert not hand.of(FactHeld)
    (first, *_) = hand.of(FactTaken)
    assert (first.by, first.who) == ("gauge", hand.bench.who)


def test_the_ask_names_the_scale_and_says_to_lay_the_part_on_it():
    hand = at_mass()
    asked = of(hand.said, Asked)[-1]
    assert asked.gauge == SCALE
    assert told(asked.sentence) == (
        "P1: weigh it without rings and pin; lay it on the scale, alone, once that shows nothing"
    )


def test_what_lay_there_before_the_next_ask_never_counts_and_is_told():
    hand = at_mass()
    show(hand, 0.0)
    show(hand, 512.4)
    assert hand.bench.asked.at == mass("P2")
    found = show(hand, 512.4, 20.0)
    (held,) = of(found, FactHeld)
    assert (held.reason, held.open) == ("not-bare", False)
    assert "before P2 was asked for" in told(held.sentence)
    assert masses(hand) == {"P1": "512.4"}
    show(hand, 0.0)
    show(hand, 512.6)
    assert masses(hand)["P2"] == "512.6"


def test_a_part_laid_beside_the_one_before_counts_for_nothing():
    hand = at_mass()
    show(hand, 0.0)
    show(hand, 512.4)
    show(hand, 1025.0, 20.0)  # both lie there
    show(hand, 512.6, 20.0)  # and the first was lifted off
    assert masses(hand) == {"P1": "512.4"}


def test_what_was_laid_on_before_the_ask_could_be_read_must_come_off():
    hand = at_mass()
    show(hand, 0.0, 0.4)
    show(hand, 512.4, 10.0)
    assert not masses(hand)
    assert [h.reason for h in hand.of(FactHeld)] == ["not-bare"]


def test_nothing_counts_until_it_has_come_to_rest():
    hand = at_mass()
    show(hand, 0.0)
    for n in range(40):  # a draught
        once(hand, 512.4 + 0.3 * (n % 2))
        hand.t_s += RATE_S
    assert not masses(hand)
    show(hand, 512.4, 0.8)
    assert not masses(hand)
    hand.feed(ReadingFault(SCALE, hand.now_ns(), "unsteady"))
    show(hand, 512.4, 0.8)
    assert not masses(hand)
    show(hand, 512.4, 0.6)
    assert masses(hand) == {"P1": "512.4"}


def test_two_neighbouring_digits_by_turns_are_at_rest_after_a_while():
    hand = at_mass()
    show(hand, 0.0)
    for n in range(40):
        once(hand, 512.4 if n % 3 else 512.5)
        hand.t_s += RATE_S
    assert masses(hand) == {"P1": "512.4"}


def test_an_overload_is_no_mass_and_ends_the_rest():
    hand = at_mass()
    show(hand, 0.0)
    for _ in range(20):
        show(hand, 512.4, 0.5)
        hand.feed(ReadingFault(SCALE, hand.now_ns(), "overload"))
    assert not masses(hand)


def test_a_scale_below_zero_is_told():
    hand = at_mass()
    show(hand, 0.0)
    found = show(hand, -200.0, 6.0)
    (held,) = of(found, FactHeld)
    assert (held.reason, told(held.sentence)) == ("below-zero", "the scale shows -200 g")
    show(hand, 312.4, 6.0)  # a part on a scale that was tared with something on it
    assert not masses(hand)


@pytest.mark.parametrize("event", ["lost", "record", "resumed"])
def test_after_a_time_that_nobody_saw_the_scale_must_show_nothing_first(event):
    hand = at_mass()
    show(hand, 0.0)
    hand.feed(
        {
            "lost": GaugeChanged(SCALE, hand.now_ns(), "lost"),
            "record": RecordBroken(hand.now_ns(), written("its file was cut")),
            "resumed": WentOn(hand.now_ns()),
        }[event]
    )
    hand.t_s += READ_S
    show(hand, 512.4, 5.0)
    assert not masses(hand)
    show(hand, 0.0)
    show(hand, 512.4)
    assert masses(hand) == {"P1": "512.4"}


def test_an_unusual_mass_is_held_and_counts_when_it_is_weighed_once_more_the_same():
    hand = at_mass()
    show(hand, 0.0)
    (held,) = of(show(hand, 51.2, 4.0), FactHeld)
    assert (held.open, held.value) == (True, "51.2")
    assert hand.bench.asked.at == mass("P1")
    show(hand, 51.2, 10.0)  # it lies there still
    assert not masses(hand)
    show(hand, 0.0)
    found = show(hand, 51.2, 4.0)
    assert of(found, FactSettled)
    assert masses(hand) == {"P1": "51.2"}


def test_a_mass_that_another_weighing_puts_right_settles_the_question():
    hand = at_mass()
    show(hand, 0.0)
    show(hand, 51.2)  # the pin alone
    show(hand, 0.0)
    found = show(hand, 512.0)
    assert of(found, FactSettled)
    assert masses(hand) == {"P1": "512"}


def test_any_parts_mass_may_be_chosen_where_no_step_asks_for_it():
    hand = at_mass(steps=None)
    show(hand, 0.0)
    show(hand, 512.4, 5.0)
    assert not masses(hand)
    hand.feed(Wanted(hand.now_ns(), mass("P3"), WHO))
    assert isinstance(hand.bench.phase, ToTell)
    show(hand, 0.0, 3.0)
    hand.feed(FactTold(hand.now_ns(), FeatureId("P1", "looked"), "good", who=WHO))
    show(hand, 512.4)
    assert masses(hand) == {"P3": "512.4"}
    assert hand.bench.asked.at.feature == "skirt"


def test_without_a_scale_no_mass_can_be_chosen_outside_its_step():
    hand = way(steps=None)
    found = hand.feed(Wanted(hand.now_ns(), mass("P3"), WHO))
    assert of(found, Refused)


def test_another_mass_than_stands_there_is_held_until_it_is_told_on_purpose():
    hand = at_mass()
    show(hand, 0.0)
    show(hand, 512.4)
    hand.feed(Wanted(hand.now_ns(), mass("P1"), WHO))
    show(hand, 0.0, 3.0)
    found = show(hand, 514.0)
    (held,) = of(found, FactHeld)
    assert (held.reason, held.before, held.open) == ("another-value", "512.4", True)
    assert masses(hand) == {"P1": "512.4"}


def test_a_length_gauge_fills_no_mass_and_a_scale_no_size():
    hand = at_mass()
    for n in range(60):
        hand.feed(Reading(OUTSIDE, hand.now_ns() + n * 10**8, 512_400_000))
        hand.feed(Reading(SCALE, hand.now_ns() + n * 10**8, 512_400_000))
    hand.t_s += 6
    assert not masses(hand)
    hand.feed(Weighed(OUTSIDE, hand.now_ns(), 512 * G, G))
    assert not masses(hand)
    sizing = at_mass(steps=None)
    said = len(sizing.said)
    show(sizing, 84.92, 10.0)
    assert len(sizing.said) == said


def test_an_undo_takes_the_mass_back_and_asks_for_it_again():
    hand = at_mass()
    show(hand, 0.0)
    show(hand, 512.4)
    press(hand, "undo")
    assert hand.bench.asked.at == mass("P1")
    show(hand, 512.4, 8.0)  # the part lies there since before
    assert masses(hand) == {"P1": ""}
    show(hand, 0.0)
    show(hand, 512.5)
    assert masses(hand) == {"P1": "512.5"}


# ---------------------------------------------------------------- one that sends once


def printed(hand: Hand, g: float, after_s: float = 4.0, *, digit_g: float = 0.1) -> list:
    hand.t_s += after_s
    return once(hand, g, digit_g=digit_g)


def test_a_scale_that_sends_once_needs_no_bare_pan():
    hand = at_mass(by_print=True)
    for g in (512.4, 513.0, 511.2, 514.9):
        printed(hand, g)
    assert list(masses(hand).values()) == ["512.4", "513", "511.2", "514.9"]


def test_a_mass_like_the_one_before_is_asked_about():
    hand = at_mass(by_print=True)
    printed(hand, 512.4)
    (held,) = of(printed(hand, 512.5), FactHeld)
    assert "P2 weighs as P1 did" in told(held.sentence)
    assert of(printed(hand, 512.5), FactHeld)  # the key again: the same part may lie there
    assert masses(hand) == {"P1": "512.4"}
    hand.feed(FactTold(hand.now_ns(), held.at, held.value, "g", hand.bench.who, confirms=True))
    assert masses(hand) == {"P1": "512.4", "P2": "512.5"}


def test_a_mass_like_the_one_before_counts_where_the_scale_was_seen_bare():
    hand = at_mass(by_print=True)
    printed(hand, 512.4)
    printed(hand, 0.0)
    printed(hand, 512.5)
    assert masses(hand) == {"P1": "512.4", "P2": "512.5"}


def test_what_is_sent_before_the_question_could_be_read_is_told():
    hand = at_mass(by_print=True)
    (held,) = of(printed(hand, 512.4, 0.5), FactHeld)
    assert held.reason == "too-soon"
    printed(hand, 512.4)
    assert masses(hand) == {"P1": "512.4"}


# ---------------------------------------------------------------- any weighing


def test_the_nearest_milligram_of_an_ounce():
    """1 oz avoirdupois = 28.349523125 g (NIST SP 811, appendix B.8)."""
    assert grams(28_349_523_125_000_000) == "28.35"
    assert grams(18_075 * 28_349_523_125_000) == "512.418"
    assert grams(-(3 * 10**14)) == "-0.3"
    assert grams(0) == "0"


@settings(max_examples=10, deadline=None)
@given(seed=st.integers(0, 10**9), by_print=st.booleans())
def test_whatever_a_hand_does_no_part_gets_another_ones_mass(seed, by_print):
    """Parts that differ by 3 g and more, in any order on and off the scale, named by nobody.

    What stands for a part must have been laid on, alone, after the part was asked for.
    """
    chance = random.Random(seed)  # noqa: S311  a simulated hand
    hand = at_mass(by_print=by_print)
    for _ in range(30):
        asked = hand.bench.asked.at if hand.bench.asked else None
        lies = chance.choice([0.0, 0.0, 510.0, 513.4, 517.1, 1023.4, -40.0])
        before = set(masses(hand))
        if by_print and lies:
            printed(hand, lies, chance.choice([0.4, 4.0]))
        else:
            show(hand, lies, chance.choice([0.3, 2.0, 6.0]))
        if chance.random() < 0.1:
            hand.feed(GaugeChanged(SCALE, hand.now_ns(), "lost"))
        if chance.random() < 0.1:
            press(hand, chance.choice(["next", "undo"]))
        new = {part for part in set(masses(hand)) - before if masses(hand)[part]}
        assert new <= ({asked.part} if asked else set())
        allowed = {grams(round(g * 1000) * G // 1000) for g in (lies,) if g > 0}
        assert {masses(hand)[part] for part in new} <= allowed
    assert replayed(hand.fed, _setup(by_print, ("mass",))) == hand.said
