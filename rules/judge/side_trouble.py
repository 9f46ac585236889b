"""Why a set's side conditions can't be met (heights, masses, sorts), and what would mend each."""

from collections import Counter
from collections.abc import Collection, Sequence
from dataclasses import dataclass

from barrelfit.rules.engine.origins import origins
from barrelfit.rules.engine.sheet import Costs
from barrelfit.rules.judge.evidence import Evidence
from barrelfit.rules.judge.matching import MatchBarrel, MatchPiston, Task
from barrelfit.rules.said import NOTHING, Said, length, mass, said


@dataclass(frozen=True, slots=True)
class SideTrouble:
    """A side condition that can't be met: what is said of it, how to mend it, and at what cost.

    `odd` are the parts that are exchanged by it.
    """

    sentences: tuple[Said, ...] = ()
    steps: tuple[Said, ...] = ()
    cost: int = 0
    odd: frozenset[str] = frozenset()


# ---------------------------------------------------------------- height groups


def height_trouble(task: Task, rates: Costs) -> SideTrouble:
    """Why the banks can't have one height group each, nothing when they can."""
    known = [b.height_group for b in task.barrels if b.height_group != "?"]
    have = Counter(known)
    if not task.bank_sizes or not have:
        return SideTrouble()
    short = _least_short(have, task, len(task.barrels) - len(known))
    if not short:
        return SideTrouble()
    counts = tuple(
        said("of_group", count=n, group=g or said("unknown")) for g, n in sorted(have.items())
    )
    sentence = said("heights_apart", counts=counts)
    step = said("one_barrel_for_heights")
    if short > 1:
        step = said("barrels_for_heights", count=short)
    return SideTrouble((sentence,), (step,), short * rates.barrel)


def _least_short(have: Counter[str], task: Task, unknown: int) -> int:
    """How many barrels must be exchanged at least."""
    blanks = max(0, task.cylinders - len(task.barrels)) + unknown
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


# ---------------------------------------------------------------- masses


@dataclass(frozen=True, slots=True)
class _Balance:
    """One way to bring the masses within their spread: from `low_mg` up."""

    cost: int
    off_mg: int
    steps: tuple[Said, ...]


def mass_trouble(
    task: Task, rates: Costs, off_most_mg: int, doubtful: Collection[str] = ()
) -> SideTrouble:
    """Why the pistons' masses are too far apart, nothing when enough of them are near enough.

    Args:
        task: the task.
        rates: what mends cost.
        off_most_mg: the most that may be taken off one piston; one that is further out is replaced.
        doubtful: pistons about which something is undecided: nothing is taken off them yet.
    """
    weighed = [(p.mass_mg, p.id) for p in task.pistons if p.mass_mg is not None]
    masses, limit_mg = sorted(weighed), task.mass_spread_mg
    needed = min(task.cylinders, len(task.pistons)) - (len(task.pistons) - len(masses))
    if limit_mg is None or needed < 1:
        return SideTrouble()
    windows = [masses[i : i + needed] for i in range(len(masses) - needed + 1)]
    chosen = min(windows, key=lambda w: w[-1][0] - w[0][0])
    spread_mg = chosen[-1][0] - chosen[0][0]
    if spread_mg <= limit_mg:
        return SideTrouble()
    sentence = said(
        "masses_apart",
        spread=mass(spread_mg),
        light=chosen[0][1],
        light_mass=mass(chosen[0][0]),
        heavy=chosen[-1][1],
        heavy_mass=mass(chosen[-1][0]),
        allowed=mass(limit_mg),
    )
    terms = rates, off_most_mg, doubtful
    ways = [_balance(masses, needed, (low_mg, limit_mg), terms) for low_mg, _ in masses]
    best = min(ways, key=lambda way: (way.cost, way.off_mg))
    return SideTrouble((sentence,), best.steps, best.cost)


