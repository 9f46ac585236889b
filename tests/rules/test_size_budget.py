"""One size with its whole budget: what is in it, what cancels, what it says it assumed."""

import math
import subprocess
import sys

import pytest

from barrelfit.rules.manner import told_all
from barrelfit.rules.uncertainty.budget import Budget, difference, rectangular
from barrelfit.rules.uncertainty.decide import Zone, decide
from barrelfit.rules.uncertainty.size_budget import (
    BALLS,
    FACES,
    AsRead,
    GaugeFacts,
    PartFacts,
    Setting,
    budget_from_lines,
    budget_lines,
    contact_component,
    digit_u_nm,
    size_budget,
    typed_in,
)
from barrelfit.rules.uncertainty.temperature import Temperatures
from tests.rules.hertz import ALUMINIUM, IRON, bore_residue_um, skirt_um
from tests.rules.shipped import shipped_materials

MATERIALS = shipped_materials()
STEEL = MATERIALS["gauge-steel"]
PISTON = PartFacts("P1", MATERIALS["aluminium-12-silicon-cast"])
BARREL = PartFacts("B1", MATERIALS["grey-iron"])
RING = Setting("ring 85", 600.0)
OUTSIDE = GaugeFacts("m1", STEEL, FACES, RING)
INSIDE = GaugeFacts("b1", STEEL, BALLS, RING)
AT_20 = Temperatures(20_000, 20_000)


def read(size_nm, u_nm=400.0, dof=8.0):
    return AsRead(size_nm, u_nm, dof, digit_u_nm(1_000))


def names(budget: Budget) -> list[str]:
    return [c.name for c in budget.components]


def test_a_budget_has_every_cause_once():
    assert names(size_budget(read(84_917_000), OUTSIDE, PISTON, AT_20).budget) == [
        "sweep",
        "digit",
        "standard ring 85",
        "contact of flat faces, 10 N assumed",
        "thermometer, gauge and part alike",
        "temperature of the gauge",
        "temperature of the part",
        "expansion of the gauge",
        "expansion of the part",
    ]


def test_the_digit_is_resolution_over_root_12():
    assert digit_u_nm(1_000) == pytest.approx(1_000 / math.sqrt(12))


def test_at_20_degrees_the_size_is_the_reading():
    size_nm, budget, notes = size_budget(read(84_917_000), OUTSIDE, PISTON, AT_20)
    assert size_nm == 84_917_000
    assert notes == ()
    assert 900.0 < budget.u_nm < 1_200.0


def test_a_warm_piston_looks_good_and_is_undecided_at_20():
    """Wear limit 83.460 mm: read 83.478 mm at 32 °C, with a gauge at 22 °C, it is 83.4594 mm."""
    warm = Temperatures(32_000, 22_000)
    size_nm, budget, _ = size_budget(read(83_478_000), OUTSIDE, PISTON, warm)
    # 83.478 x (1 + 11.5e-6 x 2) / (1 + 20.5e-6 x 12) mm by hand: 83.45939 mm.
    assert size_nm == pytest.approx(83_459_390, abs=10)
    assert decide(83_478_000, budget.u_nm, 83_460_000, None).zone is Zone.INSIDE
    assert decide(size_nm, budget.u_nm, 83_460_000, None).zone is Zone.UNDECIDED


def test_a_common_ring_does_not_count_in_the_clearance():
    def clearance(bore_gauge):
        bore = size_budget(read(85_000_000), bore_gauge, BARREL, AT_20).budget
        skirt = size_budget(read(84_917_000), OUTSIDE, PISTON, AT_20).budget
        return difference(bore, skirt)

    same = clearance(INSIDE)
    other = clearance(GaugeFacts("b1", STEEL, BALLS, Setting("ring 90", 600.0)))
    assert other.u_nm**2 - same.u_nm**2 == pytest.approx(2 * 600.0**2, rel=1e-9)


def test_taper_keeps_only_the_sweeps_and_digits():
    top = size_budget(read(85_010_000), INSIDE, BARREL, Temperatures()).budget
    bottom = size_budget(read(85_002_000), INSIDE, BARREL, Temperatures()).budget
    own = math.sqrt(2.0) * math.hypot(400.0, digit_u_nm(1_000))
    assert difference(top, bottom).u_nm == pytest.approx(own, abs=1.0)


