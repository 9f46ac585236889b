"""What the set page shows: sizes by part, bores as maps, clearances with their limits. Pure.

A clearance shown here is the plain difference of two sizes at 20 °C, in whole nm, as the rules
take it; its limits are those of the finding that judged this very value. Verdicts, doubt and
words are the rules' own.
"""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import Final

from barrelfit.acquire.fold.sizes import standing_sizes
from barrelfit.acquire.report.clearance_drawing import ClearanceDrawn
from barrelfit.dashboard.board.model import Board
from barrelfit.dashboard.board.places import feature_words
from barrelfit.dashboard.shown import SIZE_DIGITS, Shown
from barrelfit.dashboard.view.ending import SetResult, set_result
from barrelfit.dashboard.view.floor import by_name
from barrelfit.dashboard.view.verdicts import VerdictView, verdict_key, verdict_view
from barrelfit.dashboard.words import say
from barrelfit.rules.compare import Value
from barrelfit.rules.engine.catalogue import MAIN
from barrelfit.rules.events import Sized
from barrelfit.rules.manner import told
from barrelfit.rules.model import FeatureId, Finding, Size
from barrelfit.rules.said import NOTHING, Said
from barrelfit.rules.uncertainty.budget import difference
from barrelfit.rules.uncertainty.decide import GUARD_FACTOR, guard_band_nm

BORE: Final = MAIN["barrel"].name
SKIRT: Final = MAIN["piston"].name


@dataclass(frozen=True, slots=True)
class SizeCell:
    """One size: its text, half its 95 % interval, or empty while there is none."""

    text: str = ""
    doubt: str = ""
    now: bool = False


@dataclass(frozen=True, slots=True)
class SetRow:
    """One part: its cells in the columns' order, and its verdict's key."""

    part: str
    cells: tuple[SizeCell, ...]
    verdict: str
    overridden: bool


@dataclass(frozen=True, slots=True)
class PartsTable:
    """Parts that have the same features: the columns' names, the rows, the unit of the sizes."""

    columns: tuple[str, ...]
    rows: tuple[SetRow, ...]
    sign: str


@dataclass(frozen=True, slots=True)
class BorePoint:
    """One bore size on a map: its depth's place (0 top … 1 bottom), nm above the smallest."""

    depth: str
    down: float
    above_nm: int


@dataclass(frozen=True, slots=True)
class BoreMap:
    """One barrel: a line for each direction, with the smallest size and the range as text.

    Lengths in nm count from the smallest size: `widest_nm` is what the axis of all maps reaches,
    `limit_nm` the largest size allowed, None where nothing has been judged by one.
    """

    part: str
    smallest: str
    range_text: str
    widest_nm: int
    limit_nm: int | None
    lines: tuple[tuple[str, tuple[BorePoint, ...]], ...]


@dataclass(frozen=True, slots=True)
class Clearance:
    """One pair: its clearances beside their limits and in figures, and its verdict's key.

    `ends` are its smallest and largest clearance; None while a size is missing. `origin` says
    where the limits are from.
    """

    pair: str
    ends: tuple[ClearanceDrawn, ClearanceDrawn] | None
    figures: str
    origin: str
    verdict: str


@dataclass(frozen=True, slots=True)
class SetView:
    """All of the set page."""

    tables: tuple[PartsTable, ...]
    maps: tuple[BoreMap, ...]
    clearances: tuple[Clearance, ...]
    todo: tuple[VerdictView, ...]
    result: SetResult | None


def set_view(board: Board, shown: Shown) -> SetView:
    """Work out the set page of one bench."""
    return SetView(
        tables=_tables(board, shown),
        maps=tuple(_maps(board, shown)),
        clearances=tuple(_clearances(board, shown)),
        todo=_todo(board, shown),
        result=set_result(board, shown),
    )


def _places(board: Board) -> list[FeatureId]:
    planned = [f.at for f in board.features]
    return planned + [at for at in sorted(board.state.sizes, key=str) if at not in planned]


def _tables(board: Board, shown: Shown) -> tuple[PartsTable, ...]:
    features: dict[str, list[FeatureId]] = {}
    for place in _places(board):
        features.setdefault(place.part, []).append(place)
    groups: dict[tuple[str, ...], list[str]] = {}
    for part, places in features.items():
        columns = tuple(sorted({feature_words(p) for p in places}, key=_column_order(places)))
        groups.setdefault(columns, []).append(part)
    return tuple(
        PartsTable(columns, tuple(_row(board, part, columns, shown) for part in parts), shown.sign)
        for columns, parts in groups.items()
    )


def _column_order(places: list[FeatureId]) -> Callable[[str], tuple[str, int, int]]:
    """Columns by depth as the plan first meets them, then by direction, whatever the turn order."""
    depths = list(dict.fromkeys(p.depth for p in places))
    directions = list(dict.fromkeys(p.direction for p in places))
    rank = {
        feature_words(p): (p.feature, depths.index(p.depth), directions.index(p.direction))
        for p in places
    }
    return rank.__getitem__


def _row(board: Board, part: str, columns: tuple[str, ...], shown: Shown) -> SetRow:
    sizes = {
        feature_words(at): stood.event for at, stood in board.state.sizes.items() if at.part == part
    }
    now = board.place
    cells = tuple(
        _cell(
            sizes.get(column),
            shown,
            now=now is not None and now.part == part and column == feature_words(now),
        )
        for column in columns
    )
    return SetRow(part, cells, verdict_key(board, part), part in board.state.overridden)


