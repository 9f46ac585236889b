"""Which piston runs in which barrel: the exact optimum, or nothing where a condition must break.

The task is an assignment. Wanted is, in this order: the least cost (what must be measured again,
reworked, or bought; see `Task.costs`), the smallest spread (largest less smallest clearance), the
most pistons in the barrels they came with. A smaller spread is worth exchanging bedded parts only
when the gain is more than its own uncertainty: of matches whose spreads can't be told apart the one
that leaves the most pistons at home is taken.

Side conditions: barrels of one height group in each bank, masses within their spread, all parts of
one sort (kind of barrel, oversize). They are met by trying every choice of sort, of height groups
for the banks and every window of masses (few, and fixed when there are no spares); inside a choice,
the spread is minimised by moving a window over the sorted clearances, with one assignment for each
step. That is exact.
"""

from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import product

from barrelfit.rules.judge.assigning import Assigned, Pair, cheapest, first_cheapest

_MOVE = 100  # one unit of a task's costs outweighs all moves of a set together
# Units of cost: to be decided, a ring or a face to be worked on, a bore to be, no size yet.
DOUBT, WORK, BORE_WORK, WAIT = 1, 100, 10_000, 1_000_000

Doubt = Callable[[tuple[Pair, ...], tuple[Pair, ...]], int]


@dataclass(frozen=True, slots=True)
class MatchPiston:
    """A piston to be matched; `mass_mg` None leaves its mass out of the spread.

    `sorts` and `variants`: what kinds of engine it may belong to; empty: any. Sorts are never mixed
    in one engine, variants only where nothing else is to be had, and each stranger costs a doubt.
    """

    id: str
    mass_mg: int | None = None
    sorts: frozenset[str] = frozenset()
    variants: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class MatchBarrel:
    """A barrel to be matched; `home` is the piston it came with; sorts and variants as a piston's.

    `height_group` "?": it is not known, and the barrel may turn out to be of any group.
    """

    id: str
    height_group: str = ""
    home: str = ""
    sorts: frozenset[str] = frozenset()
    variants: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class Task:
    """What is to be matched.

    `clearances_nm` holds the pairs whose clearance is allowed; a pair that is in `costs` alone may
    be made too, its clearance is not known. `costs` counts what stands between a pair and running,
    in units of `DOUBT` to `WAIT`; a pair that is not in it costs nothing. `alone` counts
    the same for a part that stays without its other half. `bank_sizes` are
    the cylinders of each bank when a bank needs barrels of one height group, else empty.
    `mass_spread_mg` None: no such limit.
    """

    cylinders: int
    pistons: tuple[MatchPiston, ...]
    barrels: tuple[MatchBarrel, ...]
    clearances_nm: Mapping[Pair, int]
    bank_sizes: tuple[int, ...] = ()
    mass_spread_mg: int | None = None
    costs: Mapping[Pair, int] = field(default_factory=dict)
    alone: Mapping[str, int] = field(default_factory=dict)

    @property
    def parts(self) -> tuple[MatchPiston | MatchBarrel, ...]:
        """All pistons and barrels."""
        return *self.pistons, *self.barrels


@dataclass(frozen=True, slots=True)
class Match:
    """An assignment: pairs of piston and barrel, its spread in nm, a height group for each bank.

    `heights` are the height groups of the barrels as the match takes them, where they matter;
    `pool` is every part that goes with this match, from which lone seats are filled.
    """

    pairs: tuple[Pair, ...]
    spread_nm: int
    bank_groups: tuple[str, ...] = ()
    heights: Mapping[str, str] = field(default_factory=dict)
    pool: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class _Choice:
    """One choice of sort, height groups and masses: the parts that are left, and who is idle."""

    task: Task
    bank_groups: tuple[str, ...]
    idle: Counter[str]
    costs: Mapping[Pair, int]  # of every pair that may be made, moves included


@dataclass(frozen=True, slots=True)
class _Found:
    """The best of one search: its choice, window and assignment."""

    spread_nm: int
    moves: int
    choice: _Choice
    window: tuple[int, int]
    pairs: tuple[Pair, ...]


