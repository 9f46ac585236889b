"""Every piston in every barrel: what clearance and ring gaps would be, and whether allowed."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from barrelfit.rules.compare import Value, above, below
from barrelfit.rules.engine.features import skirt_at
from barrelfit.rules.engine.limits import Limit, clearance_limit
from barrelfit.rules.engine.origins import sorts_of, variants_of
from barrelfit.rules.engine.parts import Part
from barrelfit.rules.judge.assigning import Pair
from barrelfit.rules.judge.bore import bore_of
from barrelfit.rules.judge.evidence import Evidence
from barrelfit.rules.judge.matching import MatchBarrel, MatchPiston, Task
from barrelfit.rules.judge.pair import clearances_of
from barrelfit.rules.judge.rings import gaps_in_bore
from barrelfit.rules.judge.size_doubts import size_doubts
from barrelfit.rules.model import Severity, Size
from barrelfit.rules.said import NOTHING, Said, length, said
from barrelfit.rules.uncertainty.budget import Budget, difference
from barrelfit.rules.uncertainty.decide import Zone

_ORDER = (Zone.INSIDE, Zone.UNDECIDED, Zone.OUTSIDE)


@dataclass(frozen=True, slots=True)
class Fit:
    """A piston in a barrel: smallest and largest clearance, their limit, and the worse zone.

    `skirt_nm` is the piston's skirt. `short_nm` is how far the smallest clearance is below its
    limit, `long_nm` how far the largest is above its limit; 0 where it is not. `ring_zone` is where
    the rings' closed gaps would lie in this barrel, with what the rules found of them.
    `in_doubt` are the parts whose size is in doubt: nothing rests on it.
    """

    piston: str
    barrel: str
    tight: Value
    loose: Value
    limit: Limit
    zone: Zone
    skirt_nm: int
    ring_zone: Zone = Zone.INSIDE
    rings_said: tuple[Said, ...] = ()
    in_doubt: tuple[str, ...] = ()

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
    def said(self) -> Said:
        """What is wrong with the pair."""
        doubt = said("size_in_doubt", parts=self.in_doubt) if self.in_doubt else NOTHING
        near = said("is_too_near") if self.zone is Zone.UNDECIDED else NOTHING
        tight, loose = length(self.tight.nm), length(self.loose.nm)
        if self.short_nm:
            short, limit = length(self.short_nm), length(self.limit.lower_nm or 0)
            wrong = said("fit_tight", clearance=tight, by=short, limit=limit, near=doubt or near)
        elif self.long_nm:
            long, limit = length(self.long_nm), length(self.limit.upper_nm or 0)
            wrong = said("fit_loose", clearance=loose, by=long, limit=limit, near=doubt or near)
        else:
            near = said("near_a_limit")
            wrong = said(
                "fit_unsure", clearance=said("span", low=tight, high=loose), near=doubt or near
            )
        return said("in_barrel", piston=self.piston, barrel=self.barrel, what=wrong)


def fits_of(
    evidence: Evidence, pistons: Sequence[Part], barrels: Sequence[Part]
) -> dict[Pair, Fit]:
    """Fit of every piston with a skirt size in every barrel with a bore size."""
    doubted = {p.id for p in (*pistons, *barrels) if size_doubts(evidence, p.id)}
    fits = (_fit(evidence, p, b, doubted) for p in pistons for b in barrels)
    return {fit.pair: fit for fit in fits if fit is not None}


def _fit(evidence: Evidence, piston: Part, barrel: Part, doubted: set[str]) -> Fit | None:
    clearances = clearances_of(evidence, piston, barrel)
    if clearances is None:
        return None
    tight, loose = clearances
    limit = clearance_limit(evidence.sheet, evidence.engine, piston)
    zone = max(below(tight, limit), above(loose, limit), key=_ORDER.index)
    in_doubt = tuple(p.id for p in (piston, barrel) if p.id in doubted)
    zone = Zone.UNDECIDED if in_doubt else zone  # what stands is one answer of two
    skirt_nm = evidence.sizes[skirt_at(piston.id)].size_nm
    rings = _rings(evidence, piston, barrel)
    return Fit(piston.id, barrel.id, tight, loose, limit, zone, skirt_nm, *rings, in_doubt)


def _rings(evidence: Evidence, piston: Part, barrel: Part) -> tuple[Zone, tuple[Said, ...]]:
    """Where the closed gaps lie in a barrel; outside means that a ring must be filed or renewed."""
    bore = bore_of(evidence, barrel.id)
    if not evidence.engine.asks("rings") or bore.smallest is None or bore.largest is None:
        return Zone.INSIDE, ()
    gaps = gaps_in_bore(evidence, piston, bore.smallest, bore.largest)
    founds = [found for gap in gaps for found in gap.founds]
    told = tuple(
        said("in_barrel", piston=piston.id, barrel=barrel.id, what=f.sentence) for f in founds
    )
    worst = max((f.severity for f in founds), default=Severity.NOTE)
    if worst <= Severity.NOTE:
        return Zone.INSIDE, told
    return Zone.UNDECIDED if worst is Severity.UNDECIDED else Zone.OUTSIDE, told


def task_of(
    evidence: Evidence,
    pistons: Sequence[Part],
    barrels: Sequence[Part],
    clearances_nm: Mapping[Pair, int],
    costs: Mapping[Pair, int] | None = None,
    alone: Mapping[str, int] | None = None,
) -> Task:
    """The matching task of a set; parts still to be bought are left to blanks."""
    engine, sheet = evidence.engine, evidence.sheet
    heights = engine.asks("height-groups") and bool(sheet.barrel.height_groups)
    return Task(
        cylinders=sheet.cylinders,
        pistons=tuple(
            MatchPiston(p.id, p.mass_mg, sorts_of(sheet, engine, p), variants_of(sheet, engine, p))
            for p in pistons
        ),
        barrels=tuple(
            MatchBarrel(
                b.id,
                b.height_group if b.height_group in sheet.barrel.height_groups else "?",
                engine.home(b),
                sorts_of(sheet, engine, b),
                variants_of(sheet, engine, b),
            )
            for b in barrels
        ),
        clearances_nm=clearances_nm,
        bank_sizes=tuple(len(bank.cylinders) for bank in sheet.banks) if heights else (),
        mass_spread_mg=sheet.piston.mass_spread_mg if engine.asks("mass") else None,
        costs=costs or {},
        alone=alone or {},
    )


def gain_doubt(
    evidence: Evidence, fits: Mapping[Pair, Fit], here: Sequence[Pair], there: Sequence[Pair]
) -> int:
    """Half-width (nm) of the 95 % interval of the difference of two assignments' spreads.

    A spread is a difference of two clearances, so up to four skirts and bores come into it; what
    they have in common (one standard, one gauge's setting) cancels.
    """
    ends = [_ends(fits, pairs) for pairs in (here, there)]
    if any(not end for end in ends):
        return 0
    (low, high), (least, most) = ends
    ways = [(least, most), (most, least)] if least.tight.nm == most.tight.nm else [(least, most)]
    return min(_spreads_doubt(evidence, (low, high), way) for way in ways)


def _ends(fits: Mapping[Pair, Fit], pairs: Sequence[Pair]) -> tuple[Fit, ...]:
    """The fits of smallest and largest clearance, nothing where no clearance is known."""
    known = sorted((fits[p] for p in pairs if p in fits), key=lambda f: f.tight.nm)
    return (known[0], known[-1]) if known else ()


def _spreads_doubt(evidence: Evidence, here: tuple[Fit, Fit], there: tuple[Fit, Fit]) -> int:
    terms = [
        *_clearance_terms(evidence, here[1], 1),
        *_clearance_terms(evidence, here[0], -1),
        *_clearance_terms(evidence, there[1], -1),
        *_clearance_terms(evidence, there[0], 1),
    ]
    return _combined(terms).expanded_nm()


def _clearance_terms(evidence: Evidence, fit: Fit, sign: int) -> list[tuple[Size, int]]:
    bore = bore_of(evidence, fit.barrel).smallest
    skirt = evidence.sizes[skirt_at(fit.piston)]
    return [] if bore is None else [(bore, sign), (skirt, -sign)]


def _combined(terms: Sequence[tuple[Size, int]]) -> Budget:
    """Budget of a sum of sizes with signs; a size that comes twice is one cause."""
    components = [
        replace(c, sign=c.sign * sign, shared=c.shared or f"{size.at} {number}")
        for size, sign in terms
        for number, c in enumerate(size.budget.components)
    ]
    return difference(Budget(tuple(components)), Budget(()))
