"""Facts of the trade as check values: common practice, no source."""

import pytest

from barrelfit.rules.uncertainty.budget import difference
from barrelfit.rules.uncertainty.decide import Zone, decide
from barrelfit.rules.uncertainty.size_budget import (
    BALLS,
    FACES,
    AsRead,
    GaugeFacts,
    PartFacts,
    Setting,
    digit_u_nm,
    size_budget,
)
from barrelfit.rules.uncertainty.temperature import Temperatures
from tests.rules.shipped import shipped_materials

STAMPED_NM, MEASURED_NM = 83_950_000, 83_937_000
MATERIALS = shipped_materials()
AT_20 = Temperatures(20_000, 20_000)


def test_a_piston_0_013_below_its_stamp_is_serviceable():
    """Discarded only when more than 0.1 mm below its original size (common practice, no source)."""
    below_nm = STAMPED_NM - MEASURED_NM
    assert below_nm == 13_000
    assert decide(below_nm, 1_100.0, None, 100_000).zone is Zone.INSIDE
    assert decide(100_000, 0.0, None, 100_000).zone is Zone.INSIDE  # 0.1 mm is not more than 0.1
    assert decide(100_001, 0.0, None, 100_000).zone is Zone.OUTSIDE


@pytest.mark.parametrize(
    ("bore_nm", "zone"),
    [
        (83_990_000, Zone.INSIDE),
        (83_987_500, Zone.UNDECIDED),
        (83_987_000, Zone.UNDECIDED),
        (83_980_000, Zone.OUTSIDE),
    ],
)
def test_a_stamped_least_clearance_is_a_lower_limit_on_bore_minus_skirt(bore_nm, zone):
    """0.05 mm stamped: bore minus skirt must be at least that (common practice, no source)."""
    ring = Setting("ring", 600.0)
    bore_gauge = GaugeFacts("b", MATERIALS["gauge-steel"], BALLS, ring)
    skirt_gauge = GaugeFacts("m", MATERIALS["gauge-steel"], FACES, ring)
    read = [AsRead(nm, 400.0, 12.0, digit_u_nm(1_000)) for nm in (bore_nm, MEASURED_NM)]
    bore = size_budget(read[0], bore_gauge, PartFacts("B1", MATERIALS["grey-iron"]), AT_20)
    skirt = size_budget(read[1], skirt_gauge, PartFacts("P1", MATERIALS["aluminium-4032"]), AT_20)
    budget = difference(bore.budget, skirt.budget)
    clearance = decide(bore.size_nm - skirt.size_nm, budget.u_nm, 50_000, None, dof=budget.dof)
    assert clearance.zone is zone