def best_match(task: Task, doubt: Doubt | None = None) -> Match | None:
    """Find the best match, None when no assignment keeps every condition.

    Args:
        task: what is to be matched.
        doubt: half-width (nm) of the 95 % interval of the difference of two assignments' spreads;
            None: sizes are taken as exact.
    """
    choices, least = _cheapest_choices(task)
    found = _narrowest(choices, least, task.cylinders)
    if found is None:
        return None
    if doubt is not None and found.moves:
        found = _bedded(choices, least, found, doubt) or found
    choice = found.choice
    costs = _within(choice, found.window)
    parts = choice.task.pistons, choice.task.barrels
    alone = {name: _MOVE * cost for name, cost in task.alone.items()}
    first = first_cheapest(task.cylinders, parts, choice.idle, costs, alone)
    pairs = found.pairs if first is None else first.pairs
    heights = {b.id: b.height_group for b in choice.task.barrels}
    pool = frozenset(p.id for p in choice.task.parts)
    return Match(pairs, _spread_nm(task, pairs), choice.bank_groups, heights, pool)


def _spread_nm(task: Task, pairs: Sequence[Pair]) -> int:
    known = [task.clearances_nm[p] for p in pairs if p in task.clearances_nm]
    return max(known, default=0) - min(known, default=0)


# ---------------------------------------------------------------- choices


