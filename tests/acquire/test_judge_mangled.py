"""Mangled set and sheet files: a sentence or a judgement, never a traceback."""

import random
from collections.abc import Iterator
from copy import deepcopy
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from barrelfit.acquire.inputs.shelf import parse_toml, shipped_text
from barrelfit.rules.engine.form import FormError
from barrelfit.rules.engine.setfile import set_from
from barrelfit.rules.engine.sheet import sheet_from
from barrelfit.rules.judge import judge_set
from barrelfit.rules.judge.evidence import Evidence
from barrelfit.rules.judge.set_sizes import sizes_of
from tests.rules.shipped import shipped_materials

SETS = Path(__file__).parents[1] / "sets"
SHEET_TEXT = shipped_text("rules", "sheets", "flat-four-85")
SHEET = sheet_from(parse_toml(SHEET_TEXT, "sheet"), "sheet")
STRANGE = [
    None,
    "",
    "x",
    0,
    -1,
    1,
    2**70,
    Decimal("0.001"),
    Decimal("85.000"),
    Decimal(-3),
    Decimal("NaN"),
    Decimal("Infinity"),
    Decimal("1e40"),
    1.5,
    True,
    [],
    {},
    [[]],
    [{}],
    {"a": 1},
    {"top": 1},
    {"top": {"thrust": "x"}},
]


def places(table: Any) -> Iterator[tuple[Any, Any]]:
    """Every (container, key) in a parsed table."""
    keys = list(table) if isinstance(table, dict) else range(len(table))
    for key in keys:
        yield table, key
        if isinstance(table[key], dict | list):
            yield from places(table[key])


def mangled(table: dict[str, Any], rng: random.Random) -> dict[str, Any]:
    table = deepcopy(table)
    for _ in range(rng.randint(1, 3)):
        spots = list(places(table))
        container, key = rng.choice(spots)
        strange = rng.choice(STRANGE)
        if strange is None:
            del container[key]
        elif rng.random() < 0.2 and isinstance(container, dict):
            container[f"new-{key}"] = strange
        else:
            container[key] = deepcopy(strange)
    return table


def problems_of(error: FormError) -> int:
    assert all(p.sentence and isinstance(p.path, tuple) for p in error.located)
    return len(error.problems)


def judge(table: dict[str, Any]) -> bool:
    """Judge a parsed set; False when the file was refused in sentences."""
    try:
        file = set_from(table, SHEET, "set")
    except FormError as error:
        return problems_of(error) == 0
    sizes = sizes_of(file, SHEET, shipped_materials())
    judge_set(Evidence(SHEET, file.engine, sizes.sizes, 1.65, sizes.questions))
    return True


def read(table: dict[str, Any]) -> bool:
    """Read a parsed sheet; False when the file was refused in sentences."""
    try:
        sheet_from(table, "sheet")
    except FormError as error:
        return problems_of(error) == 0
    return True


@pytest.mark.slow
@pytest.mark.parametrize("name", ["01-all-good", "11-rings-and-pins"])
def test_a_mangled_set_is_refused_or_judged(name):
    text = (SETS / f"{name}.toml").read_text(encoding="utf-8")
    table = parse_toml(text, name)
    rng = random.Random(99)  # noqa: S311
    judged = sum(judge(mangled(table, rng)) for _ in range(150))
    assert 0 < judged < 150


@pytest.mark.slow
def test_a_mangled_sheet_is_refused_or_read():
    table = parse_toml(SHEET_TEXT, "sheet")
    rng = random.Random(98)  # noqa: S311
    sheets = sum(read(mangled(table, rng)) for _ in range(400))
    assert 2 < sheets < 390
