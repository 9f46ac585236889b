"""Every phase of a bench meets every event; and any events at all end in no error."""

import inspect
from copy import deepcopy
from dataclasses import replace
from typing import get_args

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from barrelfit.rules.bench.phases import Phase
from barrelfit.rules.bench.step import TABLE, step
from barrelfit.rules.events import (
    Asked,
    Contact,
    EntryMade,
    GaugeChanged,
    Input,
    PedalPressed,
    Reading,
    ReadingFault,
    RecordBroken,
    Sized,
    TemperatureTaken,
    Wanted,
    WentOn,
)
from barrelfit.rules.model import FeatureId
from barrelfit.rules.said import written
from barrelfit.rules.telling import AskShown, BoardAwaited, TellingChanged
from barrelfit.rules.told import AtBench, FactTold, Weighed
from tests.rules.step_rig import (
    BORE,
    GOOD_MM,
    OUTSIDE,
    P1,
    P2,
    WHO,
    Hand,
    gone_once,
    measured,
    replayed,
    with_steps,
)

PHASES = ("waiting", "armed", "sweeping", "leaving", "totell", "byhand", "done")
EVENTS = {
    "reading": lambda t: Reading(OUTSIDE, t, 84_000_000),
    "other reading": lambda t: Reading(BORE, t, 85_000_000),
    "mass": lambda t: Weighed("scale", t, 512 * 10**15, 10**14),
    "fault": lambda t: ReadingFault(OUTSIDE, t, "battery_low"),
    "lost": lambda t: GaugeChanged(OUTSIDE, t, "lost"),
    "other lost": lambda t: GaugeChanged(BORE, t, "lost"),
    "present": lambda t: GaugeChanged(OUTSIDE, t, "present"),
    "answering": lambda t: GaugeChanged(OUTSIDE, t, "answering"),
    "next": lambda t: PedalPressed(t, "next"),
    "again": lambda t: PedalPressed(t, "again"),
    "undo": lambda t: PedalPressed(t, "undo"),
    "back": lambda t: PedalPressed(t, "back"),
    "wanted": lambda t: Wanted(t, P1, WHO),
    "wanted, not planned": lambda t: Wanted(t, FeatureId("X", "skirt"), WHO),
    "entry": lambda t: EntryMade(t, P1, "84.92", "mm", WHO, why="the wire is broken"),
    "bad entry": lambda t: EntryMade(t, P1, "84,9.2", "mm", WHO),
    "temperature": lambda t: TemperatureTaken(t, "room", 21_000),
    "fact": lambda t: FactTold(t, FeatureId("P3", "looked"), "good", who=WHO),
    "bad fact": lambda t: FactTold(t, FeatureId("P3", "looked"), "banana", who=WHO),
    "doubtful fact": lambda t: FactTold(t, FeatureId("P3", "mass_g"), "5120", "g", who=WHO),
    "signed on": lambda t: AtBench(t, "B. Jones"),
    "went on": WentOn,
    "nobody sees": lambda t: TellingChanged(t, "bus", there=False),
    "seen": lambda t: TellingChanged(t, "bus", there=True),
    "board awaited": BoardAwaited,
    "ask shown": lambda t: AskShown(t, 1),
    "interrupted": lambda t: RecordBroken(t, written("its file was cut by somebody else")),
    "this ask": lambda _t: Asked(P1, OUTSIDE, written("P1"), 0, 0),
    "an ask of nobody": lambda _t: Asked(FeatureId(written("X"), "skirt"), OUTSIDE, "X", 0, 0),
}
# After the event and the asks that followed from it: the phase, and whether passes are kept.
STAYS = (
    *("reading", "other reading", "fault", "other lost", "answering", "bad entry", "temperature"),
    "mass",
    *("nobody sees", "seen", "wanted, not planned", "went on", "this ask", "an ask of nobody"),
    *("board awaited", "ask shown", "signed on", "fact", "bad fact", "doubtful fact"),
)
EXPECTED = {
    "waiting": {
        **dict.fromkeys(EVENTS, ("waiting", False)),  # nothing but its ask ends it
        "this ask": ("armed", False),
    },
    "armed": {
        **dict.fromkeys(EVENTS, ("armed", False)),
        "nobody sees": ("waiting", False),
    },
    "sweeping": {
        **dict.fromkeys(STAYS, ("armed", True)),
        "lost": ("armed", False),
        "present": ("armed", False),
        "interrupted": ("armed", False),
        "next": ("leaving", False),
        "again": ("armed", False),
        "undo": ("leaving", False),
        "back": ("leaving", False),
        "wanted": ("armed", False),
        "entry": ("leaving", False),
    },
    "leaving": {
        **dict.fromkeys(EVENTS, ("leaving", False)),
        "nobody sees": ("waiting", False),
        "undo": ("armed", False),
        "back": ("armed", False),
        "wanted": ("armed", False),
    },
    "totell": {
        **dict.fromkeys(EVENTS, ("totell", False)),
        "undo": ("totell", False),
        "wanted": ("armed", False),
    },
    "byhand": {
        **dict.fromkeys(EVENTS, ("byhand", False)),
    },
    "done": {
        **dict.fromkeys(EVENTS, ("done", False)),
        "undo": ("armed", False),
        "back": ("armed", False),
        "wanted": ("armed", False),
    },
}


