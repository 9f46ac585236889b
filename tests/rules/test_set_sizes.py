"""From a set file to sizes at 20 °C with their uncertainty; slips are held with a question."""

from copy import deepcopy
from decimal import Decimal

import pytest

from barrelfit.rules.engine.setfile import set_from
from barrelfit.rules.judge import judge_part
from barrelfit.rules.judge.by_hand import HALF_WIDTH_NM
from barrelfit.rules.judge.evidence import Evidence
from barrelfit.rules.judge.set_sizes import SetSizes, sizes_of
from barrelfit.rules.manner import told, told_all
from barrelfit.rules.model import FeatureId, Verdict
from barrelfit.rules.uncertainty.budget import difference
from tests.rules.set_bench import bench_sheet
from tests.rules.shipped import shipped_materials

D = Decimal
SKIRT = FeatureId("P1", "skirt")
BORE = FeatureId("B1", "bore", "top", "thrust")

TABLE = {
    "schema": 1,
    "job": "sizes",
    "unit": "mm",
    "variant": "early",
    "group": "II",
    "left_out": ["pins", "mass", "head-seal"],
    "piston": [
        {"id": "P1", "looked": ["good"], "skirt": D("84.917")},
        {"id": "P2", "looked": ["good"]},
    ],
    "barrel": [
        {
            "id": "B1",
            "looked": ["good"],
            "kind": "iron-liner",
            "bore": {"top": {"thrust": D("85.02")}},
        },
        {"id": "B2", "looked": ["good"], "kind": "iron-liner"},
    ],
}


def found(measuring=None, rings=(), **changes) -> SetSizes:
    table = deepcopy(TABLE) | changes
    if measuring is not None:
        table["measuring"] = measuring
    table["piston"][0]["ring"] = list(rings)
    sheet = bench_sheet()
    return sizes_of(set_from(table, sheet, "set"), sheet, shipped_materials())


def test_a_size_said_to_be_at_20_is_left_as_it_is():
    size = found({"at_20": True, "outside_u": D("0.001")}).sizes[SKIRT]
    assert (size.size_nm, size.budget.u_nm) == (84_917_000, 1000.0)


def test_a_warm_piston_is_smaller_at_20():
    """ISO 1: 84.917 mm read by a gauge at 20 °C on light alloy at 30 °C; 21.5e-6 per kelvin.

    The coefficient is the materials' data own for light alloy; 84.917 / (1 + a * 10).
    """
    alpha = shipped_materials()["light-alloy"].expansion_ppb
    sizes = found({"outside_u": D("0.001"), "gauge_temp_c": 20, "part_temp_c": 30}).sizes
    expected = D(84_917_000) / (1 + D(alpha) * 10 / 10**9)
    assert sizes[SKIRT].size_nm == round(expected)


def test_a_part_may_have_a_temperature_of_its_own():
    pistons = deepcopy(TABLE["piston"])
    pistons[0]["temp_c"] = 30
    own = found({"outside_u": D("0.001"), "gauge_temp_c": 20, "part_temp_c": 20}, piston=pistons)
    warm = found({"outside_u": D("0.001"), "gauge_temp_c": 20, "part_temp_c": 30})
    assert own.sizes[SKIRT] == warm.sizes[SKIRT]
    assert own.sizes[BORE] != warm.sizes[BORE]


def test_no_temperature_widens_and_says_so():
    known = found({"outside_u": D("0.001"), "gauge_temp_c": 20, "part_temp_c": 20})
    unknown = found({"outside_u": D("0.001")})
    assert unknown.sizes[SKIRT].budget.u_nm > 2 * known.sizes[SKIRT].budget.u_nm
    assert any("temperature of the part not measured" in n for n in told_all(unknown.notes))
    assert told_all(known.notes) == () or not any("temperature" in n for n in told_all(known.notes))


def test_a_gauge_of_unknown_uncertainty_widens_and_says_so():
    stated = found({"outside_u": D("0.001"), "gauge_temp_c": 20, "part_temp_c": 20})
    silent = found({"gauge_temp_c": 20, "part_temp_c": 20})
    assert silent.sizes[SKIRT].budget.u_nm > 2 * stated.sizes[SKIRT].budget.u_nm
    assert any("how gauge outside was set is not given" in n for n in told_all(silent.notes))


