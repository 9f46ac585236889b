"""When no match keeps every limit: the fewest that must break, in words, and the cheapest mend.

A mend is looked for in each pair alone (hone an iron barrel, take a piston of another size group,
another barrel), and the assignment of least total cost is exact over these; mends of height groups
and masses add their own. Boring the whole set to an oversize is the rival. Costs are the sheet's.
"""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from barrelfit.rules.engine.limits import bore_limit, group_words
from barrelfit.rules.engine.parts import Part
from barrelfit.rules.engine.sheet import Sheet
from barrelfit.rules.judge.barrel import worn_bore
from barrelfit.rules.judge.bore import bore_of
from barrelfit.rules.judge.evidence import Evidence
from barrelfit.rules.judge.matching import Pair, Task, first_cheapest
from barrelfit.rules.judge.pairing import Fit
from barrelfit.rules.judge.rework import cleans_up, wall_left
from barrelfit.rules.length import shown
from barrelfit.rules.uncertainty.decide import Zone

_PAIR_BREAKS = 10**6  # one more broken pair outweighs any distance in µm


@dataclass(frozen=True, slots=True)
class Mend:
    """What would make a match possible: the steps in words and their cost together."""

    steps: tuple[str, ...]
    cost: int


@dataclass(frozen=True, slots=True)
class Trouble:
    """Why no match exists: the smallest set of limits that must break, and what hems them in."""

    broken: tuple[str, ...]
    reasons: tuple[str, ...]
    mend: Mend | None


def trouble_of(evidence: Evidence, task: Task, fits: Mapping[Pair, Fit]) -> Trouble:
    """Explain why a task has no match, and how it could have one at the least cost."""
    heights, masses = height_trouble(task), mass_trouble(task)
    free = _without_sides(task)
    pairs = _fewest_broken(free, fits)
    broken = [fits[p].words for p in pairs if fits[p].zone is not Zone.INSIDE]
    broken += heights.sentences + masses.sentences
    return Trouble(tuple(broken), tuple(_lonely(task, fits)), _mend(evidence, task, fits))


def _without_sides(task: Task) -> Task:
    return Task(task.cylinders, task.pistons, task.barrels, task.clearances_nm)


def _fewest_broken(task: Task, fits: Mapping[Pair, Fit]) -> tuple[Pair, ...]:
    """The assignment that breaks the fewest clearances; of those the one that is out the least."""
    costs = {pair: _breaking(fit) for pair, fit in fits.items()}
    return first_cheapest(task, task.pistons, _idle(task), costs) or ()


def _breaking(fit: Fit) -> int:
    if fit.zone is Zone.INSIDE:
        return 0
    return _PAIR_BREAKS + (fit.short_nm + fit.long_nm) // 1000


def _idle(task: Task) -> Counter[str]:
    return Counter({"": max(0, len(task.barrels) - task.cylinders)})


def _lonely(task: Task, fits: Mapping[Pair, Fit]) -> list[str]:
    """Pistons that fit no barrel, and barrels that no piston fits, in words."""
    inside = [pair for pair, fit in fits.items() if fit.zone is Zone.INSIDE]
    some_pistons, some_barrels = {p for p, _ in inside}, {b for _, b in inside}
    out = [f"{p.id} fits no barrel of the set" for p in task.pistons if p.id not in some_pistons]
    out += [f"no piston of the set fits {b.id}" for b in task.barrels if b.id not in some_barrels]
    return out


# ---------------------------------------------------------------- height groups and masses


@dataclass(frozen=True, slots=True)
class SideTrouble:
    """A side condition that can't be met: in words, how to mend it, and how many parts it takes."""

    sentences: list[str]
    steps: list[str]
    parts: int


def height_trouble(task: Task) -> SideTrouble:
    """Why the banks can't have one height group each, nothing when they can."""
    have = Counter(b.height_group for b in task.barrels)
    if not task.bank_sizes or not have:
        return SideTrouble([], [], 0)
    short = _least_short(have, task)
    if not short:
        return SideTrouble([], [], 0)
    counts = ", ".join(f"{n} of group {g or 'unknown'}" for g, n in sorted(have.items()))
    sentence = f"one height group for each bank can't be had from {counts}"
    step = f"{short} other barrel{'s' if short > 1 else ''}, so that each bank has one height group"
    return SideTrouble([sentence], [step], short)


def _least_short(have: Counter[str], task: Task) -> int:
    """How many barrels must be exchanged at least."""
    blanks = max(0, task.cylinders - len(task.barrels))
    best = task.cylinders

    def walk(sizes: Sequence[int], need: Counter[str]) -> None:
        nonlocal best
        if not sizes:
            best = min(best, max(0, (need - have).total() - blanks))
            return
        for group in have:
            walk(sizes[1:], need + Counter({group: sizes[0]}))

    walk(task.bank_sizes, Counter())
    return best


