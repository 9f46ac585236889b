"""Every word of the board comes from a catalogue, but for what somebody named."""

import re

import pytest

from barrelfit.acquire.bus.plan_told import planned_features
from barrelfit.acquire.inputs.shelf import shipped_text
from barrelfit.dashboard.board.fold import fold_record
from barrelfit.dashboard.board.model import Board, Link
from barrelfit.dashboard.board.record import BoardRecord
from barrelfit.dashboard.html.blocks import bench_blocks
from barrelfit.dashboard.html.floor_html import floor_parts
from barrelfit.dashboard.html.set_html import set_parts
from barrelfit.dashboard.shown import Shown
from barrelfit.dashboard.view.bench import bench_view
from barrelfit.dashboard.view.floor import floor_view
from barrelfit.dashboard.view.set import set_view
from barrelfit.rules.model import FeatureId
from tests import pseudo
from tests.acquire.answered_late import OPENING, SETUP, AnsweredLate

SKIRTS = [FeatureId(f"P{n}", "skirt") for n in range(1, 5)]
BORES = [
    FeatureId(f"B{n}", "bore", depth, direction)
    for n in range(1, 5)
    for depth in ("top", "middle", "bottom")
    for direction in ("thrust", "pin")
]
PLACES = [*SKIRTS, *BORES]
# Worn out, slipped by a decimal, near a limit, of another unit, and sound.
TYPED = ["84.84", "8.4932", "84.861", "3.3432", "84.93"]


def session():
    """A whole set typed in, with slips, an undo, and a size that is doubted."""
    made = AnsweredLate()
    for number, at in enumerate(PLACES):
        texts = [*TYPED, "84.93"] if at == SKIRTS[0] else ["84.93" if at in SKIRTS else "85.02"]
        if at == BORES[3]:
            texts = ["85.115", "85.2"]
        for text in texts:
            made.typed(at, text, why="as read" if number % 2 else "")
            made.let()
            yield made
    made.pressed("undo")
    made.let()
    made.typed(PLACES[-1], "85.031")
    made.let()
    yield made


def board_of(records):
    board = Board(OPENING.bench)
    for record in records:
        seen = BoardRecord(
            record.seq, record.because, record.seq, "2026-11-25T01:02:03.5Z", record.event
        )
        fold_record(board, seen, record.seq)
    board.features = planned_features(SETUP)
    return board


def text_of(html):
    return re.sub("<style>.*?</style>|<[^>]*>", " ", html, flags=re.DOTALL)


@pytest.mark.parametrize("shown", [Shown(), Shown("inch", comma=True)], ids=["mm", "inch"])
def test_no_page_of_the_board_has_a_word_of_its_own(shown, monkeypatch):
    pseudo.speak_it(monkeypatch)
    named = pseudo.named_in(
        OPENING.set_text, OPENING.config_text, shipped_text("rules", "sheets", "flat-four-85")
    )
    named |= pseudo.words(f"{OPENING.bench} {OPENING.job} {OPENING.who} as read micrometer")
    up, bare, pages = Link(up=True), set(), 0
    for made in session():
        board = board_of(made.records)
        now = len(made.records)
        texts = [*bench_blocks(bench_view(board, now, up, shown)).values()]
        texts += _texts(set_parts(set_view(board, shown), "", "", "", shown))
        texts += _texts(floor_parts(floor_view({board.bench: board}, now, up, shown), ""))
        pages += len(texts)
        bare |= pseudo.words(text_of(" ".join(texts))) - named - pseudo.UNITS
    assert pages > 100
    assert bare == set()


def _texts(parts):
    if isinstance(parts, str):
        return [parts]
    if isinstance(parts, dict):
        return [text for one in parts.values() for text in _texts(one)]
    return (
        [text for one in parts for text in _texts(one)] if isinstance(parts, list | tuple) else []
    )
