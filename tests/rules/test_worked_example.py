"""The worked example: a warm piston that looks good, and is undecided at 20 °C.

The README quotes the table below; here it is computed.
"""

from barrelfit.acquire.report.budget_text import budget_table
from barrelfit.rules.uncertainty.decide import Zone, decide
from barrelfit.rules.uncertainty.size_budget import (
    FACES,
    AsRead,
    GaugeFacts,
    PartFacts,
    Setting,
    size_budget,
)
from barrelfit.rules.uncertainty.temperature import Temperatures
from tests.rules.shipped import shipped_materials

WEAR_LIMIT_NM = 83_460_000

TABLE = """\
cause                                  share µm  type distribution   dof
sweep                                     0.400  A    t                8
digit                                     0.289  B    rectangular      -
standard ring-84                          0.600  B    normal           -
contact of flat faces, 8 N                0.395  B    rectangular      -
thermometer, gauge and part alike         0.217  B    rectangular      -
temperature of the gauge                  0.277  B    rectangular      -
temperature of the part                   0.494  B    rectangular      -
expansion of the gauge                    0.197  B    rectangular      -
expansion of the part                     0.579  B    rectangular      -
combined                                  1.225                      703
83.4594 mm ± 2.406 µm (k = 1.96, 95 %): 83.457 mm to 83.4618 mm"""


def test_a_piston_at_32_degrees():
    materials = shipped_materials()
    gauge = GaugeFacts("m1", materials["gauge-steel"], FACES, Setting("ring-84", 600.0), 8_000)
    piston = PartFacts("P1", materials["aluminium-12-silicon-cast"])
    read = AsRead(83_478_000, u_sweep_nm=400.0, sweep_dof=8.0, u_digit_nm=288.675)
    size_nm, budget, notes = size_budget(read, gauge, piston, Temperatures(32_000, 22_000))
    assert budget_table(size_nm, budget) == TABLE
    assert notes == ()

    warm = decide(read.read_nm, budget.u_nm, WEAR_LIMIT_NM, None, dof=budget.dof)
    cold = decide(size_nm, budget.u_nm, WEAR_LIMIT_NM, None, dof=budget.dof)
    assert (warm.zone, round(warm.p_conform, 3)) == (Zone.INSIDE, 1.0)
    assert (cold.zone, round(cold.p_conform, 2)) == (Zone.UNDECIDED, 0.31)
    assert cold.accept_low_nm == WEAR_LIMIT_NM + cold.guard_nm
    assert cold.guard_nm == 2_025
