"""Which piston runs in which barrel: the exact optimum, or the fewest limits that must break.

The task is an assignment. Wanted is the one with every clearance allowed and the smallest spread
(largest less smallest clearance); of those, the one that leaves the most pistons in the barrels
they came with. Side conditions: barrels of one height group in each bank, and masses within their
spread. They are met by trying every choice of height groups for the banks and every window of
masses (few, and fixed when there are no spares); inside a choice, the spread is minimised by moving
a window over the sorted clearances, with one assignment for each step. That is exact.

Pistons or barrels that are still to be bought stand in as blanks that fit anything.
"""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import product

Pair = tuple[str, str]
_FORBIDDEN = 10**9


@dataclass(frozen=True, slots=True)
class Piston:
    """A piston to be matched; `mass_mg` None leaves its mass out of the spread."""

    id: str
    mass_mg: int | None = None


@dataclass(frozen=True, slots=True)
class Barrel:
    """A barrel to be matched; `home` is the piston it came with."""

    id: str
    height_group: str = ""
    home: str = ""


@dataclass(frozen=True, slots=True)
class Task:
    """What is to be matched.

    `clearances_nm` holds the allowed pairs alone. `bank_sizes` are the cylinders of each bank when
    a bank needs barrels of one height group, else empty. `mass_spread_mg` None: no such limit.
    """

    cylinders: int
    pistons: tuple[Piston, ...]
    barrels: tuple[Barrel, ...]
    clearances_nm: Mapping[Pair, int]
    bank_sizes: tuple[int, ...] = ()
    mass_spread_mg: int | None = None


@dataclass(frozen=True, slots=True)
class Match:
    """An assignment: pairs of piston and barrel, its spread in nm, a height group for each bank."""

    pairs: tuple[Pair, ...]
    spread_nm: int
    bank_groups: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class _Choice:
    """One choice of height groups for the banks, and of pistons whose masses go together."""

    bank_groups: tuple[str, ...]
    idle: Counter[str]
    pistons: tuple[Piston, ...]


def best_match(task: Task) -> Match | None:
    """Find the match of smallest spread, None when no assignment keeps every condition."""
    windows = [(choice, window) for choice in _choices(task) for window in _windows(task, choice)]
    if not windows:
        return None
    spread_nm = min(high - low for _, (low, high) in windows)
    narrowest = [(c, w) for c, w in windows if w[1] - w[0] == spread_nm]
    costs = [_moves(task, window) for _, window in narrowest]
    totals = [
        sum(cost[p] for p in cheapest_pairs(task, choice.pistons, choice.idle, cost) or ())
        for (choice, _), cost in zip(narrowest, costs, strict=True)
    ]
    first = totals.index(min(totals))
    choice = narrowest[first][0]
    pairs = first_cheapest(task, choice.pistons, choice.idle, costs[first])
    return None if pairs is None else Match(pairs, spread_nm, choice.bank_groups)


def _choices(task: Task) -> Iterator[_Choice]:
    for groups, idle in _bank_choices(task):
        for pistons in _mass_windows(task):
            yield _Choice(groups, idle, pistons)


def _bank_choices(task: Task) -> Iterator[tuple[tuple[str, ...], Counter[str]]]:
    """Height groups of the banks that the barrels allow, with how many of each stay idle."""
    spare = max(0, len(task.barrels) - task.cylinders)
    blanks = max(0, task.cylinders - len(task.barrels))
    if not task.bank_sizes:
        yield (), Counter({"": spare})
        return
    have = Counter(b.height_group for b in task.barrels)
    for groups in product(sorted(have), repeat=len(task.bank_sizes)):
        need: Counter[str] = Counter()
        for group, size in zip(groups, task.bank_sizes, strict=True):
            need[group] += size
        if (need - have).total() == blanks and (have - need).total() == spare:
            yield groups, have - need


def _mass_windows(task: Task) -> Iterator[tuple[Piston, ...]]:
    """The largest groups of pistons whose masses lie within the spread."""
    weighed = sorted({p.mass_mg for p in task.pistons if p.mass_mg is not None})
    if task.mass_spread_mg is None or not weighed:
        yield task.pistons
        return
    needed = min(task.cylinders, len(task.pistons))
    before: tuple[Piston, ...] = ()
    for low_mg in weighed:
        high_mg = low_mg + task.mass_spread_mg
        inside = tuple(
            p for p in task.pistons if p.mass_mg is None or low_mg <= p.mass_mg <= high_mg
        )
        if len(inside) >= needed and not set(inside) <= set(before):
            yield inside
            before = inside