def _balance(
    masses: Sequence[tuple[int, str]],
    needed: int,
    window: tuple[int, int],
    terms: tuple[Costs, int, Collection[str]],
) -> _Balance:
    """The cheapest way to have the needed pistons within a window of masses."""
    (low_mg, spread_mg), (rates, off_most_mg, doubtful) = window, terms
    high_mg = low_mg + spread_mg
    kept_mg = [m for m, _ in masses if low_mg <= m <= high_mg]
    least, most = mass(max(kept_mg) - spread_mg), mass(min(kept_mg) + spread_mg)
    priced: list[tuple[int, int, Said]] = []
    for mass_mg, name in masses:
        over_mg = max(0, mass_mg - high_mg)
        if low_mg <= mass_mg <= high_mg:
            priced.append((0, 0, NOTHING))
        elif 0 < over_mg <= off_most_mg:
            step = said("take_off", mass=mass(over_mg), part=name)
            if name in doubtful:
                step = said("settle_first_heavy", part=name)
            priced.append((rates.lighten, over_mg, step))
        else:
            step = said("another_piston_of_mass", part=name, least=least, most=most)
            priced.append((rates.piston, 0, step))
    taken = sorted(priced, key=lambda p: p[:2])[:needed]
    steps = tuple(step for _, _, step in taken if step)
    return _Balance(sum(c for c, _, _ in taken), sum(off for _, off, _ in taken), steps)


# ---------------------------------------------------------------- kinds and oversizes


def sort_trouble(evidence: Evidence, task: Task, rates: Costs) -> SideTrouble:
    """Why the parts are not of one kind of barrel and one oversize, nothing when they can be."""
    sorts = sorted(set[str]().union(*(p.sorts for p in task.parts)))
    ways = [(_missing(task, sort), sort) for sort in sorts]
    if not ways:
        return SideTrouble()
    (pistons, barrels), sort = min(ways, key=lambda way: (sum(way[0]), way[1]))
    if not pistons and not barrels:
        return SideTrouble()
    odd = [p for p in task.parts if p.sorts and sort not in p.sorts]
    named = tuple(said("part_is", part=p.id, what=_sort_said(evidence, p)) for p in odd)
    kind, _, oversize = sort.rpartition("+")
    size = _oversize_said(int(oversize))
    wanted = said("kind_and_size", kind=kind, size=size)
    sentence = said("sorts_apart", wanted=wanted, odd=named)
    steps = []
    if pistons:
        more = said("other_pistons", count=pistons, like=size)
        steps.append(more if pistons > 1 else said("one_other_piston", like=size))
    if barrels:
        more = said("other_barrels", count=barrels, like=wanted)
        steps.append(more if barrels > 1 else said("one_other_barrel", like=wanted))
    cost = pistons * rates.piston + barrels * rates.barrel
    return SideTrouble((sentence,), tuple(steps), cost, frozenset(p.id for p in odd))


def _missing(task: Task, sort: str) -> tuple[int, int]:
    """How many pistons and barrels of a sort are short of what the set has."""
    return _short(task, task.pistons, sort), _short(task, task.barrels, sort)


def _short(task: Task, parts: Sequence[MatchPiston] | Sequence[MatchBarrel], sort: str) -> int:
    alike = sum(not p.sorts or sort in p.sorts for p in parts)
    return max(0, min(task.cylinders, len(parts)) - alike)


def _sort_said(evidence: Evidence, part: MatchPiston | MatchBarrel) -> Said:
    own = evidence.engine.part(part.id)
    over_nm = sorted({o.oversize_nm for o in origins(evidence.sheet, evidence.engine, own)})
    size = said("of_unknown_size")
    if over_nm:
        size = said("any_of", some=tuple(_oversize_said(nm) for nm in over_nm))
    return said("kind_and_size", kind=own.barrel_kind, size=size) if own.barrel_kind else size


def _oversize_said(oversize_nm: int) -> Said:
    return said("oversize", oversize=length(oversize_nm)) if oversize_nm else said("standard")