def _cell(sized: Sized | None, shown: Shown, *, now: bool) -> SizeCell:
    if sized is None:
        return SizeCell(now=now)
    doubt = "± " + shown.small((sized.high_nm - sized.low_nm) / 2)
    return SizeCell(shown.number(sized.size_nm, SIZE_DIGITS[shown.unit]), doubt, now)


def _sizes_of(board: Board, part: str, feature: str) -> dict[FeatureId, int]:
    return {
        at: stood.event.size_nm
        for at, stood in board.state.sizes.items()
        if (at.part, at.feature) == (part, feature)
    }


def _maps(board: Board, shown: Shown) -> list[BoreMap]:
    planned = [p for p in _places(board) if p.feature == BORE]
    parts = dict.fromkeys(p.part for p in planned)
    sized = {part: _sizes_of(board, part, BORE) for part in parts}
    limits = {part: _bore_limit(board, part, sizes) for part, sizes in sized.items() if sizes}
    spans = [max(sizes.values()) - min(sizes.values()) for sizes in sized.values() if sizes]
    widest = max([*spans, *(limit for limit in limits.values() if limit is not None)], default=0)
    maps = []
    for part, sizes in sized.items():
        if not sizes:
            continue
        smallest, largest = min(sizes.values()), max(sizes.values())
        depths = list(dict.fromkeys(p.depth for p in planned if p.part == part))
        lines = tuple(
            (direction, _line(sizes, depths, direction, smallest))
            for direction in dict.fromkeys(p.direction for p in planned if p.part == part)
        )
        maps.append(
            BoreMap(
                part,
                shown.length(smallest),
                shown.small(largest - smallest),
                widest,
                limits[part],
                lines,
            )
        )
    return maps


def _bore_limit(board: Board, part: str, sizes: Mapping[FeatureId, int]) -> int | None:
    """The largest bore allowed, above the smallest size; None where no size was judged by one."""
    stood = board.state.judged.get(part)
    findings = stood.event.findings if stood else ()
    smallest = min(sizes.values())
    above = (limit for nm in sizes.values() for limit, _ in _limits_of(findings, nm))
    return next((limit - smallest for limit in above if limit > smallest), None)


def _line(
    sizes: Mapping[FeatureId, int], depths: list[str], direction: str, smallest: int
) -> tuple[BorePoint, ...]:
    last = max(len(depths) - 1, 1)
    points = [
        BorePoint(p.depth, depths.index(p.depth) / last, nm - smallest)
        for p, nm in sizes.items()
        if p.direction == direction
    ]
    return tuple(sorted(points, key=lambda point: point.down))


def _clearances(board: Board, shown: Shown) -> list[Clearance]:
    sizes = standing_sizes(board.state)
    found = []
    for about in sorted((a for a in board.state.judged if "+" in a), key=by_name):
        piston, _, barrel = about.partition("+")
        skirt = next(
            (s for at, s in sizes.items() if (at.part, at.feature) == (piston, SKIRT)), None
        )
        bores = [s for at, s in sizes.items() if (at.part, at.feature) == (barrel, BORE)]
        verdict = verdict_key(board, about)
        if skirt is None or not bores:
            found.append(Clearance(about, None, say("clearance_none"), "", verdict))
            continue
        bores.sort(key=lambda size: size.size_nm)
        low, low_from = _held(board, about, (bores[0], skirt), largest=False)
        high, high_from = _held(board, about, (bores[-1], skirt), largest=True)
        figures = f"{shown.number(low.nm)} … {shown.length(high.nm)}"
        origins = dict.fromkeys(told(o, shown) for o in (low_from, high_from) if o)
        found.append(Clearance(about, (low, high), figures, " · ".join(origins), verdict))
    return found


def _held(
    board: Board, about: str, sizes: tuple[Size, Size], *, largest: bool
) -> tuple[ClearanceDrawn, Said]:
    """A clearance as the rules hold it against its limit, and where that is from.

    Where a bore is so round that both clearances are one number, `largest` tells which is meant.
    """
    bore, skirt = sizes
    guard = board.state.opened.guard_factor if board.state.opened is not None else GUARD_FACTOR
    budget = difference(bore.budget, skirt.budget)
    value = Value.of_budget(bore.size_nm - skirt.size_nm, budget, guard)
    found = _limits_of(board.state.judged[about].event.findings, value.nm)
    found.sort(key=lambda limit: limit[0], reverse=largest)
    limit_nm, origin = found[0] if found else (None, NOTHING)
    guard_nm = guard_band_nm(value.u_nm, guard, value.dof)
    return ClearanceDrawn(value.nm, value.expanded_nm, limit_nm, guard_nm), origin


def _limits_of(findings: Iterable[Finding], value_nm: int) -> list[tuple[int, Said]]:
    """The limits by which a value was judged, with their origins."""
    return [
        (finding.limit_nm, finding.limit_from)
        for finding in findings
        if finding.value_nm == value_nm and finding.limit_nm is not None
    ]


def _todo(board: Board, shown: Shown) -> tuple[VerdictView, ...]:
    """What is not simply serviceable, worst first, with what to do."""
    order = {"discard": 0, "rework": 1, "undecided": 2}
    whole = [about for about in sorted(board.state.judged, key=by_name) if board.measured(about)]
    views = [verdict_view(board, about, shown) for about in whole]
    views = [view for view in views if view.verdict in order or view.overridden]
    return tuple(sorted(views, key=lambda view: order.get(view.verdict, 3)))
