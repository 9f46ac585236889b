"""What an editor is told of a file's keys, held against a validator of JSON Schema 2020-12."""

import tomllib
from collections.abc import Iterator
from decimal import Decimal

import pytest
from jsonschema import Draft202012Validator

from barrelfit.acquire.inputs.json_schema import FILES, FORMS, schema_of
from barrelfit.acquire.inputs.shelf import shipped_names, shipped_text
from barrelfit.rules.engine.form import Form, Key, read_value
from tests.acquire.recorded import opening


def errors(file: str, text: str) -> list[str]:
    return [
        error.message
        for error in Draft202012Validator(schema_of(file)).iter_errors(tomllib.loads(text))
    ]


@pytest.mark.parametrize("file", FILES)
def test_it_is_a_schema(file):
    Draft202012Validator.check_schema(schema_of(file))


@pytest.mark.parametrize("name", shipped_names("rules", "sheets"))
def test_shipped_sheets_are_what_it_says(name):
    assert not errors("sheet", shipped_text("rules", "sheets", name))


def test_a_set_and_a_bench_are_what_it_says():
    opened = opening()
    assert not errors("set", opened.set_text)
    assert not errors("bench", opened.config_text)


@pytest.mark.parametrize(
    ("was", "spoiled"),
    [
        ('unit = "mm"', 'unit = "cm"'),
        ("cylinders = 4", "cylinders = 4.5"),
        ("skirt_height = 12.0", "skirt_hight = 12.0"),
        ("skirt_height = 12.0", 'skirt_height = "12.0"'),
        ("wear_max = 0.080", "wear_max = -0.080"),
        ("[clearance]", "[[clearance]]"),
    ],
)
def test_a_spoiled_sheet_is_not(was, spoiled):
    text = shipped_text("rules", "sheets", "flat-four-85")
    assert was in text
    assert errors("sheet", text.replace(was, spoiled, 1))


def keys_of(form: Form) -> Iterator[Key]:
    for key in form.keys:
        yield key
        if key.form is not None:
            yield from keys_of(key.form)


VALUES = (0, 1, -1, Decimal("2.5"), 100_001, "", "P1", "mm", True)
LISTS = ([], [1], ["P1"], [True], {}, {"top": {"thrust": 1}})


def schema_of_key(node: object, key: Key) -> dict:
    """Where a schema speaks of a key."""
    if not isinstance(node, dict):
        return {}
    named = node.get("properties", {}).get(key.name, {})
    if named.get("description") == key.meaning:
        return named
    inner = (schema_of_key(one, key) for one in node.values())
    return next((found for found in inner if found), {})


@pytest.mark.parametrize("file", FORMS)
def test_of_every_key_it_refuses_what_the_reader_refuses(file):
    """An editor must not complain of what is read, nor let pass another kind of value."""
    whole = schema_of(file)
    for key in keys_of(FORMS[file]):
        said = Draft202012Validator(schema_of_key(whole, key))
        for value in () if key.form is not None else (*VALUES, *LISTS):
            _, problems = read_value(key, value, "mm", (key.name,))
            is_read = not problems and not (key.required and value == [])
            assert said.is_valid(value) == is_read, (key.name, value, problems)


@pytest.mark.parametrize("name", shipped_names("drivers", "profiles"))
def test_shipped_profiles_are_what_it_says(name):
    assert not errors("profile", shipped_text("drivers", "profiles", name))


@pytest.mark.parametrize(
    ("was", "spoiled"),
    [
        ('sends = "button"', 'sends = "buton"'),
        ("digit_nm =", "digit_mm ="),
        ("baud = ", "baud = -"),
        ("[frame]", "[[frame]]"),
        ('kind = "line"', ""),
    ],
)
def test_a_spoiled_profile_is_not(was, spoiled):
    text = shipped_text("drivers", "profiles", "signed-decimal-cr")
    assert was in text
    assert errors("profile", text.replace(was, spoiled, 1))