def mass_trouble(task: Task) -> SideTrouble:
    """Why the pistons' masses are too far apart, nothing when enough of them are near enough."""
    masses = sorted((p.mass_mg, p.id) for p in task.pistons if p.mass_mg is not None)
    limit_mg, needed = task.mass_spread_mg, min(task.cylinders, len(task.pistons))
    unweighed = len(task.pistons) - len(masses)
    needed -= unweighed
    if limit_mg is None or needed < 1:
        return SideTrouble([], [], 0)
    windows = [masses[i : i + needed] for i in range(len(masses) - needed + 1)]
    chosen = min(windows, key=lambda w: w[-1][0] - w[0][0])
    spread_mg = chosen[-1][0] - chosen[0][0]
    if spread_mg <= limit_mg:
        return SideTrouble([], [], 0)
    sentence = (
        f"masses spread {grams(spread_mg)} ({chosen[0][1]} {grams(chosen[0][0])}, "
        f"{chosen[-1][1]} {grams(chosen[-1][0])}), {grams(limit_mg)} is allowed"
    )
    top_mg = chosen[0][0] + limit_mg
    steps = [f"take {grams(m - top_mg)} off {name}" for m, name in chosen if m > top_mg]
    return SideTrouble([sentence], steps, len(steps))


def grams(mass_mg: int) -> str:
    """Write a mass in grams: `512.4 g`."""
    text = f"{mass_mg // 1000}.{mass_mg % 1000:03d}".rstrip("0").rstrip(".")
    return f"{text} g"


# ---------------------------------------------------------------- the cheapest mend


@dataclass(frozen=True, slots=True)
class _Option:
    cost: int
    step: str


def _mend(evidence: Evidence, task: Task, fits: Mapping[Pair, Fit]) -> Mend | None:
    options = {pair: _option(evidence, fit) for pair, fit in fits.items()}
    # Costs are doubled so that a pair that only needs measuring again costs less than any mend.
    costs = {pair: o.cost for pair, o in options.items()}
    pairs = first_cheapest(_without_sides(task), task.pistons, _idle(task), costs)
    if pairs is None:
        return None
    steps = [options[p].step for p in pairs if options[p].step]
    cost = sum(options[p].cost for p in pairs)
    heights, masses, rates = height_trouble(task), mass_trouble(task), evidence.sheet.costs
    steps += heights.steps + masses.steps
    cost += 2 * (heights.parts * rates.barrel + masses.parts * rates.lighten)
    rival = _oversize(evidence, [b.id for b in task.barrels])
    if rival is not None and 2 * rates.oversize < cost:
        return Mend((rival,), rates.oversize)
    return Mend(tuple(steps), (cost + 1) // 2)


def _option(evidence: Evidence, fit: Fit) -> _Option:
    """The cheapest way to make one pair fit."""
    rates, sheet = evidence.sheet.costs, evidence.sheet
    if fit.zone is Zone.INSIDE:
        return _Option(0, "")
    if fit.zone is Zone.UNDECIDED:
        return _Option(1, f"measure {fit.piston} and {fit.barrel} again, with a better gauge")
    barrel = evidence.engine.part(fit.barrel)
    offers = [
        _Option(2 * rates.barrel, f"another barrel for {fit.piston}"),
        *_honing(evidence, fit, barrel),
        *(
            _Option(2 * rates.piston, f"another piston for {fit.barrel}: {words}")
            for words in pistons_for(
                sheet, fit.tight.nm + fit.skirt_nm, fit.loose.nm + fit.skirt_nm
            )
        ),
    ]
    return min(offers, key=lambda o: o.cost)


def _honing(evidence: Evidence, fit: Fit, barrel: Part) -> list[_Option]:
    kind = evidence.sheet.barrel.kind(barrel.barrel_kind)
    limit = bore_limit(evidence.sheet, evidence.engine, barrel)
    if kind is None or kind.plated or limit is None or fit.long_nm or fit.limit.upper_nm is None:
        return []
    bores_nm = [s.size_nm for s in bore_of(evidence, barrel.id).sizes]
    # The whole bore grows by what is short, so the largest place and clearance grow with it.
    grown = max(bores_nm, default=0) + fit.short_nm
    if limit.upper_nm is not None and grown > limit.upper_nm:
        return []
    if fit.loose.nm + fit.short_nm > fit.limit.upper_nm:
        return []
    step = f"hone {barrel.id} by {shown(fit.short_nm)} for {fit.piston}"
    return [_Option(2 * evidence.sheet.costs.hone, step)]


def pistons_for(sheet: Sheet, smallest_nm: int, largest_nm: int) -> list[str]:
    """Size groups whose new piston would have an allowed clearance in a bore, in words."""
    low_nm, high_nm = sheet.clearance_min_nm, sheet.clearance_max_nm
    groups = [(v, g) for v in sheet.variants for g in v.groups]
    return [
        f"{group_words(variant, group)} ({shown(group.piston_nm)})"
        for variant, group in groups
        if low_nm <= smallest_nm - group.piston_nm and largest_nm - group.piston_nm <= high_nm
    ]


def _oversize(evidence: Evidence, barrels: Sequence[str]) -> str | None:
    """The smallest oversize that every barrel can go to, in words."""
    parts = [evidence.engine.part(name) for name in barrels]
    bores = [worn_bore(evidence, part, bore_of(evidence, part.id)) for part in parts]
    known = [bore for bore in bores if bore is not None and not bore.kind.plated]
    rework = evidence.sheet.rework
    if len(known) < len(barrels):
        return None
    for oversize_nm in rework.oversizes_nm:
        if all(cleans_up(b, rework, oversize_nm) and wall_left(b, oversize_nm) for b in known):
            return (
                f"bore the whole set to oversize {shown(oversize_nm)}, with new pistons and rings"
            )
    return None
