"""Every word of a report and of a judged set comes from a catalogue, or somebody named it."""

import re
from pathlib import Path

import pytest

from barrelfit.acquire.bench.printed import in_words
from barrelfit.acquire.inputs.set_file import load_set
from barrelfit.acquire.inputs.shelf import shipped_text
from barrelfit.acquire.journal.events import OUTPUT_TYPES
from barrelfit.acquire.journal.sentences import line_of
from barrelfit.acquire.journal.session import Session
from barrelfit.acquire.report.content import report_of
from barrelfit.acquire.report.html import html_of
from barrelfit.acquire.report.set_result import result_lines
from barrelfit.acquire.report.set_text import result_text
from barrelfit.rules.events import TwoPartsSettled
from barrelfit.rules.judge import judge_set
from tests import pseudo
from tests.journals.make_fixture import VERSION

SETS = Path(__file__).parents[1] / "sets"
CODES = (TwoPartsSettled,)  # tells how in a code
PLATED = "07-plated-bore-worn"
SHAPES = {"A", "B", "U"}  # kinds of evaluation and a shape, as JCGM 100 and 101 name them


@pytest.mark.parametrize("path", sorted(SETS.glob("*.toml")), ids=lambda p: p.stem)
def test_a_judged_set_has_no_word_of_its_own(path, monkeypatch):
    sheet = "flat-six-92-plated" if path.stem == PLATED else "flat-four-85"
    named = pseudo.named_in(
        path.read_text(encoding="utf-8"), shipped_text("rules", "sheets", sheet)
    )
    loaded = load_set(path, sheet, 1.65)
    pseudo.speak_it(monkeypatch)
    lines = list(result_lines(loaded, judge_set(loaded.evidence)))
    bare = pseudo.words(result_text(lines)) - named - pseudo.UNITS
    assert bare <= {"work", "OUT", "ok"}  # the marks before the verdicts
    page = html_of(report_of(lines, {}))
    text = re.sub("<style>.*?</style>|<[^>]*>", " ", page, flags=re.DOTALL)
    assert pseudo.words(text) - named - pseudo.UNITS - SHAPES == set()


def test_what_the_rules_found_is_told_by_replay_and_run_in_words_of_the_catalogue(monkeypatch):
    pseudo.speak_it(monkeypatch)
    records = list(Session.open(SETS.parent / "journals" / f"v{VERSION}.jsonl").records())
    opening = records[0].event
    named = pseudo.named_in(opening.set_text, opening.config_text, opening.sheet_text)
    bare, lines = set(), 0
    for record in records:
        if isinstance(record.event, OUTPUT_TYPES) and not isinstance(record.event, CODES):
            for line in (line_of(record), in_words(record.event)):
                lines += bool(line)
                bare |= pseudo.words(line) - named - pseudo.UNITS
    assert lines > 30
    assert bare <= {"floor", "likelihood", "typed", "A", "Smith"}  # estimators' names, a person
