"""What the set page shows: sizes by part, bores as maps, clearances with their limits. Pure.

A clearance shown here is the plain difference of two sizes at 20 °C, in whole nm, as the rules
take it; its limits are those of the finding that judged this very value. Verdicts, doubt and
words are the rules' own.
"""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import Final

from barrelfit.dashboard.board.model import Board
from barrelfit.dashboard.board.places import feature_words
from barrelfit.dashboard.shown import SIZE_DIGITS, Shown
from barrelfit.dashboard.view.ending import SetResult, set_result
from barrelfit.dashboard.view.floor import by_name
from barrelfit.dashboard.view.verdicts import VerdictView, verdict_key, verdict_view
from barrelfit.rules.engine.catalogue import MAIN
from barrelfit.rules.events import Sized
from barrelfit.rules.manner import told
from barrelfit.rules.model import FeatureId, Finding
from barrelfit.rules.said import NOTHING, Said

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
    """One pair: smallest and largest clearance, the limits that judged them, the verdict's key."""

    pair: str
    low_nm: int
    high_nm: int
    low_limit_nm: int | None
    high_limit_nm: int | None
    text: str
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
    above = (_limit_of(findings, nm)[0] for nm in sizes.values())
    smallest = min(sizes.values())
    return next((limit - smallest for limit in above if limit and limit > smallest), None)


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
    found = []
    for about in sorted((a for a in board.state.judged if "+" in a), key=by_name):
        piston, _, barrel = about.partition("+")
        skirt = list(_sizes_of(board, piston, SKIRT).values())
        bores = list(_sizes_of(board, barrel, BORE).values())
        if not skirt or not bores:
            continue
        low, high = min(bores) - skirt[0], max(bores) - skirt[0]
        findings = board.state.judged[about].event.findings
        low_limit, low_from = _limit_of(findings, low)
        high_limit, high_from = _limit_of(findings, high)
        text = f"{shown.number(low)} … {shown.length(high)}"
        origins = dict.fromkeys(told(o, shown) for o in (low_from, high_from) if o)
        origin = " · ".join(origins)
        verdict = verdict_key(board, about)
        found.append(Clearance(about, low, high, low_limit, high_limit, text, origin, verdict))
    return found


def _limit_of(findings: Iterable[Finding], value_nm: int) -> tuple[int | None, Said]:
    for finding in findings:
        if finding.value_nm == value_nm and finding.limit_nm is not None:
            return finding.limit_nm, finding.limit_from
    return None, NOTHING


def _todo(board: Board, shown: Shown) -> tuple[VerdictView, ...]:
    """What is not simply serviceable, worst first, with what to do."""
    order = {"discard": 0, "rework": 1, "undecided": 2}
    whole = [about for about in sorted(board.state.judged, key=by_name) if board.measured(about)]
    views = [verdict_view(board, about, shown) for about in whole]
    views = [view for view in views if view.verdict in order or view.overridden]
    return tuple(sorted(views, key=lambda view: order.get(view.verdict, 3)))
