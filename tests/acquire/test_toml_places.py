"""Every key of a TOML text is found on its line, in nested arrays of tables too."""

import tomllib

from barrelfit.acquire.inputs.shelf import shipped_names, shipped_text
from barrelfit.acquire.inputs.toml_places import key_lines, line_at

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
    yield path
    if isinstance(value, dict):
        for key, inner in value.items():
            yield from _paths(inner, (*path, key))
    elif isinstance(value, list) and value and isinstance(value[0], dict):
        for number, inner in enumerate(value):
            yield from _paths(inner, (*path, number))


def test_every_key_of_every_shipped_sheet_is_found_on_a_line_that_names_it():
    for name in shipped_names("rules", "sheets"):
        text = shipped_text("rules", "sheets", name)
        lines, rows = key_lines(text), text.splitlines()
        for path in _paths(tomllib.loads(text)):
            if path and isinstance(path[-1], str):
                assert path[-1] in rows[line_at(lines, path) - 1], path
