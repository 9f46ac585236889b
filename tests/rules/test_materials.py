"""The table of materials: strict, every value with its doubt and source."""

from decimal import Decimal

import pytest

from barrelfit.rules.errors import RulesError
from barrelfit.rules.uncertainty.materials import materials_from
from tests.rules.shipped import shipped_materials
from tests.spoken import problems_of

# Callister, Fundamentals of Materials Science and Engineering, 3rd ed. (2007), Table B.6, pp.
# 815-816, and GUM H.1.3.3, in 1e-6 per degree Celsius.
PRINTED = {
    "gauge-steel": "11.5",
    "steel-1020": "11.7",
    "steel-1040": "11.3",
    "steel-4140": "12.3",
    "grey-iron": "11.4",
    "ductile-iron": "11.2",
    "aluminium-356-cast": "21.5",
    "aluminium-6061": "23.6",
    "aluminium-2024": "22.9",
}
# Aluminum Association and handbooks: from memory, none of them could be read.
FROM_MEMORY = {
    "aluminium-4032": "19.4",
    "aluminium-2618": "22.3",
    "aluminium-12-silicon-cast": "20.5",
    "aluminium-18-silicon-cast": "18.5",
}


@pytest.mark.parametrize(("name", "value"), list((PRINTED | FROM_MEMORY).items()))
def test_published_expansion(name, value):
    assert shipped_materials()[name].expansion_ppb == Decimal(value) * 1000


def test_what_could_not_be_read_says_so():
    statuses = {name: one.status for name, one in shipped_materials().items()}
    assert all(statuses[name] == "read" for name in PRINTED)
    assert all(statuses[name] == "from memory" for name in FROM_MEMORY)


@pytest.mark.parametrize(("family", "names"), [("light-alloy", "alumin"), ("iron", "iron steel")])
def test_a_family_covers_its_alloys(family, names):
    table = shipped_materials()
    whole = table[family]
    for name, one in table.items():
        if any(word in name for word in names.split()):
            off_ppb = abs(one.expansion_ppb - whole.expansion_ppb)
            assert off_ppb <= whole.plus_minus_ppb, name


def entry(**changes):
    return {
        "expansion": Decimal("11.5"),
        "plus_minus": 2,
        "source": "a data sheet",
        "status": "read",
    } | changes


def test_a_shop_may_bring_its_own():
    table = materials_from({"schema": 1, "own": entry()}, "own.toml")
    assert (table["own"].expansion_ppb, table["own"].plus_minus_ppb) == (11_500, 2_000)


@pytest.mark.parametrize(
    ("table", "sentence"),
    [
        ({"schema": 2, "a": entry()}, "m.toml: schema: 1 was expected, not 2"),
        ({"a": entry()}, "m.toml: schema: 1 was expected, not None"),
        ({"schema": 1}, "m.toml: no material in it"),
        ({"schema": 1, "a": 3}, "m.toml: a: a table was expected"),
        ({"schema": 1, "a": entry(colour="grey")}, "a.colour: unknown key"),
        ({"schema": 1, "a": entry(expansion=True)}, "a.expansion: a number above 0"),
        ({"schema": 1, "a": entry(expansion=11.5)}, "a.expansion: a number above 0"),
        ({"schema": 1, "a": entry(expansion=Decimal("NaN"))}, "a.expansion: a number above 0"),
        ({"schema": 1, "a": entry(expansion=Decimal("11.5e-6"))}, "a.expansion: a number above 0"),
        ({"schema": 1, "a": entry(plus_minus=0)}, "a.plus_minus: a number above 0"),
        ({"schema": 1, "a": entry(source="")}, "a.source: text was expected"),
        ({"schema": 1, "a": entry(status="sure")}, "'read' or 'from memory' was expected"),
    ],
)
def test_a_bad_table_is_refused_with_its_key(table, sentence):
    with pytest.raises(RulesError) as refused:
        materials_from(table, "m.toml")
    assert [p for p in problems_of(refused.value) if sentence in p]
    assert len(problems_of(refused.value)) == 1


def test_all_problems_come_at_once():
    table = {"schema": 1, "a": entry(expansion=0, source=3), "b": entry(status=None)}
    with pytest.raises(RulesError) as refused:
        materials_from(table)
    assert len(problems_of(refused.value)) == 3
