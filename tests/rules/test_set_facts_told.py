"""Facts told one by one come to the same set as a set file that holds them all."""

from copy import deepcopy
from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from barrelfit.rules.engine.form import FormError
from barrelfit.rules.engine.gate import codes_for
from barrelfit.rules.engine.set_doubts import doubts_of
from barrelfit.rules.engine.set_facts import LEAVES, keys_for
from barrelfit.rules.engine.set_writer import set_file_text
from barrelfit.rules.engine.setfile import set_from, set_of_filled
from barrelfit.rules.judge.fact_entry import FactStands, check_fact, open_doubts
from barrelfit.rules.model import FeatureId
from tests.rules.fact_sets import SETS, facts_of, parsed, set_of, shipped_sheet, told, without_facts
from tests.rules.set_bench import bench_sheet

UNTIMED = settings(deadline=None, max_examples=40)
SHEETS = {"07-plated-bore-worn": "flat-six-92-plated"}
FILES = sorted(SETS.glob("*.toml"))


def sheet_for(path):
    return shipped_sheet(SHEETS.get(path.stem, "flat-four-85"))


@pytest.mark.parametrize("path", FILES, ids=lambda p: p.stem)
def test_what_is_written_is_the_same_set(path):
    sheet = sheet_for(path)
    file = set_of(path.read_text(encoding="utf-8"), sheet)
    again = set_of(set_file_text(file.filled), sheet)
    assert (again.engine, again.measuring, again.traced) == (
        file.engine,
        file.measuring,
        file.traced,
    )
    assert [(m.at, m.read_nm) for m in again.measured] == [(m.at, m.read_nm) for m in file.measured]
    assert again.confirmed == file.confirmed


@pytest.mark.parametrize("path", FILES, ids=lambda p: p.stem)
def test_a_set_told_fact_by_fact_is_the_set_of_the_file(path):
    sheet, text = sheet_for(path), path.read_text(encoding="utf-8")
    whole = set_of(text, sheet)
    told_so_far = set_from(without_facts(parsed(text)), sheet, "set").filled
    for at, value in facts_of(whole.filled):
        checked = check_fact(told_so_far, sheet, told(at, value), insists=False)
        assert isinstance(checked, FactStands), (at, value, checked)
        told_so_far = checked.filled
    assert set_of_filled(told_so_far).engine == whole.engine
    again = set_of(set_file_text(told_so_far), sheet)
    assert again.engine == whole.engine


# ---------------------------------------------------------------- any facts at all, in any order

SMALL = bench_sheet()
BARE = {
    "schema": 1,
    "job": "any",
    "unit": "mm",
    "variant": "early",
    "piston": [{"id": "P1"}, {"id": "P2"}],
    "barrel": [{"id": "B1"}, {"id": "B2"}],
    "pin": [{"id": "W1", "piston": "P1"}, {"id": "W2", "piston": "P2"}],
}
NAMES = st.sampled_from(["a", "white", "black", "II", "I", "iron-liner", "plated", "flat", "early"])
NUMBERS = {
    "size": st.sampled_from(["84.96", "85.01", "0.05", "0.1", "85.21", "849.6", "1"]),
    "length": st.sampled_from(["0", "0.25", "0.5", "0.3"]),
    "mass": st.sampled_from(["512", "514.5", "51.2", "900", "5120"]),
}
LEAF = st.sampled_from(["0.02", "0.05", "0.1", "1"])
WENT_IN = st.lists(st.sampled_from(["in", "out"]), min_size=1, max_size=4).map(", ".join)


def values_of(key, kind):
    if key.name == "looked":
        codes = st.lists(st.sampled_from(codes_for(kind)), min_size=1, max_size=2, unique=True)
        return codes.map(", ".join)
    if key.kind == "texts":
        return st.lists(st.sampled_from(key.choices), min_size=1, max_size=3, unique=True).map(
            ", ".join
        )
    if key.choices:
        return st.sampled_from(key.choices)
    return NUMBERS.get(key.kind, NAMES)


def place_and_value(kind, part, ring, key):
    if key.name == LEAVES:
        beside = st.sampled_from(["", " new", " used"])
        at = st.tuples(LEAF, beside).map(lambda t: FeatureId(part, LEAVES, ring, "".join(t)))
        return st.tuples(at, WENT_IN)
    return st.tuples(st.just(FeatureId(part, key.name, ring)), values_of(key, kind))