def _windows(task: Task, choice: _Choice) -> Iterator[tuple[int, int]]:
    """For each low end the smallest high end at which an assignment exists, both clearances in nm.

    Both ends move upwards only.
    """
    here = {p.id for p in choice.pistons}
    values = sorted({c for (p, _), c in task.clearances_nm.items() if p in here}) or [0]
    high = 0
    for low_nm in values:
        high_nm = _lowest_high(task, choice, low_nm, values[high:])
        if high_nm is None:
            return
        high = values.index(high_nm)
        yield low_nm, high_nm


def _lowest_high(task: Task, choice: _Choice, low_nm: int, highs: Sequence[int]) -> int | None:
    """The smallest high end (by halving) at which an assignment exists, None when none does."""
    if not highs or _assign(task, choice, (low_nm, highs[-1])) is None:
        return None
    left, right = 0, len(highs) - 1
    while left < right:
        middle = (left + right) // 2
        if _assign(task, choice, (low_nm, highs[middle])) is None:
            left = middle + 1
        else:
            right = middle
    return highs[left]


def _assign(task: Task, choice: _Choice, window: tuple[int, int]) -> tuple[Pair, ...] | None:
    """An assignment with every clearance within the window."""
    return cheapest_pairs(task, choice.pistons, choice.idle, _moves(task, window))


def _moves(task: Task, window: tuple[int, int]) -> dict[Pair, int]:
    """Cost of each pair within a window of clearances: 1 when it moves a piston from its barrel."""
    homes = {(b.home, b.id) for b in task.barrels}
    low_nm, high_nm = window
    return {
        pair: 0 if pair in homes else 1
        for pair, clearance_nm in task.clearances_nm.items()
        if low_nm <= clearance_nm <= high_nm
    }


def first_cheapest(
    task: Task, pistons: Sequence[Piston], idle: Counter[str], costs: Mapping[Pair, int]
) -> tuple[Pair, ...] | None:
    """Of the cheapest assignments the first, by the order of pistons and barrels.

    So that equals are not told apart by how a library happens to search: a redo years later must
    come to the same pairs. Arguments as for `cheapest_pairs`.
    """
    found = cheapest_pairs(task, pistons, idle, costs)
    if found is None:
        return None
    total = sum(costs[pair] for pair in found)
    kept = dict(costs)
    for piston in pistons:
        for barrel in task.barrels:
            if (piston.id, barrel.id) not in kept:
                continue
            narrowed = {
                pair: cost
                for pair, cost in kept.items()
                if (pair[0] == piston.id) == (pair[1] == barrel.id)
            }
            tried = cheapest_pairs(task, pistons, idle, narrowed)
            fits = tried is not None and (piston.id, barrel.id) in tried
            if tried is not None and fits and sum(costs[pair] for pair in tried) == total:
                kept, found = narrowed, tried
                break
    return found


def prepare() -> None:
    """Load the solver ahead of work; the first match would wait a third of a second for it."""
    import scipy.optimize  # noqa: F401, PLC0415  heavy: only those who match pay for it


def cheapest_pairs(
    task: Task, pistons: Sequence[Piston], idle: Counter[str], costs: Mapping[Pair, int]
) -> tuple[Pair, ...] | None:
    """The assignment of least total cost over the pairs in `costs`, None when there is none.

    Args:
        task: the task; its clearances are not looked at.
        pistons: the pistons that may be used.
        idle: how many barrels of each height group stay out.
        costs: cost of each allowed pair.
    """
    import numpy as np  # noqa: PLC0415  heavy: only those who match pay for it
    from scipy.optimize import linear_sum_assignment  # noqa: PLC0415

    count, barrels = task.cylinders, task.barrels
    blank_pistons = max(0, count - len(pistons))
    blank_barrels = max(0, count - len(barrels))
    groups = [g for g, n in idle.items() for _ in range(n)]
    idle_pistons = max(0, len(pistons) - count)
    size = len(pistons) + blank_pistons + len(groups)
    table = np.full((size, len(barrels) + blank_barrels + idle_pistons), _FORBIDDEN, dtype=np.int64)
    for row, piston in enumerate(pistons):
        for column, barrel in enumerate(barrels):
            table[row, column] = costs.get((piston.id, barrel.id), _FORBIDDEN)
    table[: len(pistons), len(barrels) :] = 0
    table[len(pistons) : len(pistons) + blank_pistons, : len(barrels) + blank_barrels] = 0
    for row, group in enumerate(groups, start=len(pistons) + blank_pistons):
        for column, barrel in enumerate(barrels):
            if group in {barrel.height_group, ""}:
                table[row, column] = 0
    rows, columns = linear_sum_assignment(table)
    if int(table[rows, columns].sum()) >= _FORBIDDEN:
        return None
    return tuple(
        (pistons[row].id, barrels[column].id)
        for row, column in zip(rows.tolist(), columns.tolist(), strict=True)
        if row < len(pistons) and column < len(barrels)
    )
