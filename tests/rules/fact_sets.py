"""Sets for tests of facts: files taken apart into what is told of them, one by one."""

import tomllib
from copy import deepcopy
from decimal import Decimal
from pathlib import Path
from typing import Any

from barrelfit.rules.engine.form import Filled
from barrelfit.rules.engine.set_facts import (
    LEAVES,
    OF_ENGINE,
    fact_text,
    key_at,
    keys_for,
    kind_of,
    leaf_at,
    standing,
)
from barrelfit.rules.engine.setfile import SetFile, set_from
from barrelfit.rules.engine.sheet import Sheet, sheet_from
from barrelfit.rules.model import FeatureId
from barrelfit.rules.told import FactTold

SETS = Path(__file__).parents[1] / "sets"
ROOT = Path(__file__).parents[2]
WHO = "A. Smith"


def parsed(text: str) -> dict[str, Any]:
    return tomllib.loads(text, parse_float=Decimal)


def shipped_sheet(name: str) -> Sheet:
    text = (ROOT / "rules" / "sheets" / f"{name}.toml").read_text(encoding="utf-8")
    return sheet_from(parsed(text), name)


def set_of(text: str, sheet: Sheet) -> SetFile:
    return set_from(parsed(text), sheet, "set")


def facts_of(filled: Filled) -> list[tuple[FeatureId, str]]:
    """Every fact that stands in a set, as it would be told."""
    places = [FeatureId("", name) for name in OF_ENGINE]
    for kind in ("piston", "barrel", "pin"):
        for part in filled.tables(kind):
            name = part.text("id")
            places += [FeatureId(name, key.name) for key in keys_for(kind)]
            for ring in part.tables("ring"):
                of_ring = keys_for(kind, of_ring=True)
                at = [FeatureId(name, k.name, ring.text("id")) for k in of_ring]
                places += [one for one in at if one.feature != LEAVES]
                places += [leaf_at(name, ring.text("id"), one) for one in ring.tables(LEAVES)]
    told = []
    for at in places:
        key = key_at(filled, at)
        assert key is not None, at
        value = standing(filled, at)
        if value is not None:
            told.append((at, fact_text(key, value)))
    return told


def without_facts(table: dict[str, Any]) -> dict[str, Any]:
    """A set file's table of which nothing was told yet: what it must say, and what was measured."""
    bare = deepcopy(table)
    for name in set(OF_ENGINE) - {"variant"}:
        bare.pop(name, None)
    for kind in ("piston", "barrel", "pin"):
        told = {key.name for key in keys_for(kind) if not key.required}
        for part in bare.get(kind, ()):
            for name in told:
                part.pop(name, None)
            for ring in part.get("ring", ()):
                ring.pop(LEAVES, None)
                ring.pop("gap_depth", None)
    return bare


def told(at: FeatureId, value: str, unit: str = "", **more: Any) -> FactTold:
    return FactTold(1, at, value, unit, who=more.pop("who", WHO), **more)


__all__ = ["kind_of"]
