"""Whole sets of the four-cylinder sheet in a few words, as parsed set files.

A set starts good: skirts 84.915, bores 85.010 all over, early II (84.940 and 85.000), so every pair
has 0.095 of 0.045 to 0.180. Lengths are given in mm; a set written in inches is first put on a grid
of 254 nm, which both units write exactly.
"""

from collections.abc import Mapping
from copy import deepcopy
from decimal import Decimal
from typing import Any

from barrelfit.rules.engine.setfile import set_from
from barrelfit.rules.engine.sheet import Sheet, sheet_from
from barrelfit.rules.judge import SetJudgement, judge_set
from barrelfit.rules.judge.evidence import Evidence
from barrelfit.rules.judge.set_sizes import sizes_of
from tests.rules.shipped import shipped_materials, shipped_table

D = Decimal
DEPTHS, DIRECTIONS = ("top", "middle", "bottom"), ("thrust", "pin")
GAUGED = ["rings", "pins", "mass", "height-groups", "head-seal"]
_GRID_NM = 254
_LENGTHS = {"skirt", "bore", "wall", "gap", "gap_bore", "groove_width", "ring_width", "leaf",
            "size_stamp", "clearance_stamp", "value", "oversize", "outside_u", "bore_u", "hand_u",
            "diameter"}  # fmt: skip


def sheet_with(**changes: Mapping[str, object]) -> Sheet:
    """The shipped four-cylinder sheet; keys of its tables may be changed."""
    table = deepcopy(shipped_table("flat-four-85"))
    for name, keys in changes.items():
        table[name] = {**table.get(name, {}), **keys}
    return sheet_from(table, "sheet")


FOUR = sheet_with()


class Whole:
    """A set file's table, changed part by part before it is judged."""

    def __init__(self, left_out: list[str] | None = None, **said: object) -> None:
        self.table: dict[str, Any] = {
            "schema": 1,
            "job": "whole",
            "unit": "mm",
            "variant": "early",
            "group": "II",
            "head_seal": "spigot",
            "left_out": GAUGED if left_out is None else left_out,
            "measuring": {"outside_u": D("0.0008"), "bore_u": D("0.001"), "hand_u": D("0.002"),
                          "at_20": True},
            "piston": [],
            "barrel": [],
            **said,
        }  # fmt: skip
        for number in range(1, 5):
            self.piston(f"P{number}")
            self.barrel(f"B{number}", height_group="12"[number % 2])

    def piston(self, name: str, skirt: str | None = "84.915", **keys: object) -> "Whole":
        """Add a piston, or change one that is there; a key of None is taken away."""
        return self._put("piston", name, {"mass_g": 512}, skirt=_mm(skirt), **keys)

    def barrel(self, name: str, bore: object = "85.010", **keys: object) -> "Whole":
        """Add a barrel, or change one; `bore` is one size for all places, or one for some places.

        Places are named by depth, or by depth and direction: `{"top": "85.05", "top/pin": None}`.
        """
        first = {"kind": "iron-liner", "seal": "spigot"}
        return self._put("barrel", name, first, bore=_bore(bore), **keys)

    def rings(self, name: str, bore: str | None, **gaps: str) -> "Whole":
        """Give a piston its rings: gaps (0.450 if not said) measured in `bore`, good grooves."""
        rings = []
        for ring in FOUR.rings:
            ring_table = {
                "id": ring.id,
                "gap": D(gaps.get(ring.id, "0.450")),
                "groove_width": D("1.560"),
                "ring_width": D("1.490"),
            }
            if bore is not None:
                ring_table["gap_bore"] = D(bore)
            rings.append(ring_table)
        return self._put("piston", name, {}, ring=rings)

    def _put(self, table: str, name: str, first: dict[str, Any], **keys: object) -> "Whole":
        parts = self.table[table]
        part = next((p for p in parts if p["id"] == name), None)
        if part is None:
            part = {"id": name, "looked": ["good"], **first}
            if len(parts) >= 4:
                part["spare"] = True
            parts.append(part)
        part.update(keys)
        for key in [k for k, v in part.items() if v is None]:
            del part[key]
        return self

    def without(self, name: str) -> "Whole":
        """The set without a (spare) part."""
        for kind in ("piston", "barrel"):
            self.table[kind] = [p for p in self.table[kind] if p["id"] != name]
        return self

    def judge(self, sheet: Sheet = FOUR, unit: str = "") -> SetJudgement:
        """Judge the set; `unit` puts its lengths on the grid and writes them in it."""
        table = _written(self.table, unit) if unit else self.table
        file = set_from({**table, "unit": unit or "mm"}, sheet, "set")
        found = sizes_of(file, sheet, shipped_materials())
        return judge_set(Evidence(sheet, file.engine, found.sizes, 1.65, found.questions))


def _mm(size: str | None) -> Decimal | None:
    return None if size is None else D(size)


def _bore(bore: object) -> dict[str, dict[str, Decimal]] | None:
    if bore is None:
        return None
    some = bore if isinstance(bore, Mapping) else {}
    usual = "85.010" if isinstance(bore, Mapping) else str(bore)
    sizes: dict[str, dict[str, Decimal]] = {}
    for depth in DEPTHS:
        for direction in DIRECTIONS:
            size = some.get(f"{depth}/{direction}", some.get(depth, some.get("all", usual)))
            if size is not None:
                sizes.setdefault(depth, {})[direction] = D(str(size))
    return sizes


def _written(table: object, unit: str, key: str = "") -> Any:
    if isinstance(table, dict):
        inside = key if key == "bore" else ""
        return {k: _written(v, unit, inside or k) for k, v in table.items()}
    if isinstance(table, list):
        return [_written(v, unit, key) for v in table]
    if key in _LENGTHS and isinstance(table, Decimal):
        steps = round(table * 1_000_000 / _GRID_NM)
        return steps * (D(_GRID_NM) / 1_000_000 if unit == "mm" else D("0.00001"))
    return table


def seated(judged: SetJudgement) -> set[tuple[str, str]]:
    """Pairs of the seats."""
    return {(s.piston, s.barrel) for s in judged.pairing.seats}


HOME = {(f"P{n}", f"B{n}") for n in range(1, 5)}
