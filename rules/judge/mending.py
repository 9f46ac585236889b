"""When no match keeps every limit: the fewest that must break, and the cheapest mend.

A mend is looked for in each pair alone (hone an iron barrel, take a piston of another size group,
another barrel), and the assignment of least total cost is exact over these; mends of the side
conditions add their own. Boring the whole set to an oversize is the rival. Costs are the sheet's.

No mend rests on an undecided size, none goes beyond what sheet or shop allow, and a bore is aimed
inside its limits by the guard band: what is mended must not be undecided when it is measured again.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from barrelfit.rules.engine.gate import seen_on
from barrelfit.rules.engine.parts import Part
from barrelfit.rules.judge.assigning import Pair, first_cheapest, spare_count
from barrelfit.rules.judge.barrel import SCORED, worn_bore
from barrelfit.rules.judge.bore import bore_of
from barrelfit.rules.judge.buying import barrels_for, common_variants, pistons_for
from barrelfit.rules.judge.candidates import Field, PartState
from barrelfit.rules.judge.matching import Task
from barrelfit.rules.judge.pairing import Fit
from barrelfit.rules.judge.rework import may_be_honed_to
from barrelfit.rules.judge.rings import gaps_in_bore
from barrelfit.rules.judge.set_rework import common_oversize
from barrelfit.rules.judge.side_trouble import (
    SideTrouble,
    height_trouble,
    mass_trouble,
    sort_trouble,
)
from barrelfit.rules.said import NOTHING, Said, length, said
from barrelfit.rules.uncertainty.decide import Zone, guard_band_nm

_PAIR_BREAKS = 10**6  # one more broken pair outweighs any distance in µm
_ROUND_NM = 1_000  # a bore is not honed to fractions of a µm
_OPEN = {PartState.DOUBTFUL, PartState.UNSIZED, PartState.REWORK}


@dataclass(frozen=True, slots=True)
class Mend:
    """What would make a match possible: the steps and their cost together."""

    steps: tuple[Said, ...]
    cost: int


@dataclass(frozen=True, slots=True)
class MatchTrouble:
    """Why no match exists: the smallest set of limits that must break, and what hems them in."""

    broken: tuple[Said, ...]
    reasons: tuple[Said, ...]
    mend: Mend | None


def trouble_of(field: Field, task: Task) -> MatchTrouble:
    """Explain why a task has no match, and how it could have one at the least cost."""
    sides = _sides(field, task)
    pairs = _fewest_broken(field, task)
    broken = [field.fits[p].said for p in pairs if _breaking(field, p)]
    broken += [sentence for side in sides for sentence in side.sentences]
    return MatchTrouble(tuple(broken), tuple(_lonely(field, task)), _mend(field, task))


def _sides(field: Field, task: Task) -> tuple[SideTrouble, ...]:
    costs, off_mg = field.evidence.sheet.costs, field.evidence.sheet.piston.mass_off_mg
    return (
        height_trouble(task, costs),
        mass_trouble(task, costs, off_mg, {p.id for p in task.pistons if _is_open(field, p.id)}),
        sort_trouble(field.evidence, task, costs),
    )


def _is_open(field: Field, part_id: str) -> bool:
    """Whether something about a part is undecided, so that no mend may rest on it."""
    return field.state(part_id) in _OPEN


def _cheapest(task: Task, costs: Mapping[Pair, int]) -> tuple[Pair, ...] | None:
    """The cheapest assignment without regard to heights, masses and sorts."""
    parts = task.pistons, task.barrels
    idle = spare_count(task.barrels, task.cylinders)
    found = first_cheapest(task.cylinders, parts, idle, costs)
    return None if found is None else found.pairs


def _pairs(field: Field, task: Task) -> list[Pair]:
    every = ((p.id, b.id) for p in task.pistons for b in task.barrels)
    return [pair for pair in every if pair in field.fits or pair in field.costs]


def _fewest_broken(field: Field, task: Task) -> tuple[Pair, ...]:
    """The assignment that breaks the fewest clearances; of those the one that is out the least."""
    costs = {pair: _breaking(field, pair) for pair in _pairs(field, task)}
    return _cheapest(task, costs) or ()


def _breaking(field: Field, pair: Pair) -> int:
    fit = field.fits.get(pair)
    if fit is None or fit.zone is not Zone.OUTSIDE:
        return 0
    return _PAIR_BREAKS + (fit.short_nm + fit.long_nm) // 1000


def _lonely(field: Field, task: Task) -> list[Said]:
    """Pistons that fit no barrel, and barrels that no piston fits."""
    some_pistons, some_barrels = {p for p, _ in field.costs}, {b for _, b in field.costs}
    pistons = (p.id for p in task.pistons if p.id not in some_pistons)
    barrels = (b.id for b in task.barrels if b.id not in some_barrels)
    lonely = [said("fits_no_barrel", piston=name) for name in pistons]
    return lonely + [said("fits_no_piston", barrel=name) for name in barrels]


# ---------------------------------------------------------------- the cheapest mend


@dataclass(frozen=True, slots=True)
class _Option:
    cost: int
    step: Said


def _mend(field: Field, task: Task) -> Mend | None:
    sides = _sides(field, task)
    odd = frozenset[str]().union(*(side.odd for side in sides))
    # A part that is exchanged for its kind or oversize is not mended beside.
    options = {
        pair: _Option(0, NOTHING) if odd & set(pair) else _option(field, pair)
        for pair in _pairs(field, task)
    }
    # Costs are doubled so that a pair that only needs measuring again costs less than any mend.
    pairs = _cheapest(task, {pair: o.cost for pair, o in options.items()})
    if pairs is None:
        return None
    steps = [options[p].step for p in pairs if options[p].step]
    steps += [step for side in sides for step in side.steps]
    cost = sum(options[p].cost for p in pairs) + 2 * sum(side.cost for side in sides)
    rival = _rival(field)
    rates = field.evidence.sheet.costs
    if rival is not None and 2 * rates.oversize < cost:
        return Mend((rival,), rates.oversize)
    return Mend(tuple(dict.fromkeys(steps)), (cost + 1) // 2) if steps else None


def _rival(field: Field) -> Said | None:
    """Boring the whole set, where enough barrels can go to one oversize."""
    oversize_nm = common_oversize(field)
    if oversize_nm is None:
        return None
    return said("bore_whole_set", oversize=length(oversize_nm))


def _option(field: Field, pair: Pair) -> _Option:
    """The cheapest way to make one pair fit; nothing but measuring while a part is in doubt."""
    fit = field.fits.get(pair)
    if fit is not None and fit.zone is Zone.INSIDE:
        return _Option(0, NOTHING)
    doubtful = tuple(name for name in pair if _is_open(field, name))
    if doubtful or fit is None:
        return _Option(1, said("settle_first_both", parts=doubtful or pair))
    if fit.zone is Zone.UNDECIDED:
        return _Option(1, said("measure_both", piston=fit.piston, barrel=fit.barrel))
    rates, evidence = field.evidence.sheet.costs, field.evidence
    barrel = evidence.engine.part(fit.barrel)
    used = [evidence.engine.part(c) for c in field.by_id if field.state(c) is not PartState.OUT]
    variants = common_variants(evidence, used)
    piston = evidence.engine.part(fit.piston)
    both = said("another_pair", piston=fit.piston, barrel=fit.barrel)
    offers = [
        _Option(2 * (rates.barrel + rates.piston), both),
        *_honing(field, fit, barrel),
        *(
            _Option(2 * rates.piston, said("another_piston", barrel=fit.barrel, offer=offer.said))
            for offer in pistons_for(evidence, barrel, variants)[:1]
        ),
        *(
            _Option(2 * rates.barrel, said("another_barrel", piston=fit.piston, offer=offer.said))
            for offer in barrels_for(evidence, piston, variants)[:1]
        ),
    ]
    return min(offers, key=lambda o: o.cost)


def _honing(field: Field, fit: Fit, barrel: Part) -> Iterable[_Option]:
    """Honing an iron barrel until the smallest clearance is surely allowed, where that is wise."""
    evidence = field.evidence
    measured = bore_of(evidence, barrel.id)
    bore = worn_bore(evidence, barrel, measured)
    upper_nm = fit.limit.upper_nm
    if bore is None or upper_nm is None or fit.long_nm or not bore.whole:
        return ()
    guards_nm = [guard_band_nm(v.u_nm, v.guard, v.dof) for v in (fit.tight, fit.loose)]
    # The whole bore grows by what is short, so the largest place and clearance grow with it.
    growth_nm = -(-(fit.short_nm + guards_nm[0]) // _ROUND_NM) * _ROUND_NM
    wide = fit.loose.nm + growth_nm + guards_nm[1] > upper_nm
    most_nm = evidence.sheet.rework.honing_most_nm
    much = most_nm is not None and growth_nm > most_nm
    never = SCORED in seen_on(barrel) or field.state(barrel.id) is PartState.HONE
    if wide or much or never or not may_be_honed_to(bore, bore.largest_nm + growth_nm):
        return ()
    gaps, by = _gap_warning(field, fit, growth_nm), length(growth_nm)
    step = said("hone_for", barrel=barrel.id, by=by, piston=fit.piston, gaps=gaps)
    return (_Option(2 * evidence.sheet.costs.hone, step),)


def _gap_warning(field: Field, fit: Fit, growth_nm: int) -> Said:
    """What honing does to the rings' gaps, where it takes one out of its limits or nobody knows."""
    evidence = field.evidence
    bore = bore_of(evidence, fit.barrel)
    if not evidence.engine.asks("rings") or bore.smallest is None or bore.largest is None:
        return NOTHING
    piston = evidence.engine.part(fit.piston)
    ends = (replace(s, size_nm=s.size_nm + growth_nm) for s in (bore.smallest, bore.largest))
    founds = [f for gap in gaps_in_bore(evidence, piston, *ends) for f in gap.founds]
    gaps = tuple(said("what_and_do", what=f.sentence, do=f.advice) for f in founds)
    return said("in_honed_bore", gaps=gaps) if gaps else NOTHING
