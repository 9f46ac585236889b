"""Every piston in every barrel: what the clearance would be, and whether it is allowed."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from barrelfit.rules.compare import Value, above, below
from barrelfit.rules.engine.features import skirt_at
from barrelfit.rules.engine.limits import Limit, clearance_limit
from barrelfit.rules.engine.parts import Part
from barrelfit.rules.judge.evidence import Evidence
from barrelfit.rules.judge.matching import Barrel, Pair, Piston, Task
from barrelfit.rules.judge.pair import clearances_of
from barrelfit.rules.length import shown
from barrelfit.rules.uncertainty.decide import Zone

_ORDER = (Zone.INSIDE, Zone.UNDECIDED, Zone.OUTSIDE)


@dataclass(frozen=True, slots=True)
class Fit:
    """A piston in a barrel: smallest and largest clearance, their limit, and the worse zone.

    `skirt_nm` is the piston's skirt. `short_nm` is how far the smallest clearance is below its
    limit, `long_nm` how far the largest is above its limit; 0 where it is not.
    """

    piston: str
    barrel: str
    tight: Value
    loose: Value
    limit: Limit
    zone: Zone
    skirt_nm: int

    @property
    def pair(self) -> Pair:
        """Ids of piston and barrel."""
        return self.piston, self.barrel

    @property
    def short_nm(self) -> int:
        """How far the smallest clearance is below its limit, 0 when it is not."""
        return max(0, (self.limit.lower_nm or 0) - self.tight.nm)

    @property
    def long_nm(self) -> int:
        """How far the largest clearance is above its limit, 0 when it is not."""
        return 0 if self.limit.upper_nm is None else max(0, self.loose.nm - self.limit.upper_nm)

    @property
    def words(self) -> str:
        """What is wrong with the pair, in words."""
        name = f"{self.piston} in {self.barrel}"
        if self.short_nm:
            return (
                f"{name}: smallest clearance {shown(self.tight.nm)}, "
                f"{shown(self.short_nm)} below {shown(self.limit.lower_nm or 0)}"
            )
        if self.long_nm:
            return (
                f"{name}: largest clearance {shown(self.loose.nm)}, "
                f"{shown(self.long_nm)} above {shown(self.limit.upper_nm or 0)}"
            )
        span = f"{shown(self.tight.nm)} to {shown(self.loose.nm)}"
        return f"{name}: clearance {span}, too near a limit to tell"


def fits_of(
    evidence: Evidence, pistons: Sequence[Part], barrels: Sequence[Part]
) -> dict[Pair, Fit]:
    """Fit of every piston with a skirt size in every barrel with a bore size."""
    fits = (_fit(evidence, p, b) for p in pistons for b in barrels)
    return {fit.pair: fit for fit in fits if fit is not None}


def _fit(evidence: Evidence, piston: Part, barrel: Part) -> Fit | None:
    clearances = clearances_of(evidence, piston, barrel)
    if clearances is None:
        return None
    tight, loose = clearances
    limit = clearance_limit(evidence.sheet, evidence.engine, piston)
    zone = max(below(tight, limit), above(loose, limit), key=_ORDER.index)
    skirt_nm = evidence.sizes[skirt_at(piston.id)].size_nm
    return Fit(piston.id, barrel.id, tight, loose, limit, zone, skirt_nm)


def task_of(
    evidence: Evidence,
    pistons: Sequence[Part],
    barrels: Sequence[Part],
    clearances_nm: Mapping[Pair, int],
) -> Task:
    """The matching task of a set; parts still to be bought are left to blanks."""
    engine, sheet = evidence.engine, evidence.sheet
    short_of_both = len(pistons) < sheet.cylinders and len(barrels) < sheet.cylinders
    heights = engine.asks("height-groups") and bool(sheet.barrel.height_groups)
    return Task(
        cylinders=max(len(pistons), len(barrels)) if short_of_both else sheet.cylinders,
        pistons=tuple(Piston(p.id, p.mass_mg) for p in pistons),
        barrels=tuple(Barrel(b.id, b.height_group, home(evidence, b)) for b in barrels),
        clearances_nm=clearances_nm,
        bank_sizes=(
            tuple(len(bank.cylinders) for bank in sheet.banks)
            if heights and not short_of_both
            else ()
        ),
        mass_spread_mg=sheet.piston.mass_spread_mg if engine.asks("mass") else None,
    )


def home(evidence: Evidence, barrel: Part) -> str:
    """The piston a barrel came with: as the set says, else the one of the same place in the set."""
    if barrel.mate:
        return barrel.mate
    engine = evidence.engine
    place = engine.of_kind("barrel").index(barrel)
    pistons = engine.of_kind("piston")
    return pistons[place].id if place < len(pistons) else ""
