"""What the board shows of a fact that is asked for: answers, the pedal's meaning, what to mind."""

import pytest

from barrelfit.acquire.bus.plan_told import SetTold
from barrelfit.acquire.bus.snapshot import Telling
from barrelfit.acquire.fold.state import NoSize
from barrelfit.acquire.inputs.set_now import setup_now
from barrelfit.acquire.journal.recorder import JustRecorded
from barrelfit.dashboard.board.fold import fold_message
from barrelfit.dashboard.board.kinds import SHOWN
from barrelfit.dashboard.board.model import Board, Link
from barrelfit.dashboard.board.record import BoardRecord
from barrelfit.dashboard.html.blocks import bench_blocks
from barrelfit.dashboard.shown import Shown
from barrelfit.dashboard.view.bench import bench_view
from barrelfit.dashboard.view.passes import caution
from barrelfit.dashboard.view.stage import TO_TELL_MS, stage_of
from barrelfit.dashboard.view.telling import telling_view
from barrelfit.rules.bench.phases import READ_NS
from barrelfit.rules.bench.step import begin, step
from barrelfit.rules.events import Asked, PedalPressed, Refused
from barrelfit.rules.model import FeatureId
from barrelfit.rules.said import length, said
from barrelfit.rules.told import FactHeld, FactTaken, FactTold
from tests.acquire.recorded import opening
from tests.rules.step_rig import Hand, with_steps

SETUP = Hand().bench.setup
MM = Shown()
PEDAL = {"next": "press", "again": "long", "undo": "double"}
SECOND = 1_000_000_000


def board_after(steps, *events, **keys):
    """A board that was told of a session that asks for these steps, and in which that happened."""
    setup = with_steps(SETUP, steps=steps, **keys)
    telling = Telling("b", "s", lambda s: SetTold.of(setup_now(setup, s), None, PEDAL))
    bench, found = begin(setup)
    seq = 1
    telling.take(JustRecorded(seq, None, opening()))
    waiting, todo = list(found), list(events)
    while waiting or todo:
        event = waiting.pop(0) if waiting else todo.pop(0)
        seq += 1
        telling.take(JustRecorded(seq, seq - 1, event))
        if isinstance(event, Asked | FactTold | PedalPressed):
            bench, found = step(bench, event)
            waiting += found
    board = Board("b")
    fold_message(board, "snapshot", telling.payload(seq, "2026-11-25T01:02:03.000000Z"), 1)
    return board


def test_a_look_has_its_reasons_and_the_pedal_says_good():
    view = telling_view(board_after(("look",)), MM)
    assert str(view.fact.at) == "P1/looked"
    assert view.fact.options[:2] == ["good", "cracked"]
    assert view.pedal == (
        "Press: good",
        "Long press: once more",
        "Double press: takes back the last",
    )
    assert view.caution.startswith("Caution: Broken rings")
    assert view.number == 1


def test_what_was_told_last_stands_there_with_what_speaks_against_it():
    board = board_after(
        ("identify",),
        FactTold(2 * SECOND, FeatureId("P1", "size_stamp"), "84.95", "mm", who="A. Smith"),
    )
    view = telling_view(board, MM)
    assert view.last == "P1 Stamped size: 84.95 (A. Smith)"
    assert any("stamp" in line for line in view.against)


def test_an_answer_that_came_too_soon_is_told():
    board = board_after(("look",), PedalPressed(SECOND, "next"))
    view = telling_view(board, MM)
    assert view.refused.startswith("Not counted: the press came before the question could be read")
    board = board_after(("look",), PedalPressed(3 * SECOND, "next"))
    assert telling_view(board, MM).refused == ""


def test_the_places_of_a_groove_are_counted_aloud_and_what_is_told_is_heard():
    """As the records come: a leaf's ask, a fact, an answer that came too soon."""
    board = Board("b")
    at = FeatureId("P1", "feeler", "top", "0.12 new")
    leaf = said("ask_leaf", part="P1", ring="top", leaf=length(120_000), place="2", places="4")
    held = FactHeld(at, "too-soon", said("pressed_too_soon"), said("do_read_then_press"), "out")
    for event in (Asked(at, "", leaf, 0, 1, 1), FactTaken(at, "out"), held):
        SHOWN[type(event)](board, BoardRecord(1, None, 1, "", event, 0), event)
    heard = [(cue.name, cue.about) for cue in board.cues]
    assert heard == [("place", "2 of 4"), ("told", "P1"), ("uncounted", "P1")]


def test_a_sweep_while_a_fact_is_asked_is_told_to_count_for_nothing():
    board = board_after(("look",))
    board.state.not_counted = True
    assert "no size is asked for" in caution(board, MM, 0)
    board.state.not_counted = False
    assert caution(board, MM, 0) == ""


def test_what_a_press_means_is_shown_before_it_counts():
    """The last size makes way for a fact that is asked for before a press can answer it."""
    assert TO_TELL_MS * 1_000_000 <= READ_NS
    board = board_after(("look",))
    at = FeatureId("P1", "skirt")
    board.state.refused[at] = NoSize(9, Refused(at, "x", said("frozen"), said("frozen")), 1)
    board.answered = (9, 0)
    assert stage_of(board, 1_400_000_000) == "answer"
    assert stage_of(board, 1_500_000_000) == "ask"


def test_what_is_yet_to_be_asked_speaks_against_nothing():
    told = FactTold(2 * SECOND, FeatureId("P1", "crown"), "flat", who="A. Smith")
    board = board_after(("identify",), told, group=None)
    assert telling_view(board, MM).against == ()


def test_a_part_that_waits_says_what_can_be_done_meanwhile():
    view = telling_view(board_after(("clean",)), MM)
    assert view.meanwhile == "Meanwhile: P2 Cleaned, P3 Cleaned, P4 Cleaned"
    assert view.fact.press == "done"


def test_a_size_has_its_steps_caution_and_the_pedals_usual_meaning():
    view = telling_view(board_after(()), MM)
    assert view.fact is None
    assert view.step == "measure"
    assert "seize" in view.caution
    assert view.pedal[0] == "Press: later"


@pytest.mark.parametrize("steps", [("look",), ("rings",), ()])
def test_the_bench_page_shows_it(steps):
    board = board_after(steps)
    blocks = bench_blocks(bench_view(board, 1, Link(up=True), MM))
    assert ("Press: good" in blocks["telling"]) == (steps == ("look",))