EVERY_KEY = [
    *(("", "", None, key) for key in keys_for(None)),
    *(
        (f"{letter}{n}", "", kind, key)
        for letter, kind in (("P", "piston"), ("B", "barrel"), ("W", "pin"))
        for n in (1, 2)
        for key in keys_for(kind)
        if key.name != "piston"
    ),
    *(
        ("P1", ring, "piston", k)
        for ring in ("top", "oil")
        for k in keys_for("piston", of_ring=True)
    ),
]
ANY_FACT = st.sampled_from(EVERY_KEY).flatmap(
    lambda one: place_and_value(one[2], one[0], one[1], one[3])
)
FACTS = st.lists(ANY_FACT, max_size=12, unique_by=lambda fact: fact[0])


def as_file(facts):
    """The set file that says the same, put together by hand."""
    table = deepcopy(BARE)
    for at, value in facts:
        into = table
        if at.part:
            kind = {"P": "piston", "B": "barrel", "W": "pin"}[at.part[0]]
            into = table[kind][int(at.part[1]) - 1]
        if at.depth:
            rings = into.setdefault("ring", [])
            ring = next((r for r in rings if r["id"] == at.depth), None)
            if ring is None:
                rings.append(ring := {"id": at.depth})
            into = ring
        if at.feature == LEAVES:
            thick, _, beside = at.direction.partition(" ")
            leaf = {"leaf": Decimal(thick), "went_in": [w == "in" for w in value.split(", ")]}
            into.setdefault(LEAVES, []).append(leaf | ({"beside": beside} if beside else {}))
        elif at.feature in {"looked", "unreadable", "absent"}:
            into[at.feature] = value.split(", ")
        else:
            number = at.feature in {"size_stamp", "clearance_stamp", "mass_g", "oversize"}
            into[at.feature] = Decimal(value) if number else value
    return table


def tell_all(facts, *, why=""):
    """Tell them one by one: the set, and what was not taken."""
    now, not_taken = set_from(deepcopy(BARE), SMALL, "set").filled, []
    for at, value in facts:
        checked = check_fact(now, SMALL, told(at, value, why=why), insists=bool(why))
        if isinstance(checked, FactStands):
            now = checked.filled
        else:
            not_taken.append((at, checked))
    return now, not_taken


@UNTIMED
@given(FACTS)
def test_any_facts_come_to_the_same_set_as_a_file_that_holds_them(facts):
    first = set_from(deepcopy(BARE), SMALL, "set").filled
    now, not_taken = tell_all(facts)
    doubts = open_doubts(first, now, SMALL)
    try:
        whole = set_from(as_file(facts), SMALL, "set")
    except FormError:
        assert not_taken or doubts  # what a file may not say, nobody can tell either
        return
    if not not_taken:
        assert without_ring_order(set_of_filled(now).engine) == without_ring_order(whole.engine)
        assert bool(doubts) == bool(doubts_of(whole.filled, SMALL))
    assert all(one.confirmable for _, one in not_taken)  # held, and taken when told on purpose
    insisted, refused = tell_all(facts, why="it is so")
    assert not refused
    assert without_ring_order(set_of_filled(insisted).engine) == without_ring_order(whole.engine)
    written = set_of(set_file_text(insisted), SMALL)
    assert without_ring_order(written.engine) == without_ring_order(whole.engine)


def without_ring_order(engine):
    """Leaves are told ring by ring in any order; a file has a ring's leaves together."""
    parts = tuple(
        replace(part, feelers=tuple(sorted(part.feelers, key=str))) for part in engine.parts
    )
    return replace(engine, parts=parts)


@UNTIMED
@given(FACTS)
def test_every_fact_that_was_taken_can_be_taken_back(facts):
    first = set_from(deepcopy(BARE), SMALL, "set").filled
    now, _ = tell_all(facts, why="it is so")
    for at, _value in facts:
        if at.feature == "variant":
            continue
        back = check_fact(now, SMALL, told(at, "", why="a slip"), insists=True)
        assert isinstance(back, FactStands), (at, back)
        assert back.value == ""
        now = back.filled
    engine, bare = set_of_filled(now).engine, set_of_filled(first).engine
    assert replace(engine, variant=bare.variant) == bare


