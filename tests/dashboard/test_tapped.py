"""What is tapped on the bench's screen: the answer to what is asked for, and nothing else."""

import dataclasses
import json

import pytest
from msgspec.structs import replace

from barrelfit.dashboard.board.model import Board, Link
from barrelfit.dashboard.html.blocks import bench_blocks
from barrelfit.dashboard.server.tapped import tapped_command
from barrelfit.dashboard.shown import Shown
from barrelfit.dashboard.view.bench import bench_view
from tests.dashboard.scripted import heard
from tests.dashboard.states import messages


@pytest.fixture
def board():
    made = Board("bench-1")
    for message in messages("asks-look", "bench-1"):
        heard(made, message)
    made.state.people.append("Kim")
    return made


def tap(value="good", ask=1):
    return json.dumps({"do": "answer", "value": value, "ask": ask})


def test_an_answer_goes_to_the_bench_in_the_name_of_who_signed_on(board):
    command, sentence = tapped_command(board, tap(), "r1")
    assert sentence == ""
    wanted = {"kind": "fact", "id": "r1", "value": "good", "who": "Kim", "ask": 1}
    assert wanted.items() <= command.items()
    assert command["at"]["part"] == "P1"
    assert not board.state.facts  # nothing is taken before its record comes


def test_an_answer_to_another_ask_is_not_sent(board):
    assert tapped_command(board, tap(ask=7), "r") == (None, "something else is asked for by now")


def test_nobody_answers_without_a_name(board):
    board.state.people.clear()
    board.state.opened = dataclasses.replace(board.state.opened, who="")
    assert tapped_command(board, tap(), "r") == (None, "sign on first, on the parts page")


@pytest.mark.parametrize(
    "text", ["", "{", "[]", "7", '{"do": "play"}', tap(value="<b>"), tap(value=None), "x" * 9_000]
)
def test_anything_else_is_nothing(board, text):
    assert tapped_command(board, text, "r") == (None, "")


def test_the_answers_stand_there_to_be_touched(board):
    picture = bench_blocks(bench_view(board, 0, Link(up=True), Shown()))["picture"]
    assert 'data-do="answer" data-ask="1" data-value="good"' in picture
    assert 'data-value="later"' in picture


@pytest.fixture
def mass_asked(board):
    """A number is asked for, that no button can answer."""
    board.facts_asked = [replace(one, options=[], unit="g") for one in board.facts_asked]
    return board


def test_a_number_is_typed_on_a_phone_in_its_owners_name(mass_asked):
    command, sentence = tapped_command(mass_asked, tap("512.5"), "r", "Lee", "phone")
    wanted = {"value": "512.5", "who": "Lee", "by": "phone", "unit": "g", "ask": 1}
    assert (sentence, wanted.items() <= command.items()) == ("", True)
    assert tapped_command(mass_asked, tap("512.5"), "r") == (None, "")  # it has no keys to type
    assert tapped_command(mass_asked, tap("  "), "r", "Lee", "phone") == (None, "")


def test_what_is_typed_has_a_way_to_the_parts_page_and_a_mark_its_answers():
    made = Board("bench-1")
    for message in messages("asks-stamp", "bench-1"):
        heard(made, message)
    view = bench_view(made, 0, Link(up=True), Shown())
    picture = bench_blocks(view)["picture"]
    assert 'href="/parts?id=bench-1"' in picture
    for value in ("unreadable", "absent", "later"):
        assert f'data-value="{value}"' in picture


def test_a_size_that_no_gauge_measures_has_a_way_to_where_it_is_typed():
    made = Board("bench-1")
    for message in messages("asks-by-hand", "bench-1"):
        heard(made, message)
    assert (
        'href="/entry?id=bench-1"'
        in bench_blocks(bench_view(made, 0, Link(up=True), Shown()))["ask"]
    )
