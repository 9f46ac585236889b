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

_ALL = (eyes, entries, marks, pistons, rings, pins, barrels, bores, clearances)
FAMILIES = tuple(family.RULES for family in _ALL)
WORDS = tuple(family.WORDS for family in _ALL)
"""What each family's rules say: it stands with them."""
