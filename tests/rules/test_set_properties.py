"""What must hold for every set: worse is never better, and a unit is only a way of writing."""

from copy import deepcopy
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from barrelfit.rules.engine.parts import Feeler, Marks, Part
from barrelfit.rules.engine.setfile import set_from
from barrelfit.rules.engine.sheet import sheet_from
from barrelfit.rules.judge import judge_part, judge_set
from barrelfit.rules.judge.evidence import Evidence
from barrelfit.rules.judge.set_sizes import sizes_of
from barrelfit.rules.model import Severity, Verdict
from tests.rules.set_bench import SHEET, bench_sheet, evidence
from tests.rules.shipped import shipped_materials

UNTIMED = settings(deadline=None)  # a busy machine is no fault of the code

D = Decimal
GOOD = ("good",)
PLACES = [f"B1/bore/{d}/{x}" for d in ("top", "bottom") for x in ("thrust", "pin")]
RANK = {
    Verdict.SERVICEABLE: Severity.NOTE,
    Verdict.UNDECIDED: Severity.UNDECIDED,
    Verdict.REWORK: Severity.REWORK,
    Verdict.DISCARD: Severity.DISCARD,
}
microns = st.integers(0, 400)


def _mm(base: str, more_um: int) -> str:
    return str(D(base) + D(more_um) / 1000)


@UNTIMED
@given(st.integers(-30, 150), st.integers(0, 150))
def test_a_skirt_worn_further_is_never_judged_better(worn_um, more_um):
    piston = Part("P1", "piston", looked=GOOD)
    before = judge_part(evidence((piston,), {"P1/skirt": _mm("84.96", -worn_um)}), "P1")
    after = judge_part(evidence((piston,), {"P1/skirt": _mm("84.96", -worn_um - more_um)}), "P1")
    if before.verdict is Verdict.DISCARD:
        assert after.verdict is Verdict.DISCARD
    # A skirt larger than new is undecided because it can't be right; wear may bring it back.
    if worn_um >= 0:
        assert RANK[after.verdict] >= RANK[before.verdict]


@UNTIMED
@given(
    st.lists(microns, min_size=4, max_size=4),
    st.integers(0, 300),
    st.sampled_from(["iron-liner", "plated"]),
    st.booleans(),
)
def test_a_bore_worn_deeper_is_never_judged_better(worn_um, more_um, kind, oversizes):
    rework = {"boring_allowance": D("0.06"), "honing_allowance": D("0.02")}
    if oversizes:
        rework["oversizes"] = [D("0.25"), D("0.5")]
    sheet = bench_sheet(rework=rework)
    barrel = Part("B1", "barrel", looked=GOOD, barrel_kind=kind)
    values = {p: _mm("85.01", w) for p, w in zip(PLACES, worn_um, strict=True)}
    deepest = max(PLACES, key=lambda p: D(values[p]))
    deeper = {**values, deepest: _mm(values[deepest], more_um)}
    before = judge_part(evidence((barrel,), values, sheet), "B1")
    after = judge_part(evidence((barrel,), deeper, sheet), "B1")
    assert RANK[after.verdict] >= RANK[before.verdict]


@UNTIMED
@given(st.lists(st.booleans(), min_size=3, max_size=4), st.integers(0, 3))
def test_a_groove_worn_further_is_never_judged_better(went_in, place):
    place = min(place, len(went_in) - 1)
    worse = tuple(w or n == place for n, w in enumerate(went_in))
    verdicts = []
    for answers in (tuple(went_in), worse):
        feeler = Feeler("top", 120_000, answers)
        piston = Part("P1", "piston", looked=GOOD, feelers=(feeler,))
        left_out = ("pins", "mass", "height-groups", "head-seal")
        seen = evidence((piston,), {"P1/skirt": "84.95"}, left_out=left_out)
        verdicts.append(RANK[judge_part(seen, "P1").verdict])
    assert verdicts[1] >= verdicts[0]


@UNTIMED
@given(st.sampled_from(["scored-skirt", "cracked", "light-scuffing", "stained"]))
def test_damage_seen_is_never_judged_better(code):
    values = {"P1/skirt": "84.95"}
    good = judge_part(evidence((Part("P1", "piston", looked=GOOD),), values), "P1")
    seen = judge_part(evidence((Part("P1", "piston", looked=(code,)),), values), "P1")
    assert RANK[seen.verdict] > RANK[good.verdict]


WORSE = ("skirt", "bore", "pin", "play", "feeler", "looked", "mass")


