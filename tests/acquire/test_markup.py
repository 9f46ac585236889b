"""Templates escape every word, and leave no blank where only the writer broke a line."""

import re
from html.parser import HTMLParser
from pathlib import Path

import pytest
from jinja2 import UndefinedError
from markupsafe import Markup

from barrelfit.acquire.markup import Templates
from barrelfit.acquire.report.blocks import (
    Cautions,
    Drawing,
    Heading,
    Items,
    Label,
    NewPage,
    Picture,
    Report,
    StandingBlock,
    TableBlock,
    Text,
    VerdictBlock,
)
from barrelfit.acquire.report.html import html_of

HOUSE = Path(__file__).resolve().parents[2]
TEMPLATES = sorted(HOUSE.glob("*/**/templates/*.html"))
EVIL = "\"'><evil a=1>&"


class Tags(HTMLParser):
    """Collects the tags of a text and what stands between them."""

    def __init__(self, text):
        super().__init__()
        self.opened, self.words, self.values = [], [], []
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        self.opened.append(tag)
        self.values += [value for _, value in attrs]

    def handle_data(self, data):
        self.words.append(data)


@pytest.fixture
def written(tmp_path, monkeypatch):
    """Makes templates of a text with one macro `m(x)`."""
    room = f"room_of_{tmp_path.name}"  # a module's name is kept for all of a run
    (tmp_path / room / "pages").mkdir(parents=True)
    (tmp_path / room / "__init__.py").touch()
    monkeypatch.syspath_prepend(str(tmp_path))

    def write(text):
        page = tmp_path / room / "pages" / "page.html"
        page.write_text("{% macro m(x) %}\n" + text + "\n{% endmacro %}\n", encoding="utf-8")
        return Templates(room, "pages", {})

    return write


def test_a_broken_line_leaves_no_blank_between_tags_and_one_in_a_text(written):
    made = written('<p>\n  <b\n    class="x">{{ x }}</b>\n  <i>one\n  two</i> <u></u>\n</p>')
    assert made("page", "m", "7") == '<p><b class="x">7</b><i>one two</i> <u></u></p>'


def test_words_are_escaped_and_markup_is_not(written):
    made = written('<p title="{{ x }}">{{ x }}</p>')
    tags = Tags(made("page", "m", EVIL))
    assert (tags.opened, tags.values, "".join(tags.words)) == (["p"], [EVIL], EVIL)
    assert made("page", "m", Markup("<i>")) == '<p title="<i>"><i></p>'


def test_what_a_view_does_not_have_is_an_error_not_an_empty_place(written):
    with pytest.raises(UndefinedError):
        written("{{ x.nothing }}")("page", "m", "7")


def test_no_word_of_a_report_becomes_markup():
    cells = ((EVIL, VerdictBlock(EVIL)), (EVIL, ""))
    report = Report(
        EVIL,
        (
            Heading(EVIL, 1),
            Text(EVIL),
            Items((EVIL,)),
            NewPage(),
            Cautions((EVIL,)),
            StandingBlock(EVIL, EVIL, EVIL),
            TableBlock((EVIL,), cells, (0.5, 0.5)),
            Drawing(10, 10, (Label((1, 1), EVIL),), EVIL),
            Picture(b"x", "image/png", EVIL),
        ),
    )
    tags = Tags(html_of(report))
    assert "evil" not in tags.opened
    assert "".join(tags.words).count("<evil a=1>") == 14  # every place, as a text


def test_no_template_switches_escaping_off():
    assert TEMPLATES
    for path in TEMPLATES:
        text = path.read_text(encoding="utf-8")
        assert not re.search(r"\|\s*safe\b|autoescape|Markup", text), path
