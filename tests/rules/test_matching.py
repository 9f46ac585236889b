"""Matching against brute force and against published assignment examples."""

import random
from collections import Counter
from itertools import combinations, permutations, product

import pytest
from scipy.optimize import linear_sum_assignment

from barrelfit.rules.judge.assigning import cheapest, first_cheapest
from barrelfit.rules.judge.matching import Match, MatchBarrel, MatchPiston, Task, best_match

F = None  # a forbidden pair in the published tables below

# Costs and optima as published: SciPy's documentation of linear_sum_assignment; SciPy's own tests
# of minimum weight full bipartite matching (csgraph/tests/test_matching.py); the assignment guide
# of Google OR-Tools ("Solving an Assignment Problem": five workers, four tasks, 265).
PUBLISHED = [
    ("scipy docstring", [[4, 1, 3], [2, 0, 5], [3, 2, 2]], 5),
    ("scipy tests 1", [[400, 150, 400], [400, 450, 600], [300, 225, 300]], 850),
    ("scipy tests 2", [[400, 150, 400, 1], [400, 450, 600, 2], [300, 225, 300, 3]], 452),
    ("scipy tests 3", [[10, 10, 8], [9, 8, 1], [9, 7, 4]], 18),
    ("scipy tests 4", [[10, 10, 8, 11], [9, 8, 1, 1], [9, 7, 4, 10]], 15),
    ("scipy tests 5", [[10, F, F], [F, F, 1], [F, 7, F]], 18),
    (
        "OR-Tools guide",
        [
            [90, 80, 75, 70],
            [35, 85, 55, 65],
            [125, 95, 90, 95],
            [45, 110, 95, 115],
            [50, 100, 90, 100],
        ],
        265,
    ),
]


@pytest.mark.parametrize(("name", "table", "optimum"), PUBLISHED, ids=[p[0] for p in PUBLISHED])
def test_published_assignment(name, table, optimum):
    rows, columns = len(table), len(table[0])
    pistons = tuple(MatchPiston(f"P{r}") for r in range(rows))
    barrels = tuple(MatchBarrel(f"B{c}") for c in range(columns))
    costs = {
        (f"P{r}", f"B{c}"): table[r][c]
        for r in range(rows)
        for c in range(columns)
        if table[r][c] is not F
    }
    idle = Counter({"": max(0, columns - rows)})
    found = cheapest(min(rows, columns), (pistons, barrels), idle, costs)
    assert found is not None
    assert len(found.pairs) == min(rows, columns)
    assert sum(costs[p] for p in found.pairs) == found.cost == optimum


@pytest.mark.parametrize("most", [1, 9, 10**6])
def test_total_cost_is_that_of_scipys_solver(most: int) -> None:
    chance = random.Random(most)  # noqa: S311  a seeded draw
    for _ in range(100):
        rows, columns = chance.randint(1, 9), chance.randint(1, 9)
        table = [[chance.randint(0, most) for _ in range(columns)] for _ in range(rows)]
        pistons = tuple(MatchPiston(f"P{r}") for r in range(rows))
        barrels = tuple(MatchBarrel(f"B{c}") for c in range(columns))
        costs = {
            (p.id, b.id): x
            for p, row in zip(pistons, table, strict=True)
            for b, x in zip(barrels, row, strict=True)
        }
        idle = Counter({"": max(0, columns - rows)})
        found = cheapest(min(rows, columns), (pistons, barrels), idle, costs)
        chosen = linear_sum_assignment(table)
        assert found is not None
        assert found.cost == sum(table[r][c] for r, c in zip(*chosen, strict=True))


@pytest.mark.parametrize(("rows", "columns"), [(3, 3), (4, 3), (3, 4)])
def test_of_equals_the_first_is_taken(rows: int, columns: int) -> None:
    """The first piston has the first barrel it can have: against every assignment, one by one."""
    chance = random.Random(rows * 10 + columns)  # noqa: S311  a seeded draw
    cylinders = min(rows, columns)
    names = [f"P{r}" for r in range(rows)], [f"B{c}" for c in range(columns)]
    parts = [MatchPiston(n) for n in names[0]], [MatchBarrel(n) for n in names[1]]
    for _ in range(100):
        costs = {pair: chance.randint(0, 2) for pair in product(*names) if chance.random() < 0.8}
        found = first_cheapest(cylinders, parts, Counter({"": columns - cylinders}), costs)
        every = [
            tuple(zip(chosen, order, strict=True))
            for chosen in combinations(names[0], cylinders)
            for order in permutations(names[1], cylinders)
        ]
        whole = [pairs for pairs in every if all(pair in costs for pair in pairs)]
        if not whole:
            continue
        least = min(sum(costs[pair] for pair in pairs) for pairs in whole)
        alike = [p for p in whole if sum(costs[pair] for pair in p) == least]
        ranks = [
            [names[1].index(dict(p).get(n, names[1][-1])) + (n not in dict(p)) for n in names[0]]
            for p in alike
        ]
        assert found is not None
        assert found.pairs == alike[ranks.index(min(ranks))]


def _brute(task: Task) -> int | None:
    """The smallest spread over every choice of pistons, barrels and order, None when none is."""
    best = None
    for chosen in combinations(task.pistons, task.cylinders):
        masses = [p.mass_mg for p in chosen if p.mass_mg is not None]
        if task.mass_spread_mg is not None and max(masses) - min(masses) > task.mass_spread_mg:
            continue
        for barrels in combinations(task.barrels, task.cylinders):
            if task.bank_sizes and not _banks_can(task, [b.height_group for b in barrels]):
                continue
            for order in permutations(barrels):
                pairs = [(p.id, b.id) for p, b in zip(chosen, order, strict=True)]
                if all(p in task.clearances_nm for p in pairs):
                    values = [task.clearances_nm[p] for p in pairs]
                    spread = max(values) - min(values)
                    best = spread if best is None else min(best, spread)
    return best