def _cheapest_choices(task: Task) -> tuple[list[_Choice], int]:
    """The choices in which the least cost can be had, and that cost without moves."""
    totals = [(c, a.cost // _MOVE) for c in _choices(task) if (a := _assign(c)) is not None]
    least = min((cost for _, cost in totals), default=0)
    return [choice for choice, cost in totals if cost == least], least


def _choices(task: Task) -> Iterator[_Choice]:
    """Every choice once; sorts and variants mostly leave the same parts at the same costs."""
    seen: set[tuple[object, ...]] = set()
    tasks = (t for alike in _of_one_sort(task) for t in _labelled(alike))
    banked = (
        (t, banks)
        for labelled in tasks
        for banks in _bank_choices(labelled)
        for t in _mass_windows(labelled)
    )
    for chosen, (groups, idle) in banked:
        for costs in _variant_costs(chosen):
            key = (chosen.pistons, chosen.barrels, groups, tuple(costs.items()))
            if key not in seen:
                seen.add(key)
                yield _Choice(chosen, groups, idle, costs)


def _of_one_sort(task: Task) -> Iterator[Task]:
    """The parts of each sort, where they are enough for all cylinders that have parts at all."""
    sorts = sorted(set[str]().union(*(p.sorts for p in task.parts)))
    if not sorts:
        yield task
    for sort in sorts:
        pistons = tuple(p for p in task.pistons if not p.sorts or sort in p.sorts)
        barrels = tuple(b for b in task.barrels if not b.sorts or sort in b.sorts)
        if _enough(task, pistons, task.pistons) and _enough(task, barrels, task.barrels):
            yield replace(task, pistons=pistons, barrels=barrels)


def _enough(task: Task, some: Sequence[object], every: Sequence[object]) -> bool:
    return len(some) >= min(task.cylinders, len(every))


def _labelled(task: Task) -> Iterator[Task]:
    """The task with every way in which barrels of unknown height may turn out."""
    unknown = [n for n, b in enumerate(task.barrels) if b.height_group == "?"]
    known = sorted({b.height_group for b in task.barrels} - {"?"})
    if not task.bank_sizes or not unknown or not known:
        yield task
        return
    for groups in product(known, repeat=len(unknown)):
        turned = dict(zip(unknown, groups, strict=True))
        barrels = tuple(
            replace(b, height_group=turned.get(n, b.height_group))
            for n, b in enumerate(task.barrels)
        )
        yield replace(task, barrels=barrels)


def _bank_choices(task: Task) -> Iterator[tuple[tuple[str, ...], Counter[str]]]:
    """Height groups of the banks that the barrels allow, with how many of each stay idle."""
    spare = max(0, len(task.barrels) - task.cylinders)
    blanks = max(0, task.cylinders - len(task.barrels))
    if not task.bank_sizes:
        yield (), Counter({"": spare})
        return
    have = Counter(b.height_group for b in task.barrels)
    # Without any barrel the banks may come to have any group.
    for groups in product(sorted(have) or [""], repeat=len(task.bank_sizes)):
        need: Counter[str] = Counter()
        for group, size in zip(groups, task.bank_sizes, strict=True):
            need[group] += size
        if (need - have).total() == blanks and (have - need).total() == spare:
            yield groups, have - need


def heights_suffice(task: Task) -> bool:
    """Whether the barrels, with those still to be bought, give each bank one height group."""
    return any(True for labelled in _labelled(task) for _ in _bank_choices(labelled))


def _mass_windows(task: Task) -> Iterator[Task]:
    """The largest groups of pistons whose masses lie within the spread."""
    weighed = sorted({p.mass_mg for p in task.pistons if p.mass_mg is not None})
    if task.mass_spread_mg is None or not weighed:
        yield task
        return
    before: tuple[MatchPiston, ...] = ()
    for low_mg in weighed:
        high_mg = low_mg + task.mass_spread_mg
        inside = tuple(
            p for p in task.pistons if p.mass_mg is None or low_mg <= p.mass_mg <= high_mg
        )
        if _enough(task, inside, task.pistons) and not set(inside) <= set(before):
            yield replace(task, pistons=inside)
            before = inside


def _variant_costs(task: Task) -> Iterator[dict[Pair, int]]:
    """Costs of all pairs, moves included, for each variant that the engine may be taken for."""
    homes = {(b.home, b.id) for b in task.barrels}
    here = {p.id for p in task.pistons}, {b.id for b in task.barrels}
    pairs = [p for p in {**task.clearances_nm, **task.costs} if p[0] in here[0] and p[1] in here[1]]
    variants = {part.id: part.variants for part in task.parts}
    for variant in sorted(set[str]().union(*variants.values())) or [""]:
        strange = {name for name, known in variants.items() if known and variant not in known}
        yield {
            pair: _MOVE * (task.costs.get(pair, 0) + DOUBT * sum(name in strange for name in pair))
            + (pair not in homes)
            for pair in pairs
        }


# ---------------------------------------------------------------- the smallest spread


def _assign(choice: _Choice, costs: Mapping[Pair, int] | None = None) -> Assigned | None:
    task = choice.task
    parts = task.pistons, task.barrels
    alone = {name: _MOVE * cost for name, cost in task.alone.items()}
    some = choice.costs if costs is None else costs
    return cheapest(task.cylinders, parts, choice.idle, some, alone)


def _within(choice: _Choice, window: tuple[int, int]) -> dict[Pair, int]:
    """Costs of the pairs whose clearance lies within a window, or is not known."""
    low_nm, high_nm = window
    known = choice.task.clearances_nm
    return {
        pair: cost
        for pair, cost in choice.costs.items()
        if pair not in known or low_nm <= known[pair] <= high_nm
    }


def _narrowest(choices: Sequence[_Choice], least: int, moves_most: int) -> _Found | None:
    """The smallest spread at the least cost with at most some moves; of those the fewest moves."""
    best: _Found | None = None
    for choice in choices:
        for found in _windows(choice, least, moves_most):
            if best is None or (found.spread_nm, found.moves) < (best.spread_nm, best.moves):
                best = found
    return best


def _windows(choice: _Choice, least: int, moves_most: int) -> Iterator[_Found]:
    """For each low end the smallest high end at which such an assignment exists.

    Both ends move upwards only.
    """
    known = choice.task.clearances_nm
    values = sorted({known[pair] for pair in choice.costs if pair in known}) or [0]
    high = 0
    for low_nm in values:
        found = None
        while high < len(values) and found is None:
            found = _try(choice, (low_nm, values[high]), least, moves_most)
            high += found is None
        if found is None:
            return
        yield found


def _try(choice: _Choice, window: tuple[int, int], least: int, moves_most: int) -> _Found | None:
    if window[1] < window[0]:
        return None
    found = _assign(choice, _within(choice, window))
    if found is None or found.cost // _MOVE > least or found.cost % _MOVE > moves_most:
        return None
    return _Found(window[1] - window[0], found.cost % _MOVE, choice, window, found.pairs)


def _bedded(choices: Sequence[_Choice], least: int, best: _Found, doubt: Doubt) -> _Found | None:
    """The match of fewest moves whose spread can't be told from the smallest one."""
    fewest = min((a.cost % _MOVE for c in choices if (a := _assign(c)) is not None), default=0)
    for moves in range(fewest, best.moves):
        found = _narrowest(choices, least, moves)
        if found is None:
            continue
        if found.spread_nm - best.spread_nm <= doubt(found.pairs, best.pairs):
            return found
    return None