@pytest.mark.parametrize(
    ("at", "value", "unit", "reason"),
    [
        (FeatureId("P9", "looked"), "good", "", "no-such-fact"),
        (FeatureId("P1", "skirt"), "84.93", "mm", "no-such-fact"),
        (FeatureId("P1", "looked"), "banana", "", "not-on-sheet"),
        (FeatureId("P1", "looked"), "good, cracked", "", "not-on-sheet"),
        (FeatureId("P1", "size_stamp"), "84,96", "mm", "unreadable"),
        (FeatureId("P1", "size_stamp"), "NaN", "mm", "unreadable"),
        (FeatureId("P1", "size_stamp"), "-84.96", "mm", "unreadable"),
        (FeatureId("P1", "size_stamp"), "84.96", "yard", "unreadable"),
        (FeatureId("P1", "size_stamp"), "849.6", "mm", "not-on-sheet"),
        (FeatureId("P1", "serial"), "a\nb", "", "unreadable"),
        (FeatureId("P1", "mass_g"), "512", "mm", "unreadable"),
        (FeatureId("P1", "mass_g"), "5120", "g", "doubt"),
        (FeatureId("P1", "clearance_stamp"), "0.5", "mm", "doubt"),
        (FeatureId("P1", "feeler", "top"), "in", "", "no-such-fact"),
        (FeatureId("P1", "feeler", "top", "0.05"), "maybe", "", "unreadable"),
        (FeatureId("P1", "feeler", "third", "0.05"), "in", "", "not-on-sheet"),
        (FeatureId("W1", "play"), "some", "", "unreadable"),
        (FeatureId("W1", "piston"), "", "", "unreadable"),
        (FeatureId("", "variant"), "none such", "", "not-on-sheet"),
    ],
    ids=str,
)
def test_what_cannot_be_so_is_not_taken(at, value, unit, reason):
    filled = set_from(deepcopy(BARE), SMALL, "set").filled
    checked = check_fact(filled, SMALL, told(at, value, unit), insists=False)
    assert not isinstance(checked, FactStands)
    assert checked.reason == reason
    insisted = check_fact(filled, SMALL, told(at, value, unit), insists=True)
    assert isinstance(insisted, FactStands) is checked.confirmable


def test_lengths_are_told_in_any_unit_exactly():
    filled = set_from(deepcopy(BARE), SMALL, "set").filled
    at = FeatureId("P1", "clearance_stamp")
    for value, unit in (("0.0508", "mm"), ("0.002", "inch"), ("50.8", "µm"), ("0.0508", "")):
        checked = check_fact(filled, SMALL, told(at, value, unit), insists=False)
        assert isinstance(checked, FactStands)
        assert checked.value == "0.0508"


def test_what_stands_is_not_replaced_without_a_word():
    filled = set_from(deepcopy(BARE), SMALL, "set").filled
    at = FeatureId("B1", "looked")
    good = check_fact(filled, SMALL, told(at, "good"), insists=False)
    assert isinstance(good, FactStands)
    scored = check_fact(good.filled, SMALL, told(at, "scored-bore"), insists=False)
    assert (scored.reason, scored.before) == ("another-value", "good")
    anew = check_fact(good.filled, SMALL, told(at, "scored-bore", why="dropped"), insists=True)
    assert (anew.value, anew.before) == ("scored-bore", "good")
    more = check_fact(anew.filled, SMALL, told(at, "scored-bore, broken-fins"), insists=False)
    assert more.value == "scored-bore, broken-fins"  # a further reason takes nothing away


def test_a_mass_unlike_the_others_is_asked_about_where_it_stands():
    """The first mass was a slip; nobody could know before the others were weighed."""
    sheet = shipped_sheet("flat-four-85")
    text = (SETS / "01-all-good.toml").read_text(encoding="utf-8")
    first = set_from(without_facts(parsed(text)), sheet, "set").filled
    now = first
    for part, grams in (("P1", "215"), ("P2", "512"), ("P3", "513"), ("P4", "512")):
        checked = check_fact(now, sheet, told(FeatureId(part, "mass_g"), grams), insists=False)
        assert isinstance(checked, FactStands)
        now = checked.filled
    (question,) = open_doubts(first, now, sheet)
    assert question.at == FeatureId("P1", "mass_g")