def _banks_can(task: Task, groups: list[str]) -> bool:
    wanted = Counter(groups)
    for choice in product(set(groups), repeat=len(task.bank_sizes)):
        need: Counter[str] = Counter()
        for group, size in zip(choice, task.bank_sizes, strict=True):
            need[group] += size
        if need == wanted:
            return True
    return False


def _random_task(rng: random.Random) -> Task:
    count = rng.choice((4, 4, 5, 6) if rng.random() < 0.6 else (4,))
    spares = (rng.randint(0, 1), rng.randint(0, 1)) if count == 4 else (0, 0)
    skirts = [84_940_000 - rng.randint(0, 40) * 1000 for _ in range(count + spares[0])]
    bores = [85_000_000 + rng.randint(0, 60) * 1000 for _ in range(count + spares[1])]
    low_nm, high_nm = 60_000, rng.choice((90_000, 120_000, 150_000))
    clearances = {
        (f"P{i}", f"B{j}"): bore - skirt
        for i, skirt in enumerate(skirts)
        for j, bore in enumerate(bores)
        if low_nm <= bore - skirt <= high_nm
    }
    return Task(
        cylinders=count,
        pistons=tuple(MatchPiston(f"P{i}", rng.randint(0, 8) * 1000) for i in range(len(skirts))),
        barrels=tuple(MatchBarrel(f"B{j}", rng.choice("12"), f"P{j}") for j in range(len(bores))),
        clearances_nm=clearances,
        bank_sizes=(count // 2, count - count // 2) if rng.random() < 0.5 else (),
        mass_spread_mg=rng.choice((None, 5000, 7000)),
    )


def _legal(task: Task, match: Match) -> bool:
    pistons, barrels = [p for p, _ in match.pairs], [b for _, b in match.pairs]
    masses = [p.mass_mg for p in task.pistons if p.id in pistons]
    groups = [b.height_group for b in task.barrels if b.id in barrels]
    return (
        len(set(pistons)) == len(set(barrels)) == task.cylinders
        and all(pair in task.clearances_nm for pair in match.pairs)
        and (task.mass_spread_mg is None or max(masses) - min(masses) <= task.mass_spread_mg)
        and (not task.bank_sizes or _banks_can(task, groups))
    )


@pytest.mark.slow
def test_matching_equals_brute_force_on_1000_sets():
    seed = 20_260
    rng = random.Random(seed)  # noqa: S311
    possible = 0
    for number in range(1000):
        task = _random_task(rng)
        match, best = best_match(task), _brute(task)
        where = f"seed {seed}, set {number}"
        assert (match is None) == (best is None), where
        if match is not None:
            possible += 1
            assert match.spread_nm == best, where
            assert _legal(task, match), where
    assert 200 < possible < 950, f"{possible} sets could be matched: the sets no longer try both"


def test_of_equal_spreads_the_one_that_moves_least_is_taken():
    pistons = tuple(MatchPiston(f"P{i}") for i in range(4))
    barrels = tuple(MatchBarrel(f"B{i}", "", f"P{i}") for i in range(4))
    same = {(p.id, b.id): 80_000 for p in pistons for b in barrels}
    match = best_match(Task(4, pistons, barrels, same))
    assert match is not None
    assert set(match.pairs) == {(f"P{i}", f"B{i}") for i in range(4)}


def test_a_missing_piston_leaves_one_barrel_alone():
    pistons = tuple(MatchPiston(f"P{i}") for i in range(3))
    barrels = tuple(MatchBarrel(f"B{i}", "", f"P{i}") for i in range(4))
    clearances = {(p.id, b.id): 80_000 + 1000 * int(b.id[1]) for p in pistons for b in barrels}
    match = best_match(Task(4, pistons, barrels, clearances))
    assert match is not None
    assert len(match.pairs) == 3
    assert match.spread_nm == 2000


def test_of_equals_the_first_by_the_order_of_parts_is_taken():
    """All 24 assignments are equal: nobody has a home, all clearances are the same."""
    pistons = tuple(MatchPiston(f"P{i}") for i in range(4))
    barrels = tuple(MatchBarrel(f"B{i}") for i in range(4))
    same = {(p.id, b.id): 80_000 for p in pistons for b in barrels}
    match = best_match(Task(4, pistons, barrels, same))
    assert match is not None
    assert match.pairs == tuple((f"P{i}", f"B{i}") for i in range(4))
    turned = best_match(Task(4, pistons, barrels[::-1], dict(reversed(same.items()))))
    assert turned is not None
    assert turned.pairs == tuple((f"P{i}", f"B{3 - i}") for i in range(4))


@pytest.mark.slow
@pytest.mark.timeout(10)
def test_twelve_cylinders_with_spares_and_side_conditions():
    rng = random.Random(7)  # noqa: S311
    skirts = [84_940_000 - rng.randint(0, 60_000) for _ in range(14)]
    bores = [85_000_000 + rng.randint(0, 60_000) for _ in range(14)]
    task = Task(
        cylinders=12,
        pistons=tuple(MatchPiston(f"P{i}", rng.randint(0, 6000)) for i in range(14)),
        barrels=tuple(MatchBarrel(f"B{i}", "12"[i % 2], f"P{i}") for i in range(14)),
        clearances_nm={
            (f"P{i}", f"B{j}"): b - s for i, s in enumerate(skirts) for j, b in enumerate(bores)
        },
        bank_sizes=(6, 6),
        mass_spread_mg=5500,
    )
    match = best_match(task)
    assert match is not None
    assert _legal(task, match)
