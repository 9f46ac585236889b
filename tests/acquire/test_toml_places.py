"""Every key of a TOML text is found on its line, in nested arrays of tables too."""

import tomllib

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from barrelfit.acquire.coded import said_of
from barrelfit.acquire.inputs.shelf import shipped_names, shipped_text
from barrelfit.acquire.inputs.toml_places import (
    key_lines,
    line_at,
    line_of_value,
    located,
    unknown_key,
)
from barrelfit.drivers.coded import said as coded
from barrelfit.drivers.schema import Problem as ProfileProblem
from barrelfit.rules.engine.form import Problem
from barrelfit.rules.said import said
from tests.spoken import text_of

TEXT = """\
schema = 1
# a comment = with an equals sign
[measuring]   # and one behind a header
outside_u = 0.0008

[[piston]]
id = "P1"
[[piston.ring]]
id = "top"
[[piston.ring]]
id = "oil"
[[piston]]
id = "P2"
[[piston.ring]]
id = "top"
gap = 0.4

[[barrel]]
id = "B1"
bore.top = { thrust = 85.02, pin = 85.01 }
bore.bottom.thrust = 85.00
"quoted key" = 1
"""


def test_keys_stand_where_they_stand():
    lines = key_lines(TEXT)
    rows = TEXT.splitlines()

    def line(*path):
        return rows[line_at(lines, path) - 1]

    assert line("schema") == "schema = 1"
    assert line("measuring", "outside_u") == "outside_u = 0.0008"
    assert line("piston", 0, "ring", 1, "id") == 'id = "oil"'
    assert line("piston", 1, "id") == 'id = "P2"'
    assert line("piston", 1, "ring", 0, "gap") == "gap = 0.4"
    assert line("barrel", 0, "bore", "bottom", "thrust") == "bore.bottom.thrust = 85.00"
    assert line("barrel", 0, "bore", "top", "pin").startswith("bore.top = ")
    assert line("barrel", 0, "quoted key") == '"quoted key" = 1'


def test_a_key_that_is_missing_is_named_at_its_table():
    lines = key_lines(TEXT)
    assert line_at(lines, ("piston", 1, "serial")) == TEXT.splitlines().index('id = "P2"')
    assert line_at(lines, ("piston",)) == TEXT.splitlines().index("[[piston]]") + 1
    assert line_at(lines, ("nothing",)) is None


def _paths(value, path=()):
    if path:
        yield path
    if isinstance(value, dict):
        for key, inner in value.items():
            yield from _paths(inner, (*path, key))
    elif isinstance(value, list):
        for number, inner in enumerate(value):
            yield from _paths(inner, (*path, number))


def test_every_key_of_every_shipped_sheet_is_found_on_a_line_that_names_it():
    for name in shipped_names("rules", "sheets"):
        text = shipped_text("rules", "sheets", name)
        lines, rows = key_lines(text), text.splitlines()
        for path in _paths(tomllib.loads(text)):
            if isinstance(path[-1], str):
                assert path[-1] in rows[line_at(lines, path) - 1], path


BESIDE = """\
note = '''
[[gauge]]
id = "not one"
'''
[[gauge]]
id = "m"   # [[gauge]] in a comment
says = "[[gauge]]"
more = \"\"\"
[[gauge]]
port = 'x'\"\"\"
list = [
  # a = 1
  {u = 1, v = "}"},
  [2, "]"],
]
[[gauge]]
port = 7
"""


def test_what_stands_in_strings_and_comments_is_no_key():
    lines, rows = key_lines(BESIDE), BESIDE.split("\n")
    assert rows[line_at(lines, ("gauge", 1, "port")) - 1] == "port = 7"
    assert rows[line_at(lines, ("gauge", 0, "id")) - 1].startswith('id = "m"')
    assert rows[line_at(lines, ("gauge", 0, "list", 0, "v")) - 1] == '  {u = 1, v = "}"},'
    assert rows[line_at(lines, ("gauge", 0, "list", 1, 1)) - 1] == '  [2, "]"],'
    assert set(lines) == set(_paths(tomllib.loads(BESIDE)))


NAMES = st.one_of(
    st.sampled_from(
        ["gauge", "id", "a", "b", "1", "a.b", "[[gauge]]", "x = 1", 'q"', "tab\t", "ö"]
    ),
    st.text(st.characters(codec="utf-8", exclude_categories=["Cs"]), max_size=4),
)
TEXTS = st.one_of(
    st.sampled_from(
        ["[[gauge]]\n", "a = 1\n[b]\n", "# no", "}", "],", "'", '"', '""', "\\", "x\r\ny"]
    ),
    st.text(st.characters(codec="utf-8", exclude_categories=["Cs", "Cc"]), max_size=8),
)
BARE = st.sampled_from(["7", "-1.50", "true", "inf", "1979-05-27", "1979-05-27 07:32:00Z", "0x1F"])
ESCAPED = {"\\": "\\\\", '"': '\\"', "\n": "\\n", "\r": "\\r", "\t": "\\t"}


def basic(text):
    """A TOML basic string."""
    return (
        '"'
        + "".join(
            ESCAPED.get(c, c if c >= " " and c != "\x7f" else f"\\u{ord(c):04x}") for c in text
        )
        + '"'
    )