def _ringed_set(numbers: dict[str, int], worse: str) -> tuple[tuple[Part, ...], dict[str, str]]:
    """One piston, pin and barrel of a whole set, with one thing made worse."""
    more = {w: numbers["more"] if w == worse else 0 for w in WORSE}
    went_in = (numbers["feeler"] == 1 or bool(more["feeler"]), False, False)
    looked = ("cracked",) if more["looked"] else GOOD
    play = "perceptible" if numbers["play"] == 1 or more["play"] else "none"
    feelers = tuple(Feeler(r, nm, went_in) for r, nm in (("top", 120_000), ("second", 100_000)))
    parts = (
        Part("P1", "piston", looked=looked, feelers=feelers, mass_mg=500_000 + more["mass"]),
        Part("W1", "pin", looked=GOOD, mate="P1", play=play, marks=Marks(pin_class="white")),
        Part("B1", "barrel", looked=GOOD, barrel_kind="iron-liner"),
    )
    values = {p: _mm("85.01", numbers["bore"]) for p in PLACES}
    values[PLACES[0]] = _mm("85.01", numbers["bore"] + more["bore"])
    values["P1/skirt"] = _mm("84.96", -numbers["skirt"] - more["skirt"])
    values["W1/diameter"] = _mm("22.00", -numbers["pin"] - more["pin"])
    return parts, values


@UNTIMED
@given(
    st.fixed_dictionaries(
        {"skirt": st.integers(0, 150), "bore": st.integers(0, 700), "pin": st.integers(0, 12),
         "play": st.integers(0, 1), "feeler": st.integers(0, 1), "more": st.integers(1, 300)}
    ),
    st.sampled_from(WORSE),
)  # fmt: skip
def test_one_thing_made_worse_never_makes_a_discarded_part_serviceable(numbers, worse):
    sheet = bench_sheet(pin={"classes": ["white"], "diameter": D("22"), "wear_max": D("0.008")})
    left_out = ("mass", "height-groups", "head-seal")
    verdicts = []
    for what in ("nothing", worse):
        parts, values = _ringed_set(numbers, what)
        seen = evidence(parts, values, sheet, left_out=left_out)
        verdicts.append({p.id: judge_part(seen, p.id).verdict for p in parts})
    before, after = verdicts
    for part, verdict in before.items():
        if verdict is Verdict.DISCARD:
            assert after[part] is not Verdict.SERVICEABLE, (part, worse)


# ---------------------------------------------------------------- units

STEP_NM = 254  # 0.00001 inch and 0.000254 mm: whole in both
LENGTH_KEYS = {"piston", "bore", "skirt_height", "wear_max", "over_max", "side_clearance_max",
               "side_clearance_min", "gap_min", "gap_max", "under_max", "taper_max",
               "out_of_round_max", "below_top", "wall", "wall_min", "min", "max", "oversizes",
               "boring_allowance", "honing_allowance"}  # fmt: skip


def _steps(mm: Decimal | int) -> int:
    return round(D(mm) * 1_000_000 / STEP_NM)


def _in_unit(table: object, unit: str) -> object:
    """A copy of a parsed table with its lengths on the common grid, written in `unit`."""
    each = D(STEP_NM) / 1_000_000 if unit == "mm" else D("0.00001")

    def written(key: str, value: object) -> object:
        if isinstance(value, dict):
            return {k: written(k, v) for k, v in value.items()}
        if isinstance(value, list):
            return [written(key, v) for v in value]
        is_length = isinstance(value, D | int) and key in LENGTH_KEYS
        return _steps(value) * each if is_length else value

    return written("", table)


def _set_table(unit: str, skirts: list[int], bores: list[int]) -> dict[str, object]:
    each = D(STEP_NM) / 1_000_000 if unit == "mm" else D("0.00001")
    base = _steps(D("84.96")), _steps(D("85.01"))
    pistons = [
        {"id": f"P{n}", "looked": ["good"], "skirt": (base[0] + s) * each}
        for n, s in enumerate(skirts, 1)
    ]
    barrels = [
        {
            "id": f"B{n}",
            "looked": ["good"],
            "kind": "iron-liner",
            "bore": {
                d: dict.fromkeys(("thrust", "pin"), (base[1] + b) * each) for d in ("top", "bottom")
            },
        }
        for n, b in enumerate(bores, 1)
    ]
    return {
        "schema": 1,
        "job": "units",
        "unit": unit,
        "variant": "early",
        "group": "II",
        "left_out": ["rings", "pins", "mass", "height-groups", "head-seal"],
        "measuring": {"outside_u": 4 * each, "bore_u": 4 * each, "gauge_temp_c": 23,
                      "part_temp_c": 21},
        "piston": pistons,
        "barrel": barrels,
    }  # fmt: skip


steps = st.lists(st.integers(-420, 420), min_size=2, max_size=2)


@pytest.mark.slow
@UNTIMED
@given(steps, steps, st.sampled_from(["mm", "inch"]), st.sampled_from(["mm", "inch"]))
def test_units_never_change_a_verdict(skirts, bores, sheet_unit, set_unit):
    results = []
    for unit_of_sheet, unit_of_set in (("mm", "mm"), (sheet_unit, set_unit)):
        table = deepcopy(SHEET) | {"unit": unit_of_sheet}
        sheet = sheet_from(_in_unit(table, unit_of_sheet), "sheet")
        file = set_from(_set_table(unit_of_set, skirts, bores), sheet, "set")
        found = sizes_of(file, sheet, shipped_materials())
        results.append(judge_set(Evidence(sheet, file.engine, found.sizes)))
    assert results[0] == results[1]
