"""The bench page's blocks as HTML text (`templates/bench.html`)."""

from barrelfit.dashboard.board.places import short_names
from barrelfit.dashboard.html.engine import engine_html
from barrelfit.dashboard.html.page_html import link_to
from barrelfit.dashboard.html.picture import part_picture
from barrelfit.dashboard.html.templates import made, plain
from barrelfit.dashboard.view.bench import BenchView, PartRow
from barrelfit.dashboard.view.ending import SetResult
from barrelfit.dashboard.view.verdicts import VerdictView
from barrelfit.dashboard.words import say

REASONS_SHOWN = 2
ONE_LINE_MOST = 10


def bench_blocks(view: BenchView) -> dict[str, str]:
    """Blocks by the id of the element they fill."""
    answer = view.answer
    return {
        "name": plain(say("bench", bench=view.bench)),
        "job": plain(view.job),
        "trouble": plain(view.trouble),
        "note": plain(view.note),
        "caution": plain(view.caution),
        "ask": made("bench", "ask", view.ask, *_pages(view.bench, "/jobs", "/entry")),
        "telling": made("bench", "telling", view.telling),
        "picture": _picture(view),
        "passes": made("bench", "passes", view.passes),
        "answer": made("bench", "answer", answer) if answer else "",
        "strip": made("bench", "strip", answer) if answer else "",
        "set": _set(view.result) if view.result else "",
        "parts": _parts(view.parts),
    }


def _pages(bench: str, *pages: str) -> tuple[str, ...]:
    return tuple(link_to(page, "", id=bench) for page in pages)


def _picture(view: BenchView) -> str:
    """The part with its feature; a fact's answers while one is asked for."""
    if view.place is None:
        return ""
    if view.telling.fact is not None:
        return made("bench", "answers", view.telling, *_pages(view.bench, "/parts"))
    return part_picture(view.place, view.edge, view.levels, view.directions)


def _set(result: SetResult) -> str:
    """What became of the set, with the engine as it would be put together."""
    return made("bench", "set", result, engine_html(result.seats))


def verdict_html(verdict: VerdictView | None) -> str:
    """The verdict as word, shape and colour, with its reasons."""
    return made("bench", "verdict", verdict, REASONS_SHOWN)


def _parts(rows: tuple[PartRow, ...]) -> str:
    """The set's progress: in one line, or pistons above barrels when there are many."""
    kinds: dict[tuple[str, ...], list[PartRow]] = {}
    for row in rows:
        kinds.setdefault(tuple(cell.label for cell in row.cells), []).append(row)
    short: dict[str, str] = {}
    for alike in kinds.values():
        names = [row.part for row in alike]
        short |= dict(zip(names, short_names(names), strict=True))
    many = len(rows) > ONE_LINE_MOST
    columns = -(-len(rows) // 2) if many else max(len(rows), 1)
    return made("bench", "parts", [(row, short[row.part]) for row in rows], columns, many)