@gone_once
def in_phase(phase: str) -> Hand:
    if phase == "done":
        return measured()
    hand = Hand()
    if phase == "waiting":
        hand.link = False
        hand.begin(hand.bench.setup)
    if phase == "totell":
        hand.begin(with_steps(hand.bench.setup))
    if phase == "byhand":
        setup = hand.bench.setup
        hand.begin(replace(setup, gauges={BORE: setup.gauges[BORE]}))
    hand.rest(1.0)
    if phase == "leaving":
        hand.size(GOOD_MM)
    if phase == "sweeping":
        hand.feed(EntryMade(1, P2, "84.91", "mm", WHO))  # something for undo to take back
        hand.rest(3.0)
        hand.sweep(GOOD_MM, 3)
    return hand


def test_the_table_has_every_cell_and_each_takes_what_its_place_says():
    assert set(EXPECTED) == set(PHASES)
    assert all(set(row) == set(EVENTS) for row in EXPECTED.values())
    phases, events = get_args(Phase), get_args(Input)
    assert set(TABLE) == set(phases)
    for phase, row in TABLE.items():
        assert set(row) == set(events)
        for event, cell in row.items():
            _, takes, of = inspect.signature(cell, eval_str=True).parameters.values()
            assert phase in (get_args(takes.annotation) or (takes.annotation,)), (phase, event)
            assert event in (get_args(of.annotation) or (of.annotation,)), (phase, event)


@pytest.mark.parametrize("name", EVENTS)
@pytest.mark.parametrize("phase", PHASES)
def test_every_phase_meets_every_event(phase, name):
    hand = in_phase(phase)
    passes, judged = hand.passes, len(hand.of(Sized))
    assert (passes > 0) == (phase == "sweeping")
    assert hand.phase == {"sweeping": "armed"}.get(phase, phase)
    hand.feed(EVENTS[name](hand.now_ns()))
    expected, kept = EXPECTED[phase][name]
    assert hand.phase == expected
    assert hand.passes == (passes if kept else 0)
    assert len(hand.of(Sized)) - judged == (name == "entry")
    assert (hand.bench.asked is None) == (hand.phase == "done")


# ---------------------------------------------------------------- the same again


@st.composite
def event_lists(draw):
    """Anything a bench may hear, in any order, sensible or not."""
    places = st.sampled_from([P1, P2, FeatureId("B1", "bore", "top", "pin"), FeatureId("X", "y")])
    texts = st.one_of(
        st.text(max_size=8), st.sampled_from(["84.92", "8.492", "85,01", "1e9", "-1"])
    )
    gauges = st.sampled_from([OUTSIDE, BORE, "none"])
    one = st.one_of(
        st.builds(Reading, gauges, st.integers(0, 10**11), st.integers(-(10**9), 10**9)),
        st.builds(ReadingFault, gauges, st.integers(0, 10**11), st.text(max_size=5)),
        st.builds(
            GaugeChanged,
            gauges,
            st.integers(0, 10**11),
            st.sampled_from(["answering", "present", "lost"]),
        ),
        st.builds(Wanted, st.integers(0, 10**11), places, st.just(WHO)),
        st.builds(Asked, st.one_of(st.none(), places), gauges, st.just(""), st.just(0), st.just(8)),
        st.builds(TellingChanged, st.just(0), st.sampled_from(["bus", "board"]), st.booleans()),
        st.builds(
            PedalPressed, st.integers(0, 10**11), st.sampled_from(["next", "again", "back", "undo"])
        ),
        st.builds(
            EntryMade,
            st.integers(0, 10**11),
            places,
            texts,
            st.sampled_from(["mm", "in", "um", "", "furlong"]),
            st.text(max_size=3),
            st.booleans(),
            st.text(max_size=2),
        ),
        st.builds(
            FactTold,
            st.integers(0, 10**11),
            st.sampled_from(
                [
                    FeatureId("P1", "looked"),
                    FeatureId("B1", "kind"),
                    FeatureId("P1", "feeler", "top", "0.05"),
                    FeatureId("", "group"),
                    FeatureId("X", "y"),
                ]
            ),
            st.sampled_from(["good", "cracked", "plated", "in, out", "I", "", "banana"]),
            st.just(""),
            st.just(WHO),
            st.just("board"),
            st.booleans(),
            st.text(max_size=2),
        ),
        st.builds(
            TemperatureTaken,
            st.integers(0, 10**11),
            st.sampled_from(["part", "gauge", "room"]),
            st.integers(0, 60_000),
        ),
    )
    return draw(st.lists(one, max_size=40))


@settings(max_examples=60, deadline=None)
@given(event_lists())
def test_any_events_end_in_no_error_and_twice_the_same_events_say_the_same(events):
    first, second = replayed(events), replayed(events)
    assert first == second


def test_a_sweep_said_twice_says_the_same_and_a_copied_bench_goes_on_alike():
    hand = Hand(7)
    hand.rest(1.0)
    hand.sweep(GOOD_MM, 3)
    copied, before = deepcopy(hand.bench), len(hand.fed)
    hand.sweep(GOOD_MM, 4)
    hand.rest(2.0)
    hand.sweep(GOOD_MM - 0.01, 6)
    assert replayed(hand.fed) == hand.said
    heard = []
    for event in hand.fed[before:]:
        copied, found = step(copied, event)
        heard += found
    assert heard == hand.said[-len(heard) :]
    assert any(isinstance(one, Contact) for one in heard)
