"""The cheapest assignment of pistons to barrels: exact, and the same years later.

Pistons or barrels that are still to be bought stand in as blanks that fit anything. A real part
beside a blank costs `ALONE`, a blank beside a blank nothing: where both kinds are short, as many
real pairs as possible are made.
"""

from collections import Counter
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, NamedTuple, Protocol

if TYPE_CHECKING:
    from numpy import int64
    from numpy.typing import NDArray

Pair = tuple[str, str]
ALONE = 10**11  # dearer than anything a whole set of real pairs can cost
_FORBIDDEN = 10**15


class _Named(Protocol):
    @property
    def id(self) -> str: ...


class _Tall(_Named, Protocol):
    @property
    def height_group(self) -> str: ...


class Assigned(NamedTuple):
    """Pairs of piston and barrel with their cost together, that of lone parts included."""

    cost: int
    pairs: tuple[Pair, ...]


def prepare() -> None:
    """Load the solver ahead of work; the first match would wait a third of a second for it."""
    import scipy.optimize  # noqa: F401, PLC0415  heavy: only those who match pay for it


def cheapest(
    cylinders: int,
    parts: tuple[Sequence[_Named], Sequence[_Tall]],
    idle: Mapping[str, int],
    costs: Mapping[Pair, int],
    alone: Mapping[str, int] | None = None,
) -> Assigned | None:
    """The assignment of least total cost over the pairs in `costs`, None when there is none.

    Args:
        cylinders: how many pairs are wanted.
        parts: the pistons and the barrels that may be used.
        idle: how many barrels of each height group stay out; "" stands for any group.
        costs: cost of each allowed pair.
        alone: what a part costs that stands beside a blank, over `ALONE`; 0 where it is not said.
    """
    from scipy.optimize import linear_sum_assignment  # noqa: PLC0415  heavy: for who matches

    pistons, barrels = parts
    table = _table(cylinders, parts, idle, costs, alone or {})
    rows, columns = linear_sum_assignment(table)
    total = int(table[rows, columns].sum())
    if total >= _FORBIDDEN:
        return None
    pairs = tuple(
        (pistons[row].id, barrels[column].id)
        for row, column in zip(rows.tolist(), columns.tolist(), strict=True)
        if row < len(pistons) and column < len(barrels)
    )
    return Assigned(total, pairs)


def _table(
    cylinders: int,
    parts: tuple[Sequence[_Named], Sequence[_Tall]],
    idle: Mapping[str, int],
    costs: Mapping[Pair, int],
    alone: Mapping[str, int],
) -> "NDArray[int64]":
    """Costs of rows (pistons, blanks, idle places) in columns (barrels, blanks, idle places)."""
    import numpy as np  # noqa: PLC0415  heavy: only those who match pay for it

    pistons, barrels = parts
    real, some = len(pistons), len(barrels)
    blank = max(real, cylinders)
    groups = [g for g, n in idle.items() for _ in range(n)]
    width = max(some, cylinders) + max(0, real - cylinders)
    table = np.full((blank + len(groups), width), _FORBIDDEN, dtype=np.int64)
    table[:blank, some:] = 0
    for row, piston in enumerate(pistons):
        table[row, some : max(some, cylinders)] = ALONE + alone.get(piston.id, 0)
        for column, barrel in enumerate(barrels):
            table[row, column] = costs.get((piston.id, barrel.id), _FORBIDDEN)
    for column, barrel in enumerate(barrels):
        table[real:blank, column] = ALONE + alone.get(barrel.id, 0)
        for row, group in enumerate(groups, start=blank):
            if group in {barrel.height_group, ""}:
                table[row, column] = 0
    return table


def first_cheapest(
    cylinders: int,
    parts: tuple[Sequence[_Named], Sequence[_Tall]],
    idle: Mapping[str, int],
    costs: Mapping[Pair, int],
    alone: Mapping[str, int] | None = None,
) -> Assigned | None:
    """Of the cheapest assignments the first, by the order of pistons and barrels.

    So that equals are not told apart by how a library happens to search: a redo years later must
    come to the same pairs. Arguments as for `cheapest`.
    """
    found = cheapest(cylinders, parts, idle, costs, alone)
    if found is None:
        return None
    kept = dict(costs)
    for piston in parts[0]:
        for barrel in parts[1]:
            if (piston.id, barrel.id) not in kept:
                continue
            narrowed = {
                pair: cost
                for pair, cost in kept.items()
                if (pair[0] == piston.id) == (pair[1] == barrel.id)
            }
            tried = cheapest(cylinders, parts, idle, narrowed, alone)
            fits = tried is not None and (piston.id, barrel.id) in tried.pairs
            if tried is not None and fits and tried.cost == found.cost:
                kept, found = narrowed, tried
                break
    return found


def spare_count(barrels: Sequence[_Tall], cylinders: int) -> Counter[str]:
    """How many barrels stay out where height groups do not matter."""
    return Counter({"": max(0, len(barrels) - cylinders)})
