"""A small engine for tests: a sheet as a parsed file, and sets built in a few words."""

from collections.abc import Mapping
from copy import deepcopy
from decimal import Decimal

from barrelfit.rules.engine.parts import EngineSet, Part
from barrelfit.rules.engine.sheet import Sheet, sheet_from
from barrelfit.rules.judge.evidence import Evidence
from barrelfit.rules.model import FeatureId, Size
from barrelfit.rules.uncertainty.budget import Budget, Component

D = Decimal

SHEET: dict[str, object] = {
    "schema": 1,
    "id": "test-two",
    "revision": "1",
    "unit": "mm",
    "engine": "invented flat two for tests",
    "source": "tests",
    "cylinders": 2,
    "bank": [{"id": "left", "cylinders": [1]}, {"id": "right", "cylinders": [2]}],
    "variant": [
        {"id": "early", "group": [{"id": "II", "piston": D("84.96"), "bore": D("85.01")}]},
        {"id": "late", "group": [{"id": "II", "piston": D("84.95"), "bore": D("85.00")}]},
    ],
    "piston": {
        "material": "light-alloy",
        "skirt_height": D("12"),
        "wear_max": D("0.11"),
        "over_max": D("0.01"),
        "mass_spread_max_g": 5,
    },
    "ring": [
        {"id": "top", "side_clearance_max": D("0.12"), "gap_min": D("0.3"), "gap_max": D("0.9")},
        {"id": "second", "side_clearance_max": D("0.1"), "gap_min": D("0.3"), "gap_max": D("0.9")},
        {
            "id": "oil",
            "side_clearance_min": D("0.025"),
            "side_clearance_max": D("0.08"),
            "gap_min": D("0.3"),
            "gap_max": D("0.9"),
        },
    ],
    "pin": {"classes": ["white", "black"]},
    "barrel": {
        "wear_max": D("0.1"),
        "under_max": D("0.01"),
        "taper_max": D("0.04"),
        "out_of_round_max": D("0.03"),
        "directions": ["thrust", "pin"],
        "depth": [{"id": "top", "below_top": 10}, {"id": "bottom", "below_top": 90}],
        "kind": [
            {
                "id": "iron-liner",
                "material": "grey-iron",
                "seals": ["flat"],
                "wall": D("4.5"),
                "wall_min": 4,
            },
            {"id": "plated", "material": "light-alloy", "seals": ["flat"], "replate": True},
        ],
    },
    "clearance": {"min": D("0.04"), "max": D("0.2")},
    "rework": {
        "oversizes": [D("0.25"), D("0.5")],
        "boring_allowance": D("0.06"),
        "honing_allowance": D("0.02"),
    },
}


def bench_sheet(**changes: object) -> Sheet:
    """The test engine's sheet; top-level keys may be changed."""
    return sheet_from({**deepcopy(SHEET), **changes}, "test sheet")


def size(at: FeatureId, mm: str, u_nm: float = 500.0) -> Size:
    """A size at 20 °C of `mm`."""
    length_nm = int(D(mm) * 1_000_000)
    return Size(at, length_nm, length_nm, Budget((Component("test", u_nm),)))


def sizes(values: Mapping[str, str], u_nm: float = 500.0) -> dict[FeatureId, Size]:
    """Sizes by feature, as in `{"P1/skirt": "84.93", "B1/bore/top/thrust": "85.01"}`."""
    out = {}
    for name, mm in values.items():
        at = FeatureId(*name.split("/"))
        out[at] = size(at, mm, u_nm)
    return out


def evidence(
    parts: tuple[Part, ...], values: Mapping[str, str], sheet: Sheet | None = None, **said: object
) -> Evidence:
    """Evidence of a variant early, group II engine, asking only for what is measured."""
    about: dict[str, object] = {"job": "test", "variant": "early", "group": "II", **said}
    about.setdefault("left_out", ("rings", "pins", "mass", "height-groups", "head-seal"))
    engine = EngineSet(parts=parts, **about)  # type: ignore[arg-type]
    return Evidence(sheet or bench_sheet(), engine, sizes(values))
