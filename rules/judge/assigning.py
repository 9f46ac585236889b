"""The cheapest assignment of pistons to barrels: exact, and the same years later.

Pistons or barrels that are still to be bought stand in as blanks that fit anything. A real part
beside a blank costs `ALONE`, a blank beside a blank nothing: where both kinds are short, as many
real pairs as possible are made.

Solved by shortest augmenting paths with prices of rows and columns (the Hungarian method: H. W.
Kuhn, Naval Research Logistics Quarterly 2, 1955, 83-97), in whole numbers of any size. Written
here, and not taken from SciPy, because that takes longer to load than a set takes to judge; the
tests hold it against SciPy's.
"""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from typing import NamedTuple, Protocol

Pair = tuple[str, str]
ALONE = 10**11  # dearer than anything a whole set of real pairs can cost
_FORBIDDEN = 10**15

_Table = list[list[int]]


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
    table = _table(cylinders, parts, idle, costs, alone or {})
    return _assigned(table, parts, _columns(table))


def first_cheapest(
    cylinders: int,
    parts: tuple[Sequence[_Named], Sequence[_Tall]],
    idle: Mapping[str, int],
    costs: Mapping[Pair, int],
    alone: Mapping[str, int] | None = None,
) -> Assigned | None:
    """Of the cheapest assignments the first, by the order of pistons and barrels.

    The first piston has the first barrel that it can have, then the second piston, and so on; so
    equals are not told apart by how they are searched. Arguments as for `cheapest`.
    """
    table = _table(cylinders, parts, idle, costs, alone or {})
    pistons, barrels = map(len, parts)
    choices = barrels + 1
    ordered = [[cost * choices**pistons for cost in line] for line in table]
    for row in range(pistons):
        place = choices ** (pistons - 1 - row)
        for column in range(len(ordered[row])):
            ordered[row][column] += place * min(column, barrels)
    return _assigned(table, parts, _columns(ordered))


def _assigned(
    table: _Table,
    parts: tuple[Sequence[_Named], Sequence[_Tall]],
    chosen: Sequence[tuple[int, int]],
) -> Assigned | None:
    total = sum(table[row][column] for row, column in chosen)
    if total >= _FORBIDDEN:
        return None
    pistons, barrels = parts
    pairs = tuple(
        (pistons[row].id, barrels[column].id)
        for row, column in chosen
        if row < len(pistons) and column < len(barrels)
    )
    return Assigned(total, pairs)


def _table(
    cylinders: int,
    parts: tuple[Sequence[_Named], Sequence[_Tall]],
    idle: Mapping[str, int],
    costs: Mapping[Pair, int],
    alone: Mapping[str, int],
) -> _Table:
    """Costs of rows (pistons, blanks, idle places) in columns (barrels, blanks, idle places)."""
    pistons, barrels = parts
    some, blank = max(len(barrels), cylinders), max(len(pistons), cylinders)
    idle_columns = max(0, len(pistons) - cylinders)
    table = []
    for piston in pistons:
        lone = ALONE + alone.get(piston.id, 0)
        line = [costs.get((piston.id, barrel.id), _FORBIDDEN) for barrel in barrels]
        table.append(line + [lone] * (some - len(barrels)) + [0] * idle_columns)
    blanks = [0] * (some - len(barrels) + idle_columns)
    bought = [ALONE + alone.get(barrel.id, 0) for barrel in barrels] + blanks
    table += [list(bought) for _ in range(blank - len(pistons))]
    for group in (g for g, n in idle.items() for _ in range(n)):
        fits = [0 if group in {barrel.height_group, ""} else _FORBIDDEN for barrel in barrels]
        table.append(fits + [_FORBIDDEN] * len(blanks))
    return table


# ---------------------------------------------------------------- the solver


def _columns(table: _Table) -> list[tuple[int, int]]:
    """The cells of least total cost, one a row and one a column, as many as there can be."""
    if not table or not table[0]:
        return []
    if len(table) > len(table[0]):
        turned = [list(column) for column in zip(*table, strict=True)]
        return sorted((row, column) for column, row in _columns(turned))
    prices = _Prices(table)
    for row in range(len(table)):
        prices.place(row)
    return sorted(prices.placed())


class _Prices:
    """Prices of rows and columns, never above a cell's cost together, and rows placed so far."""

    def __init__(self, table: _Table) -> None:
        self._table = table
        self._of_row = [0] * len(table)
        self._of_column = [0] * len(table[0])
        self._row_at: list[int | None] = [None] * len(table[0])
        self._endless = 1 + 2 * sum(map(max, table))

    def placed(self) -> Iterator[tuple[int, int]]:
        """Row and column of each row that was placed."""
        return ((row, column) for column, row in enumerate(self._row_at) if row is not None)

    def place(self, row: int) -> None:
        """Place a row more, moving others where that is the shortest way to a free column."""
        least = [self._endless] * len(self._of_column)
        came: list[int | None] = [None] * len(least)
        reached: list[int] = []
        ahead = set(range(len(least)))
        at, here = row, None
        while True:
            line, price = self._table[at], self._of_row[at]
            for column in ahead:
                rest = line[column] - price - self._of_column[column]
                if rest < least[column]:
                    least[column], came[column] = rest, here
            nearest = min(ahead, key=least.__getitem__)
            step = least[nearest]
            self._of_row[row] += step
            for column in reached:
                self._of_row[self._row_at[column]] += step  # type: ignore[index]
                self._of_column[column] -= step
            for column in ahead:
                least[column] -= step
            reached.append(nearest)
            ahead.remove(nearest)
            here = nearest
            next_row = self._row_at[nearest]
            if next_row is None:
                break
            at = next_row
        self._move(row, here, came)

    def _move(self, row: int, column: int, came: Sequence[int | None]) -> None:
        """Give the free column to the row before it on the way, that one's to the one before."""
        while (before := came[column]) is not None:
            self._row_at[column] = self._row_at[before]
            column = before
        self._row_at[column] = row


def spare_count(barrels: Sequence[_Tall], cylinders: int) -> Counter[str]:
    """How many barrels stay out where height groups do not matter."""
    return Counter({"": max(0, len(barrels) - cylinders)})
