"""The catalogue is whole: every entry says all that is asked of it."""

from dataclasses import fields

import pytest

from barrelfit.rules.checks import FAMILIES
from barrelfit.rules.engine.catalogue import (
    FACTS,
    FEATURES,
    KINDS,
    MAIN,
    feature,
    lacks,
    unreadable_marks,
)
from barrelfit.rules.engine.catalogue.nouns import Feature
from barrelfit.rules.engine.expectation import ANYTHING
from barrelfit.rules.engine.parts import LEAVABLE, EngineSet, Part
from barrelfit.rules.engine.set_form import BARREL, PIN, PISTON, PISTON_RING
from barrelfit.rules.judge.expected import expected_at
from barrelfit.rules.judge.plan import features
from barrelfit.rules.manner import told
from barrelfit.rules.model import FeatureId
from tests.rules.set_bench import SHEET, D, bench_sheet, evidence

PARTS = {
    "piston": Part("P1", "piston"),
    "barrel": Part("B1", "barrel", barrel_kind="iron-liner"),
    "pin": Part("W1", "pin", mate="P1"),
}
FORMS = {"piston": PISTON, "barrel": BARREL, "pin": PIN}
PIN_SHEET = {"classes": ["white"], "diameter": D("22"), "wear_max": D("0.02")}
LENGTH_KEYS = {"part": "size", "rings": "size", "places": "grid"}
TRACE_KEYS = {"part": "text", "places": "names"}
PLACES = {"part": ("", ""), "rings": ("top", ""), "places": ("top", "thrust")}
FACT_KEYS = {
    "marks": {"text", "size"},
    "choice": {"text"},
    "mate": {"text"},
    "mass": {"mass"},
    "leaves": {"tables"},
    "looks": {"texts"},
    "feel": {"text"},
    "there": set(),
    "done": {"text"},
}


def whole_sheet():
    rings = [{**ring, "side_clearance_min": D("0.02")} for ring in SHEET["ring"]]
    return bench_sheet(ring=rings, pin=PIN_SHEET)


def told_by(entry):
    return entry.told_by(bench_sheet(), FeatureId("P1", entry.name, *PLACES[entry.where]))


def named(entry):
    return entry.name


def test_names_are_told_apart():
    names = [f.name for f in FEATURES]
    assert len(set(names)) == len(names)
    facts = [(f.name, kind) for f in FACTS for kind in f.kinds]
    assert len(set(facts)) == len(facts)
    assert not {name for name, _ in facts} & set(names)
    assert all(feature(f.name) is f for f in FEATURES)


def test_an_expectation_has_no_default():
    """A feature without one of its own cannot be written down."""
    must = {"name", "kind", "gauge", "where", "expected", "words", "label", "picture", "key"}
    given = {f.name: getattr(FEATURES[0], f.name) for f in fields(Feature)}
    for name in must:
        with pytest.raises(TypeError, match=name):
            Feature(**{k: v for k, v in given.items() if k != name})


@pytest.mark.parametrize("entry", FEATURES, ids=named)
def test_every_feature_expects_something_of_its_own(entry):
    """Both ends are closed: by limits, by what it is about, or by what it can't be more than."""
    part = PARTS[entry.kind]
    known = evidence(tuple(PARTS.values()), {}, whole_sheet())
    expected = expected_at(known, FeatureId(part.id, entry.name, *PLACES[entry.where]))
    assert expected.by != ANYTHING.by
    low = expected.low_nm if expected.low_nm is not None else expected.near_nm
    high = expected.high_nm if expected.high_nm is not None else expected.near_nm
    assert low is not None
    assert high is not None
    assert 0 <= low <= high
    assert not expected.holds(25_400 * max(high, 1))


@pytest.mark.parametrize("entry", FEATURES, ids=named)
def test_every_feature_has_words_for_each_place(entry):
    words = told(entry.words(FeatureId("X", entry.name, "top", "thrust")))
    assert words
    assert told(entry.label)
    assert ("top" in words, "thrust" in words) == {
        "part": (False, False),
        "rings": (True, False),
        "places": (True, True),
    }[entry.where]


@pytest.mark.parametrize("entry", FEATURES, ids=named)
def test_every_feature_can_be_told_in_a_set_file(entry):
    """By a key of its own, by leaves that were tried, or by what tells as much."""
    assert entry.key is not None or told_by(entry)
    form = PISTON_RING if entry.where == "rings" else FORMS[entry.kind]
    assert all(form.key(key.name) is key for key in entry.keys)
    assert all(key.meaning and not key.required for key in entry.keys)
    if entry.key is not None:
        assert entry.key.kind == LENGTH_KEYS[entry.where]
    if entry.trace_key is not None:
        assert entry.trace_key.kind == TRACE_KEYS[entry.where]


@pytest.mark.parametrize("entry", FEATURES, ids=named)
def test_every_feature_is_asked_for_or_lacked(entry):
    """Else nobody would ever be told to measure it; a ring's widths tell what leaves tell, too."""
    as_much = {name for f in FEATURES for name in told_by(f)}
    assert entry.asking is not None or entry.lacks or entry.name in as_much
    assert all(feature(name) is not None for name in told_by(entry))


@pytest.mark.parametrize("entry", [f for f in FEATURES if f.asking], ids=named)
def test_the_plan_asks_for_every_feature_that_is_asked_for(entry):
    engine = EngineSet("job", "early", "II", parts=tuple(PARTS.values()))
    planned = [p for p in features(whole_sheet(), engine) if p.at.feature == entry.name]
    assert planned
    assert all(told(p.sentence).startswith(PARTS[entry.kind].id) for p in planned)
    assert {p.gauge_kind for p in planned} == {entry.gauge}
    if entry.gauge in {"outside", "bore"}:
        assert all(p.about_nm for p in planned)
    assert entry.asking.topic in {"", *LEAVABLE}


@pytest.mark.parametrize("entry", [f for f in FEATURES if f.asking], ids=named)
def test_what_is_asked_for_is_missed_while_it_has_no_size(entry):
    """Else a part would be serviceable though nobody has measured it."""
    told_with = {"side-all": "side", "gap-bore": "gap"}  # of these one finding speaks for both
    missed = feature(told_with.get(entry.name, entry.name))
    assert any(lack.by is None or lack.merely for lack in missed.lacks)


@pytest.mark.parametrize("entry", FACTS, ids=lambda f: f"{f.name}-{f.kinds[0]}")
def test_every_fact_is_whole(entry):
    assert {key.kind for key in entry.keys} <= FACT_KEYS[entry.sort]
    assert entry.keys or entry.lacks
    for kind in entry.kinds:
        form = PISTON_RING if entry.of_ring else FORMS[kind]
        assert all(form.key(key.name) is key for key in entry.keys)
    assert all(key.meaning for key in entry.keys)
    assert all("7" in told(words("7")) for _, words in entry.words)
    assert set(entry.unreadable) <= set(unreadable_marks())


def test_what_is_lacked_is_lacked_by_a_rule():
    codes = {rule.__doc__.split(":")[0] for family in FAMILIES for rule in family}
    rework = {"Q103"}  # said by the choice of rework
    assert set(lacks()) - codes - rework == set()


def test_every_kind_of_part_has_one_feature_it_is_matched_by():
    assert tuple(MAIN) == ("piston", "barrel", "pin") == KINDS
    assert [f.name for f in FEATURES if f.is_main] == ["skirt", "bore", "diameter"]
