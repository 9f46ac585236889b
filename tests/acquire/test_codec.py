"""The codec: the list of kinds is whole, odd values are refused, old versions open."""

import json
import math
import typing
from pathlib import Path

import msgspec
import pytest

from barrelfit.acquire.journal import codec, events
from barrelfit.acquire.journal.codec import CodecError, decode, encode
from barrelfit.rules import events as rules_events
from barrelfit.rules import telling, told
from barrelfit.rules.events import Sized
from barrelfit.rules.model import FeatureId
from barrelfit.rules.uncertainty.budget import BudgetLine
from tests.acquire.journal_samples import EVENTS, reading

KEPT = Path(__file__).parents[1] / "journals" / "schema.json"
JOURNALED_OTHERWISE = {
    rules_events.Reading,
    rules_events.ReadingFault,
    rules_events.WentOn,
    rules_events.RecordBroken,
    telling.TellingChanged,
    told.AtBench,
    told.Weighed,
}


def sized(**changes):
    given = {
        "at": FeatureId("P1", "skirt"),
        "size_nm": 1,
        "read_nm": 1,
        "u_nm": 1.0,
        "low_nm": 0,
        "high_nm": 2,
        "pass_sizes_nm": (1, 2),
        "estimator": "e",
        "rank": "minimum of two-point sizes",
    }
    return Sized(**given | changes)


def test_every_class_the_rules_speak_is_a_kind():
    spoken = {*typing.get_args(rules_events.Input), *typing.get_args(rules_events.Output)}
    assert spoken - JOURNALED_OTHERWISE <= set(events.VERSION_OF)


def test_the_list_of_kinds_is_the_union_and_names_are_unique():
    assert set(typing.get_args(events.Event)) == set(events.VERSION_OF)
    assert len(codec.TYPE_OF) == len(events.VERSION_OF)
    assert set(events.OUTPUT_TYPES) == set(typing.get_args(rules_events.Output))


def test_kind_names():
    assert events.kind_of(events.ReadingTaken) == "reading_taken"
    assert events.kind_of(Sized) == "sized"


@pytest.mark.parametrize("event", EVENTS, ids=lambda e: type(e).__name__)
def test_a_document_comes_back_equal(event):
    kind = events.kind_of(type(event))
    assert decode(kind, events.VERSION_OF[type(event)], encode(event)) == event


@pytest.mark.parametrize("bad", [math.nan, math.inf, -math.inf])
def test_no_nan_and_no_infinity_is_ever_written(bad):
    # `json.dumps` would write NaN, which is no JSON, and others would silently write null
    with pytest.raises(CodecError, match="NaN or infinite"):
        encode(sized(u_nm=bad))
    line = BudgetLine("digit", "B", "rectangular", 1.0, bad)
    with pytest.raises(CodecError, match="NaN or infinite"):
        encode(sized(budget=(line,)))


@pytest.mark.parametrize("bad", [b"NaN", b"Infinity", b"-Infinity", b"1e999", b"null"])
def test_no_nan_and_no_infinity_is_ever_read(bad):
    data = encode(sized(u_nm=410.5)).replace(b"410.5", bad)
    with pytest.raises(CodecError, match="no sized version 1"):
        decode("sized", 1, data)


def test_unlimited_degrees_of_freedom_are_null():
    line = BudgetLine("digit", "B", "rectangular", 1.0, None)
    assert json.loads(encode(sized(budget=(line,))))["budget"][0]["dof"] is None


def test_text_that_is_no_unicode_is_refused():
    with pytest.raises(CodecError, match="can't be written"):
        encode(events.SessionClosed("\ud800"))


@pytest.mark.parametrize(("kind", "version"), [("nonsense", 1), ("sized", 0), ("sized", 99)])
def test_what_is_not_known_is_refused(kind, version):
    with pytest.raises(CodecError, match="not known"):
        decode(kind, version, b"{}")


def test_empty_fields_are_left_out_of_a_reading():
    plain = json.loads(encode(reading()))
    assert list(plain) == ["gauge", "raw", "value", "unit", "length_nm"]


def test_an_old_document_takes_one_step_a_version(monkeypatch):
    steps = {
        ("session_closed", 1): lambda data: {"how": data["why"]},
        ("session_closed", 2): lambda data: {"how": data["how"].lower()},
    }
    monkeypatch.setattr(codec, "UPCASTS", steps)
    monkeypatch.setitem(events.VERSION_OF, events.SessionClosed, 3)
    assert decode("session_closed", 1, b'{"why":"DONE"}') == events.SessionClosed("done")
    assert decode("session_closed", 2, b'{"how":"DONE"}') == events.SessionClosed("done")
    assert decode("session_closed", 3, b'{"how":"DONE"}') == events.SessionClosed("DONE")


def test_every_version_below_today_has_its_step():
    wanted = {
        (events.kind_of(t), v) for t, last in events.VERSION_OF.items() for v in range(1, last)
    }
    assert set(codec.UPCASTS) == wanted


def test_no_shape_changes_unseen():
    kept = json.loads(KEPT.read_text(encoding="utf-8"))
    assert kept == json.loads(json.dumps(codec.schema())), (
        "barrelfit schema journal > tests/journals/schema.json"
    )


@pytest.mark.slow
def test_the_schema_names_every_kind_with_its_required_fields():
    schema = codec.schema()
    kinds = {
        made["properties"]["kind"]["enum"][0]
        for made in schema["$defs"].values()
        if "kind" in made.get("properties", {}) and "prev" in made["properties"]
    }
    assert kinds == set(codec.TYPE_OF)
    assert schema["$defs"]["ReadingTaken"]["required"] == [
        "gauge",
        "raw",
        "value",
        "unit",
        "length_nm",
    ]


def test_the_quick_and_the_strict_decoder_know_the_same_fields():
    assert set(codec.Record.__struct_fields__) | {"kind"} == set(codec.Envelope.__struct_fields__)
    assert msgspec.json.encode(codec.Record.__struct_encode_fields__)
