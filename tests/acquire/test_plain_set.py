"""A set of which the bench file says only variant, group and barrels."""

import pytest

from barrelfit.acquire.errors import UserError
from barrelfit.acquire.inputs.bench_file import SetTable
from barrelfit.acquire.inputs.plain_set import plain_set_text
from barrelfit.acquire.inputs.set_file import sheet_of
from barrelfit.acquire.inputs.shelf import parse_toml, shipped_names, shipped_text
from barrelfit.rules.engine.parts import LEAVABLE
from barrelfit.rules.engine.setfile import set_from
from tests.spoken import problems_of


def sheet(name: str):
    return sheet_of(shipped_text("rules", "sheets", name), name)


@pytest.mark.parametrize("name", shipped_names("rules", "sheets"))
def test_what_is_made_is_a_set_file_of_the_sheets_cylinders(name):
    of = sheet(name)
    variant, kind = of.variants[0], of.barrel.kinds[0]
    table = SetTable(job="j", variant=variant.id, group=variant.groups[0].id, barrel_kind=kind.id)
    text = plain_set_text(table, of, "bench.toml")
    engine = set_from(parse_toml(text, "set"), of, "set").engine
    assert len(engine.of_kind("piston")) == len(engine.of_kind("barrel")) == of.cylinders
    assert [barrel.mate for barrel in engine.of_kind("barrel")] == [
        piston.id for piston in engine.of_kind("piston")
    ]
    assert set(engine.left_out) == set(LEAVABLE)


def test_everything_that_is_missing_or_unknown_is_said_at_once():
    with pytest.raises(UserError) as refused:
        plain_set_text(SetTable(job="j", variant="none"), sheet("flat-four-85"), "bench.toml")
    found = problems_of(refused.value)
    assert any("set.variant: 'none' is not on the sheet; it has early" in p for p in found)
    assert any("set.group: missing" in p for p in found)
    assert all(problem.startswith("bench.toml: set.") for problem in found)


def test_a_group_that_the_variant_has_not_is_said_with_the_groups_it_has():
    table = SetTable(job="j", variant="late", group="III", barrel_kind="iron-liner")
    with pytest.raises(UserError) as refused:
        plain_set_text(table, sheet("flat-four-85"), "bench.toml")
    (problem,) = problems_of(refused.value)
    assert problem == "bench.toml: set.group: 'III' is not on the sheet; it has I, II"