def test_nothing_known_is_wider_and_says_so():
    bare = GaugeFacts("m1", STEEL)
    known = size_budget(read(84_917_000), OUTSIDE, PISTON, AT_20)
    unknown = size_budget(read(84_917_000), bare, PISTON, Temperatures())
    assert unknown.budget.u_nm > 3 * known.budget.u_nm
    assert told_all(unknown.notes) == (
        "how gauge m1 was set is not given: ± 5 µm assumed",
        "temperature of the gauge not measured: taken as 20 °C ± 6 °C",
        "temperature of the part not measured: taken as 20 °C ± 7 °C",
    )


def test_a_gauge_that_stands_for_itself_shares_nothing():
    own = GaugeFacts("m1", STEEL, FACES, Setting("", 1_000.0))
    other = GaugeFacts("b1", STEEL, BALLS, Setting("", 1_000.0))
    skirt = size_budget(read(84_917_000), own, PISTON, AT_20).budget
    bore = size_budget(read(85_000_000), other, BARREL, AT_20).budget
    calibrations = [c.u_nm for c in difference(bore, skirt).components if "calib" in c.name]
    assert calibrations == [1_000.0, 1_000.0]


def test_the_setting_itself_is_the_gauges_own():
    setting = Setting("ring 85", 600.0, 500.0, 4.0)
    a, b = (GaugeFacts(n, STEEL, FACES, setting) for n in ("a", "b"))
    budgets = [size_budget(read(85_000_000), g, BARREL, AT_20).budget for g in (a, b)]
    shares = {c.shared: c.u_nm for c in difference(*budgets).components if c.shared}
    assert shares["standard ring 85"] == 0.0
    assert shares["setting of gauge a"] == shares["setting of gauge b"] == 500.0


def test_one_typed_value_says_its_repeatability_is_assumed():
    size = size_budget(typed_in(84_920_000, 10_000), OUTSIDE, PISTON, AT_20)
    assert names(size.budget)[0] == "repeatability, assumed"
    assert size.budget.components[0].dof == pytest.approx(8.0)
    assert told_all(size.notes)[0] == "typed in once: repeatability of one digit assumed"
    assert size.budget.u_nm > 10_000.0


@pytest.mark.parametrize(("force_n", "half_um"), [(5, 0.5), (10, 0.8)])
def test_contact_of_faces_on_a_skirt(force_n, half_um):
    """Half-widths 0.5 µm at 5 N and 0.8 µm at 10 N cover skirts barrelled to 1 m and flatter."""
    gauge = GaugeFacts("m1", STEEL, FACES, force_mn=force_n * 1000)
    component = contact_component(gauge, "P1")
    assert component.u_nm == pytest.approx(rectangular(half_um * 1000), rel=0.01)
    for barrel_radius_m in (1.0, 5.0, 20.0):
        assert skirt_um(force_n, barrel_radius_m) <= component.u_nm * math.sqrt(3.0) / 1000.0


@pytest.mark.parametrize("force_n", [1, 2, 5])
def test_contact_of_balls_in_a_bore(force_n):
    """The half-width covers what balls sink deeper into iron or light alloy than into a ring."""
    gauge = GaugeFacts("b1", STEEL, BALLS, force_mn=force_n * 1000)
    half_um = contact_component(gauge, "B1").u_nm * math.sqrt(3.0) / 1000.0
    assert bore_residue_um(force_n, IRON) < bore_residue_um(force_n, ALUMINIUM) <= half_um


def test_a_budget_survives_being_written_down():
    budget = size_budget(read(84_917_000), OUTSIDE, PISTON, Temperatures(32_000, 15_000)).budget
    assert budget_from_lines(budget_lines(budget)) == budget
    assert {line.dof for line in budget_lines(budget)} == {8.0, None}


def test_nothing_heavy_is_loaded_for_a_budget():
    code = (
        "import sys; from barrelfit.rules.uncertainty import size_budget, decide, materials;"
        "from barrelfit.rules.judge import entry;"
        "print([m for m in ('numpy', 'scipy', 'pandas') if m in sys.modules])"
    )
    command = [sys.executable, "-c", code]
    done = subprocess.run(command, capture_output=True, text=True, check=True)  # noqa: S603
    assert done.stdout.strip() == "[]"
