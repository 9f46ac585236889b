"""The families of rules, each listed here once; a rule is one small function."""

from barrelfit.rules.checks import (
    barrels,
    bores,
    clearances,
    entries,
    eyes,
    marks,
    pins,
    pistons,
    rings,
)

FAMILIES = (
    eyes.RULES,
    entries.RULES,
    marks.RULES,
    pistons.RULES,
    rings.RULES,
    pins.RULES,
    barrels.RULES,
    bores.RULES,
    clearances.RULES,
)
