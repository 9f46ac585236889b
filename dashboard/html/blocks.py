"""The bench page's blocks as HTML text (`templates/bench.html`)."""

from barrelfit.dashboard.board.places import place_words, short_names
from barrelfit.dashboard.html.picture import part_picture
from barrelfit.dashboard.html.templates import made, plain
from barrelfit.dashboard.view.bench import BenchView, PartRow, VerdictView
from barrelfit.dashboard.words import say

REASONS_SHOWN = 2
ONE_LINE_MOST = 10


def bench_blocks(view: BenchView) -> dict[str, str]:
    """Blocks by the id of the element they fill."""
    return {
        "name": plain(say("bench", bench=view.bench)),
        "job": plain(view.job),
        "trouble": plain(view.trouble),
        "note": plain(view.note),
        "ask": made("bench", "ask", view),
        "where": plain(_where(view)),
        "picture": _picture(view),
        "passes": made("bench", "passes", view.passes),
        "result": _result(view),
        "verdict": verdict_html(view.verdict),
        "parts": _parts(view.parts),
    }


def _result(view: BenchView) -> str:
    """How to answer while a fact is asked for; else the last size or refusal."""
    if view.telling.fact is not None:
        return made("bench", "telling", view.telling)
    return made("bench", "result", view.result) if view.result else ""


def _where(view: BenchView) -> str:
    if view.place is None and view.pairing is not None:
        return say("pairing")
    return place_words(view.place)


def _picture(view: BenchView) -> str:
    """The part with its feature; once nothing is left to measure, which piston goes where."""
    if view.place is not None:
        return part_picture(view.place, view.edge, view.levels, view.directions)
    return made("bench", "pairs", view.pairing) if view.pairing else ""


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
