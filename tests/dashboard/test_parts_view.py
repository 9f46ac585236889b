"""The parts page's view: what is known of a part, who told it, and what waits for an answer."""

import pytest

from barrelfit.acquire.bus.plan_told import SetTold
from barrelfit.acquire.bus.snapshot import Telling
from barrelfit.acquire.inputs.set_now import setup_now
from barrelfit.acquire.inputs.setup import setup_of
from barrelfit.acquire.journal.recorder import JustRecorded
from barrelfit.dashboard.board.fold import fold_message
from barrelfit.dashboard.board.model import Board
from barrelfit.dashboard.shown import Shown
from barrelfit.dashboard.view.parts import (
    choices,
    fact_place,
    free_name,
    key_words,
    new_part,
    others_of,
    part_names,
    part_view,
    tellable,
)
from barrelfit.dashboard.words import ENGLISH
from barrelfit.rules.bench.step import begin, step
from barrelfit.rules.model import FeatureId
from barrelfit.rules.told import FactTold
from tests.acquire.recorded import opening

OPENING = opening()
SETUP = setup_of(OPENING)
MM = Shown()


def board_after(*told: FactTold) -> Board:
    """A board that was told of a session in which these facts were told."""
    telling = Telling("b", "s", lambda state: SetTold.of(setup_now(SETUP, state)))
    bench, found = begin(SETUP)
    seq = 1
    telling.take(JustRecorded(seq, None, OPENING))
    events = list(found)
    for one in told:
        events.append(one)
        bench, found = step(bench, one)
        events += found
    for event in events:
        seq += 1
        telling.take(JustRecorded(seq, seq - 1, event))
    board = Board("b")
    fold_message(board, "snapshot", telling.payload(seq, "2026-11-25T01:02:03.000000Z"), 1)
    return board


def fact(place, value, who="A. Smith", **more):
    return FactTold(1, FeatureId(*place.split("/")), value, who=who, **more)


def test_every_part_stands_there_the_engine_first():
    assert part_names(board_after())[:4] == ("", "P1", "P2", "P3")


def test_what_is_known_is_shown_with_who_told_it_and_what_stood_before():
    board = board_after(
        fact("P1/looked", "good"),
        fact("P1/looked", "scored-skirt", "B. Jones", why="under the lens"),
        fact("P1/feeler/top/0.05 used", "in, out"),
    )
    rows = {row.what: row for row in part_view(board, "P1", MM).rows}
    assert rows["Serial number"].value == "K-100"  # from the file, told by nobody here
    assert rows["Serial number"].more == ""
    looked = rows["Look before cleaning"]
    assert looked.value == "scored-skirt"
    assert looked.more == "told by B. Jones · before: good · under the lens"
    assert rows["Feeler in a groove top 0.05 used"].value == "goes in, stays out"


def test_a_contradiction_stands_there_until_it_is_answered():
    told = [fact("P1/looked", "good"), fact("P1/looked", "cracked", "B. Jones")]
    (question,) = part_view(board_after(*told), "P1", MM).open_now
    assert question.startswith("NOT TAKEN: Look before cleaning cracked, told by B. Jones")
    assert part_view(board_after(*told), "P2", MM).open_now == ()
    answered = board_after(*told, fact("P1/looked", "good"))
    assert part_view(answered, "P1", MM).open_now == ()


def test_what_could_not_be_taken_is_said_until_something_is():
    told = fact("P1/looked", "banana")
    assert "banana" in part_view(board_after(told), "P1", MM).refused
    assert part_view(board_after(told, fact("P1/looked", "good")), "P1", MM).refused == ""


@pytest.mark.parametrize("part", ["", "P1", "B1"])
def test_every_key_that_may_be_told_has_words_and_its_choices(part):
    board = board_after()
    for key in tellable(board, part):
        assert f"fact_{key.name}" in ENGLISH
        assert key_words(key.name) != key.name
    by_name = {key.name: choices(board, part, key) for key in tellable(board, part)}
    if part:
        assert "good" in by_name["looked"]
    else:
        assert by_name["variant"] == ["early", "late"]


def test_a_part_from_the_shelf_gets_the_next_name_and_takes_a_place():
    told = new_part(board_after(), "piston", "P3")
    board = board_after(fact("P5/id", told))
    assert free_name(board, "piston") == "P6"
    pins = [known.part for known in board.parts if known.kind == "pin"]
    assert set(others_of(board, "pin")) == {"P1", "P2", "P3", "P4", "P5", *pins}
    assert new_part(board, "pin", "P5") == "pin of P5"
    rows = {row.what: row.value for row in part_view(board, "P5", MM).rows}
    assert rows["One more than the engine has"] == "piston replaces P3"
    assert any(planned.at.part == "P5" for planned in board.features)


def test_a_leaf_is_told_in_mm_with_a_point():
    leaf = {"thickness": " 0,05", "beside": "used"}
    assert fact_place("P1", "feeler", "top", leaf) == FeatureId("P1", "feeler", "top", "0.05 used")
    assert fact_place("P1", "looked", "", {}) == FeatureId("P1", "looked")
