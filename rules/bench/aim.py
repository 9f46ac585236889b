"""How sure a sweep's size must be for its sweep to end: the aim that a board shows beside it.

A module of its own, because a daemon tells it with the plan and loads no estimators.
"""

import math
from typing import Final

from barrelfit.rules.bench.setup import GaugeOnBench, Setup
from barrelfit.rules.engine.catalogue.material import material_of, touched
from barrelfit.rules.judge.plan import PlannedFeature
from barrelfit.rules.uncertainty.size_budget import AsRead, PartFacts, digit_u_nm, size_budget

SURE_NM: Final = 520.0  # with the last digit's share beside it
# Of the whole uncertainty: passes without end would lessen it by 8 % at most.
SHARE_LEFT: Final = 0.4


def enough_nm(digit_nm: int, u_nm: float) -> float:
    """What may be left of the doubt that passes lessen, of a size with `u_nm` as a whole, in nm."""
    return max(math.hypot(SURE_NM, digit_u_nm(digit_nm)), SHARE_LEFT * u_nm)


def aim_nm(setup: Setup, planned: PlannedFeature, gauge: GaugeOnBench) -> int | None:
    """Half the 95 % interval at which a sweep is sure enough, in nm: about, for people to see.

    A sweep ends by the part of its doubt that passes lessen (`enough`); here the rest is added as
    the session's setup has it. None for a feature whose size or material nobody knows beforehand.
    """
    part = touched(setup.engine, planned.at) or setup.engine.part(planned.at.part)
    material = setup.materials.get(material_of(setup.sheet, part))
    if planned.about_nm is None or material is None:
        return None
    facts = PartFacts(planned.at.part, material)

    def half(u_sweep_nm: float) -> tuple[float, int]:
        read = AsRead(planned.about_nm or 0, u_sweep_nm, gauge.passes - 1.0, 0.0)
        budget = size_budget(read, gauge.facts, facts, setup.temperatures).budget
        return budget.u_nm, budget.expanded_nm()

    rest_nm, _ = half(0.0)
    whole_nm = rest_nm / math.sqrt(1 - SHARE_LEFT**2)
    return half(enough_nm(gauge.traits.digit_nm, whole_nm))[1]
