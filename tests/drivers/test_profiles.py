"""Every shipped profile proves itself by its examples; a bad file's problems are all named."""

import re
import tomllib
from decimal import Decimal
from importlib.resources import files

import pytest

from barrelfit.drivers.decode import FILLING, Wire
from barrelfit.drivers.errors import DriverError
from barrelfit.drivers.outcome import Note
from barrelfit.drivers.profile import SCHEMA, profile_from
from barrelfit.drivers.proving import decode_whole, example_problems
from tests.spoken import text_of

FOLDER = files("barrelfit.drivers").joinpath("profiles")
NAMES = sorted(entry.name.removesuffix(".toml") for entry in FOLDER.iterdir())


def read(name):
    text = FOLDER.joinpath(f"{name}.toml").read_text(encoding="utf-8")
    return tomllib.loads(text, parse_float=Decimal)


@pytest.mark.parametrize("name", NAMES)
def test_profile_proves_its_examples(name):
    profile = profile_from(read(name), name)
    assert profile.id == name
    assert example_problems(profile) == []
    assert profile.examples


@pytest.mark.parametrize("name", NAMES)
def test_profile_examples_byte_by_byte_are_the_same(name):
    profile = profile_from(read(name), name)
    for example in profile.examples:
        wire = Wire(profile, min_repeat_ms=0)
        got = [o for byte in example.raw for o in wire.feed(bytes([byte]), 0)] + wire.closed(0)
        assert b"".join(o.raw for o in got) == example.raw
        said = [o for o in got if not (isinstance(o, Note) and o.note == FILLING)]
        whole = decode_whole(profile, example.raw)
        assert [shape(o) for o in said] == [shape(o) for o in whole]


def shape(outcome):
    return type(outcome), *(
        getattr(outcome, key, None)
        for key in ("value", "unit", "length_nm", "channel", "judgement", "fault", "note")
    )


@pytest.mark.parametrize("name", NAMES)
def test_profile_is_named_by_its_shape_and_says_what_founds_it(name):
    assert re.fullmatch(r"[a-z0-9]+(-[a-z0-9]+)*", name)
    assert read(name)["evidence"] in {"layout", "manual"}  # no gauge was at hand


def test_newer_schema_is_refused():
    data = read("signed-decimal-cr") | {"schema": SCHEMA + 1}
    with pytest.raises(DriverError) as raised:
        profile_from(data, "new.toml")
    assert "reads schema 1, not 2" in text_of(raised.value)


def test_all_problems_are_named_at_once():
    data = read("signed-decimal-cr")
    data["sends"] = "always"
    data["port"]["baud"] = "fast"
    data["port"]["bits"] = 9
    data["port"]["colour"] = "blue"
    data["port"]["bitz"] = 8
    data["layout"]["pattern"] = "(?P<nonsense>x)"
    del data["title"]
    with pytest.raises(DriverError) as raised:
        profile_from(data, "mine.toml")
    text = text_of(raised.value)
    for part in (
        "sends: 'always' is not one of button, free, asked",
        "port.baud: expected a whole number",
        "port.bits: 9 is not between 7 and 8",
        "port.colour: unknown key; known here: baud, bits",
        "pattern: unknown group nonsense",
        "title: is missing",
        "port.bitz: unknown key; is 'bits' meant?",
    ):
        assert part in text
    assert all(text_of(p).startswith("mine.toml") for p in raised.value.problems)


def swap_layout(data):
    del data["layout"]
    data["count"] = read("counts-24")["count"]


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        (lambda d: d["layout"].update(unit="cubit"), "'cubit' is not one of mm, in, um"),
        (lambda d: d["layout"].pop("unit"), "unit: is missing, and the pattern has no group"),
        (lambda d: d["layout"].update(pattern="("), "is no regular expression"),
        (lambda d: d["layout"].update(pattern="[+-]1"), "has no group named number"),
        (lambda d: d["layout"].update(pattern="(?P<number>1)(?P<unit>m)"), "units: is missing"),
        (lambda d: d["layout"].update(units={"M": "ell"}), "'ell' is not one of"),
        (lambda d: d["layout"].update(values=3), "more than one needs split"),
        (lambda d: d.update(sends="asked"), "belong together"),
        (lambda d: d.update(ask={"request": "?\r", "slowest_ms": 900}), "belong together"),
        (lambda d: d.update(evidence="bench"), "needs an example with its source"),
        (lambda d: d.update(example=d["example"][:1]), "at least one reading and one fault"),
        (lambda d: d.update(example=[1]), "expected tables, written [[example]]"),
        (lambda d: d["example"][0].update(hex="0"), "is not pairs of hexadecimal digits"),
        (lambda d: d["example"][0].update(text="é"), "is not ASCII"),
        (lambda d: d["example"][0].pop("length_nm"), "says neither length_nm"),
        (lambda d: d.pop("gauge"), "expected a table with digit_nm"),
        (lambda d: d.pop("port"), "expected a table with baud"),
        (lambda d: d.pop("frame"), "expected a table with kind"),
        (lambda d: d.pop("layout"), "expected [layout] or [count]"),
        (lambda d: d.update(port=3), "port: expected a table"),
        (lambda d: d["port"].update(dtr=1), "dtr: expected true or false"),
        (swap_layout, 'frame.kind: [count] needs "fixed"'),
    ],
)
def test_contradiction_is_named(change, sentence):
    data = read("signed-decimal-cr")
    change(data)
    with pytest.raises(DriverError) as raised:
        profile_from(data, "mine.toml")
    assert sentence in text_of(raised.value)


def test_example_that_does_not_hold_is_told():
    data = read("signed-decimal-cr")
    data["example"][0]["length_nm"] = 12_345_001
    profile = profile_from(data, "mine.toml")
    (problem,) = example_problems(profile)
    assert text_of(problem.told).startswith("example[1]: expected")


def test_unit_of_a_gauge_that_does_not_tell_it_is_a_setting():
    profile = profile_from(read("counts-24-start-bit"), "q")
    (reading,) = decode_whole(profile.in_unit("in"), bytes.fromhex("a50900"))
    assert (reading.value, reading.unit, reading.length_nm) == ("0.6170", "in", 1234 * 12_700)
    assert reading.unit_assumed
    assert profile.in_unit("mm") == profile
    with pytest.raises(DriverError) as raised:
        profile_from(read("decimal-unit-suffix"), "s").in_unit("in")
    assert "sends its unit" in text_of(raised.value)
    with pytest.raises(DriverError) as raised:
        profile.in_unit("um")
    assert "has no unit 'um'" in text_of(raised.value)
