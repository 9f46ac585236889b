"""A gauge that sends only on its button: its presses are called so, and nothing else is said."""

import msgspec
import pytest

from barrelfit.dashboard.board.model import Board
from barrelfit.dashboard.view.passes import caution, pass_marks
from tests.dashboard.scripted import ScriptedBench
from tests.dashboard.test_view import MM, NOW, board_after, heard, place

AT = place("P1", "skirt")


@pytest.fixture
def script():
    return ScriptedBench()


def by_press(board: Board) -> Board:
    board.features = [msgspec.structs.replace(one, by_press=True) for one in board.features]
    return board


def test_what_it_counts_is_presses(script):
    board = board_after([script.snapshot(), script.batch(script.asked(0))])
    assert pass_marks(board, MM).word == "passes"
    assert pass_marks(by_press(board), MM).word == "presses"


def test_a_press_too_soon_says_what_to_do_with_a_button(script):
    board = by_press(board_after([script.snapshot(), script.batch(script.asked(0))]))
    heard(board, script.batch(script.event("not_counted", {"at": AT})), NOW)
    assert caution(board, MM, NOW) == "not counted: press nothing for 3 s first"


def test_what_is_said_of_a_gauge_that_reads_far_off_goes_with_a_right_reading(script):
    board = by_press(board_after([script.snapshot(), script.batch(script.asked(0))]))
    far = {
        "at": AT,
        "gauge": "micrometer",
        "code": "zeroed",
        "read_nm": 2_000,
        "expected_nm": 84_940_000,
    }
    passed = {"at": AT, "number": 4, "start_ns": 1, "end_ns": 1}
    heard(board, script.batch(script.event("far_off", far)), NOW)
    assert "zeroed?" in caution(board, MM, NOW)
    heard(board, script.batch(script.event("passed", {**passed, "size_nm": 12_000})), NOW)
    assert "zeroed?" in caution(board, MM, NOW)
    heard(board, script.batch(script.event("passed", {**passed, "size_nm": 84_921_000})), NOW)
    assert caution(board, MM, NOW) == ""
