"""One screen at a time: which one, for how long, and that each speaks of its own part alone."""

import re

import pytest

from barrelfit.dashboard.board.model import Board, Link
from barrelfit.dashboard.html.blocks import bench_blocks
from barrelfit.dashboard.html.feed import BenchFeed
from barrelfit.dashboard.shown import Shown
from barrelfit.dashboard.view.bench import bench_view
from barrelfit.dashboard.view.stage import READ_MS, SEEN_MS, stage_of
from tests.dashboard.scripted import ScriptedBench, heard, place
from tests.dashboard.states import STATES, messages, touched

UP, MM = Link(up=True), Shown()
MS = 1_000_000
NOW = 9_000_000_000


def board_in(name):
    board = Board("bench-1")
    for message in messages(name, "bench-1", lambda: NOW):
        heard(board, message, NOW)
    return board


def blocks_in(name):
    board = board_in(name)
    return bench_blocks(bench_view(board, NOW, UP, MM))


STAGES = {
    "rest": ("waiting", "no-job"),
    "sweep": ("touched", "sweeping", "doubtful", "put-down", "started-anew",
              "pass-lost", "coached", "not-recording"),
    "answer": ("serviceable", "rework", "discard", "undecided", "answered-place", "refused",
               "refused-once", "overridden"),
    "set": tuple(name for name in STATES if name.startswith("set-")),
}  # fmt: skip


@pytest.mark.parametrize("name", STATES)
def test_each_state_has_its_screen(name):
    wanted = next((stage for stage, names in STAGES.items() if name in names), "ask")
    assert stage_of(board_in(name), NOW) == wanted


def test_an_answer_stands_long_enough_to_be_read_and_then_gives_way():
    board = board_in("discard")
    assert stage_of(board, NOW + (READ_MS - 1) * MS) == "answer"
    assert stage_of(board, NOW + READ_MS * MS) == "ask"


def test_an_answer_is_seen_even_when_the_next_part_comes_at_once():
    script, board = ScriptedBench(clock=lambda: NOW), Board("bench-1")
    at = place("P2", "skirt")
    for message in (
        script.snapshot(),
        script.batch(script.sized(place("P1", "skirt"), 84_000_000, [])),
        script.batch(script.asked(1), script.event("contact", {"at": at, "t_ns": NOW})),
    ):
        heard(board, message, NOW)
    assert stage_of(board, NOW + (SEEN_MS - 1) * MS) == "answer"
    assert stage_of(board, NOW + SEEN_MS * MS) == "sweep"


def test_a_page_is_told_when_an_answer_gives_way_though_nothing_happens():
    board, feed = board_in("discard"), BenchFeed(MM)
    board.heard_at_ns = NOW
    assert feed.next(board, NOW, UP)["stage"] == "answer"
    assert "stage" not in feed.next(board, NOW + MS, UP)
    assert feed.next(board, NOW + READ_MS * MS, UP)["stage"] == "ask"


def test_an_answer_that_nobody_saw_come_is_not_shown_as_news():
    board = board_in("asks-after")
    assert stage_of(board, NOW) == "ask"
    view = bench_view(board, NOW, UP, MM)
    assert (view.answer.about, view.answer.verdict.word) == ("P1 skirt", "REWORK")


def test_while_another_part_is_swept_no_verdict_is_large():
    board = board_in("discard")
    for message in list(touched(ScriptedBench(session="s-discard", seq=100, t_ns=NOW)))[2:]:
        heard(board, message, NOW + READ_MS * MS)
    blocks = bench_blocks(bench_view(board, NOW + READ_MS * MS, UP, MM))
    for name in ("ask", "passes", "caution"):
        assert "DISCARD" not in blocks[name]
    assert "DISCARD" in blocks["strip"]


def test_a_place_of_a_part_that_is_not_measured_yet_brings_no_verdict():
    answer = blocks_in("answered-place")["answer"]
    assert "85.0120 mm" in answer
    assert "B1: 1 of 6 places measured" in answer
    assert not re.search("SERVICEABLE|REWORK|DISCARD|UNDECIDED", answer)


def test_nothing_stays_of_what_was_undone():
    board = board_in("undone")
    view = bench_view(board, NOW, UP, MM)
    assert view.answer is None
    assert view.passes.count == 0
    blocks = bench_blocks(view)
    assert blocks["answer"] == blocks["strip"] == ""
    assert "DISCARD" not in " ".join(blocks.values())


def test_a_refusal_says_why_and_what_to_do_and_is_no_verdict():
    answer = blocks_in("refused")["answer"]
    assert "NO SIZE" in answer
    assert "the size moves one way from pass to pass" in answer
    assert "measure again" in answer


def test_a_bench_without_a_job_leads_to_the_jobs():
    ask = blocks_in("no-job")["ask"]
    assert 'class="glove" href="/jobs?id=bench-1"' in ask
    assert "glove" not in blocks_in("waiting")["ask"]


def test_the_same_once_more_and_a_question_are_marked():
    assert "once more" in blocks_in("once-more")["ask"]
    question = blocks_in("same-part")["ask"]
    assert "Two parts?" in question
    assert "P1 and P2 agree to 0.001 mm" in question
    pressed = blocks_in("same-part-pressed")["ask"]
    assert "Different parts?" in pressed
    assert "P1, P2, P3, P4: different parts? Press next once more" in pressed


@pytest.mark.parametrize(
    ("name", "word", "verdict"),
    [
        ("set-ready", "READY", "serviceable"),
        ("set-waits", "WAITS FOR P3, B1", "undecided"),
        ("set-empty", "CYLINDER 3 IS EMPTY", "discard"),
        ("set-impossible", "NO PAIRING KEEPS EVERY LIMIT", "discard"),
        ("set-rework", "READY AFTER REWORK", "rework"),
    ],
)
def test_a_set_ends_on_its_own_word(name, word, verdict):
    result = bench_view(board_in(name), NOW, UP, MM).result
    assert sorted(result.word.replace(",", "").split()) == sorted(word.replace(",", "").split())
    assert result.verdict == verdict


def test_a_set_with_an_empty_cylinder_is_not_called_serviceable_in_large_letters():
    end = blocks_in("set-empty")["set"]
    large = re.search(r'<p class="word">.*?</p>', end, re.DOTALL)[0]
    assert "SERVICEABLE" not in large
    assert "no piston" in end


def test_undecided_parts_are_marked_in_the_pairing():
    rows = bench_view(board_in("set-waits"), NOW, UP, MM).result.seats
    assert [seat.verdict for seat in rows] == [
        "undecided",
        "serviceable",
        "undecided",
        "serviceable",
    ]
    assert blocks_in("set-waits")["set"].count("</svg>UNDECIDED") == 2