def test_a_common_standard_cancels_in_the_clearance():
    """Both gauges set with one ring of u = 2 µm: bore less skirt has only the gauges' own."""
    own = {"outside_u": D("0.0006"), "bore_u": D("0.0008"), "at_20": True}
    common = found(own | {"standard": "ring 85", "standard_u": D("0.002")}).sizes
    assert common[SKIRT].budget.u_nm == pytest.approx((600**2 + 2000**2) ** 0.5)
    assert difference(common[BORE].budget, common[SKIRT].budget).u_nm == pytest.approx(1000.0)


def test_hand_tools_are_good_to_a_hundredth_where_nothing_is_said():
    sizes = found({"at_20": True}, [{"id": "top", "gap": D("0.5")}])
    gap = sizes.sizes[FeatureId("P1", "gap", "top")]
    assert gap.budget.u_nm == pytest.approx(HALF_WIDTH_NM / 3**0.5)
    assert any("feelers" in n for n in told_all(sizes.notes))


@pytest.mark.parametrize(
    ("ring", "at"),
    [
        ({"id": "top", "gap": D("4.5")}, "P1/gap/top"),
        ({"id": "top", "gap": D("0.045")}, "P1/gap/top"),
        ({"id": "top", "groove_width": D("15.2"), "ring_width": D("1.49")}, "P1/groove/top"),
    ],
)
def test_a_ten_fold_slip_is_held_and_never_becomes_a_size(ring, at):
    sizes = found({"at_20": True}, [ring])
    held = [q for q in sizes.questions if str(q.at) == at]
    assert len(held) == 1
    assert "decimal slip?" in told(held[0].sentence)
    assert at not in {str(a) for a in sizes.sizes}


@pytest.mark.parametrize("mm", ["45", "0.45", "0.177"])
def test_a_slip_in_a_wall_never_tells_that_boring_leaves_enough(mm):
    barrels = deepcopy(TABLE["barrel"])
    barrels[0]["wall"] = D(mm)
    sizes = found({"at_20": True}, barrel=barrels)
    assert [str(q.at) for q in sizes.questions] == ["B1/wall"]
    assert FeatureId("B1", "wall") not in sizes.sizes
    barrels[0]["wall"] = D("4.3")
    assert found({"at_20": True}, barrel=barrels).questions == ()


def test_a_slip_in_the_bore_of_a_gap_is_held():
    sizes = found({"at_20": True}, [{"id": "top", "gap": D("0.5"), "gap_bore": D("8.502")}])
    assert [str(q.at) for q in sizes.questions] == ["P1/gap-bore/top"]


def test_a_held_value_leaves_the_part_undecided_with_the_question():
    table = deepcopy(TABLE)
    table["measuring"] = {"at_20": True}
    table["piston"][0]["ring"] = [{"id": "top", "gap": D("4.5")}]
    sheet = bench_sheet()
    file = set_from(table, sheet, "set")
    sizes = sizes_of(file, sheet, shipped_materials())
    judged = judge_part(Evidence(sheet, file.engine, sizes.sizes, 1.65, sizes.questions), "P1")
    assert judged.verdict is Verdict.UNDECIDED
    assert any(f.code == "T101" and "decimal slip?" in told(f.sentence) for f in judged.findings)


def test_a_value_that_is_confirmed_counts_as_typed():
    sizes = found({"at_20": True}, [{"id": "top", "gap": D("4.5")}], confirmed=["P1/gap/top"])
    assert sizes.questions == ()
    assert sizes.sizes[FeatureId("P1", "gap", "top")].size_nm == 4_500_000


def test_a_value_that_is_out_and_fits_nowhere_else_is_a_measurement():
    sizes = found({"at_20": True}, [{"id": "top", "gap": D("0.95")}])
    assert sizes.questions == ()
    assert sizes.sizes[FeatureId("P1", "gap", "top")].size_nm == 950_000