class Writer:
    """Writes a TOML text of drawn pieces and notes the line on which it writes each key."""

    def __init__(self, draw):
        self.draw = draw
        self.text = ""
        self.lines = {}

    def here(self, path, *, over=False):
        line = self.text.count("\n") + 1
        if over:
            self.lines[path] = line
        self.lines.setdefault(path, line)

    def key(self, name):
        if name and name.isascii() and name.replace("-", "").replace("_", "").isalnum():
            ways = [name, basic(name)]
        else:
            ways = [basic(name)]
        if "'" not in name and all(c >= " " and c != "\x7f" for c in name):
            ways.append(f"'{name}'")
        return self.draw(st.sampled_from(ways))

    def blank(self, *more):
        self.text += self.draw(st.sampled_from(["", " ", "\t ", *more]))

    def names(self):
        return self.draw(st.lists(NAMES, max_size=3, unique=True))

    def pairs(self, path, between, end, depth):
        for number, name in enumerate(self.names()):
            self.text += between if number else ""
            self.blank()
            dotted = self.draw(st.lists(NAMES, max_size=2))
            for position, step in enumerate([name, *dotted]):
                self.here((*path, name, *dotted[:position]))
                self.text += ("." if position else "") + self.key(step)
                self.blank()
            self.text += "="
            self.blank()
            self.value((*path, name, *dotted), depth)
            self.text += end and self.draw(st.sampled_from(["", " # [[gauge]] = '"])) + end

    def value(self, path, depth):
        kind = self.draw(st.sampled_from(["bare", "basic", "literal", "many", "list", "inline"]))
        text = self.draw(TEXTS)
        if kind == "bare" or (kind in {"list", "inline"} and depth > 2):
            self.text += self.draw(BARE)
        elif kind == "basic" or (kind == "literal" and any(c in text for c in "'\n\r")):
            self.text += basic(text)
        elif kind == "literal":
            self.text += f"'{text}'"
        elif kind == "many":
            self.text += self.many(text)
        elif kind == "list":
            self.list(path, depth)
        else:
            self.text += "{"
            self.pairs(path, ",", "", depth + 1)
            self.text += "}"

    def many(self, text):
        """A string of several lines, of either kind."""
        text = text.replace("\r", "")
        if "'''" not in text and self.draw(st.booleans()):
            return f"'''\n{text}'''"
        return '"""' + text.replace("\\", "\\\\").replace('"', '\\"') + '\n"""'

    def list(self, path, depth):
        self.text += "["
        for number in range(self.draw(st.integers(0, 3))):
            self.text += "," if number else ""
            self.blank("\n", " # a = ]\n ")
            self.here((*path, number))
            self.value((*path, number), depth + 1)
            self.blank("\n")
        self.text += "]"

    def document(self):
        self.pairs((), "", "\n", 0)
        counts = {}
        for _ in range(self.draw(st.integers(0, 4))):
            self.blank("\n", "# [x]\n")
            steps = self.draw(st.lists(NAMES, min_size=1, max_size=2))
            array = self.draw(st.booleans())
            path = ()
            for position, step in enumerate(steps):
                path = (*path, step)
                if array and position == len(steps) - 1:
                    counts[path] = counts.get(path, 0) + 1
                self.here(path)
                if path in counts:
                    path = (*path, counts[path] - 1)
            self.here(path, over=True)
            self.text += ("[[" if array else "[") + ".".join(map(self.key, steps))
            self.text += ("]]" if array else "]") + "\n"
            self.pairs(path, "", "\n", 0)
        return self


@settings(max_examples=50)  # each is a whole file
@given(st.data())
def test_every_key_of_any_text_is_found_on_the_line_where_it_was_written(data):
    wrote = Writer(data.draw).document()
    try:
        table = tomllib.loads(wrote.text)
    except tomllib.TOMLDecodeError:  # two drawn keys were the same
        key_lines(wrote.text)  # says what it can, and never fails
        return
    lines = key_lines(wrote.text)
    assert set(lines) == set(_paths(table))
    assert lines == wrote.lines


@given(st.text(max_size=40))
def test_what_is_no_toml_does_no_harm(text):
    assert all(line >= 1 for line in key_lines(text).values())


@pytest.mark.parametrize(
    ("raw", "line"), [("7", 2), ("1e999", 4), ("nowhere", 4)], ids=["first", "second", "none"]
)
def test_the_line_of_a_value_is_that_of_the_value_itself(raw, line):
    text = "# 7 and 1e999\na7 = 7\nb = '1e999'\nc = [1, 1e999]"
    assert line_of_value(text, raw) == line


def test_the_key_that_may_be_meant_is_named():
    assert text_of(unknown_key("profil", ["profile", "port"])) == "unknown key; is 'profile' meant?"
    assert text_of(unknown_key("colour", ["profile", "port"])) == "unknown key"


@given(st.lists(st.one_of(st.sampled_from(["gauge", "id"]), st.integers(0, 9)), max_size=5))
def test_a_place_has_one_name_in_every_room(path):
    of_rules, of_drivers = (
        Problem(tuple(path), said("is_zero")),
        ProfileProblem(tuple(path), coded("is_zero")),
    )
    assert of_rules.told == said_of(of_drivers.told)
    assert located([of_rules], "", "my.toml") == [
        said("of_file", file="my.toml", what=of_rules.told)
    ]
