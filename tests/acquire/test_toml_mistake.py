"""A TOML mistake is told with its line and a mark at the place."""

import tomllib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from barrelfit.acquire.errors import UserError
from barrelfit.acquire.inputs.shelf import parse_toml
from tests.spoken import problems_of


def told(text):
    with pytest.raises(UserError) as caught:
        parse_toml(text, "my.toml")
    (problem,) = problems_of(caught.value)
    return [problem, *caught.value.below.splitlines()]


@pytest.mark.parametrize(
    ("text", "says", "line", "marked"),
    [
        ("a = 1\nb = 7x\n", "my.toml:2: Expected newline", "b = 7x", "x"),
        ("[piston]\nskirt == 84\n", "my.toml:2: Invalid value", "skirt == 84", "= 84"),
        ("a = 1\na = 2\n", "my.toml:2: Cannot overwrite a value", "a = 2", ""),
        ("a = 1\n\nb = [1,\n", "my.toml:3: Invalid value, at the end", "b = [1,", ""),
        ('x = "never ended', "my.toml:1: ", 'x = "never ended', ""),
        ("a = 1\r\nb = 7x\r\n", "my.toml:2: Expected newline", "b = 7x", "x"),
    ],
)
def test_the_line_is_quoted_with_a_mark_at_the_place(text, says, line, marked):
    sentence, quoted, mark = told(text)
    assert sentence.startswith(says)
    assert quoted == "    " + line
    assert mark.strip() == "^"
    assert quoted[mark.index("^") :].startswith(marked)


def test_of_a_long_line_the_piece_around_the_place_is_shown():
    _, quoted, mark = told("note = '" + "long " * 200 + "' 7\n")
    assert len(quoted) <= 80
    assert quoted[mark.index("^")] == "7"


@given(st.text(st.characters(codec="utf-8", categories=["L", "N", "P", "Z", "Cc"]), max_size=60))
def test_whatever_is_refused_is_told_in_one_problem(text):
    try:
        tomllib.loads(text)
    except tomllib.TOMLDecodeError:
        lines = told(text)
        assert lines[0].startswith("my.toml")
        assert len(lines) in {1, 3}
        assert all(c.isprintable() for c in "".join(lines[1:]))
