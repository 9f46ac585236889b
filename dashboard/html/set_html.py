"""The set page as HTML text with SVG charts (`templates/set.html`)."""

from collections.abc import Sequence
from typing import Any, Final

from markupsafe import Markup

from barrelfit.acquire.report.clearance_drawing import PairDrawn, clearance_drawings
from barrelfit.acquire.report.drawn import made as drawn
from barrelfit.dashboard.html.engine import engine_html
from barrelfit.dashboard.html.feed import Item, Parts
from barrelfit.dashboard.html.page_html import link_to
from barrelfit.dashboard.html.templates import made, plain
from barrelfit.dashboard.shown import Shown
from barrelfit.dashboard.view.ending import SetResult
from barrelfit.dashboard.view.floor import Card
from barrelfit.dashboard.view.set import BoreMap, Clearance, SetView
from barrelfit.dashboard.words import say, say_or_raw

MAP_HEIGHT: Final = 150


def set_html() -> str:
    """The set page, empty."""
    return made("page", "set")


def choice_html() -> str:
    """The set page while no bench was chosen, empty."""
    return made("page", "which_set")


def set_parts(view: SetView, title: str, job: str, trouble: str, shown: Shown) -> Parts:
    """The set page's blocks."""
    return Parts(
        blocks={
            "title": plain(title),
            "job": plain(job),
            "trouble": plain(trouble),
            "tables": made("set", "tables", view.tables),
            "maps": _maps(view.maps, shown) or _none("no_bore"),
            "clearances": _clearances(view.clearances, shown) or _none("no_clearance"),
            "todo": made("set", "todo", view.todo) or _none("nothing_to_do"),
            "pairing": _pairing(view.result) if view.result else "",
        }
    )


def bench_choice(benches: Sequence[Card], query: str) -> Parts:
    """The set page before a bench was chosen: links to each bench's set."""
    items = [
        Item(card.bench, link_to("/set", query, id=card.bench), made("set", "choice", card))
        for card in benches
    ]
    nothing = "" if benches else made("marks", "no_bench")
    title = plain(say("bench_which") if benches else say("page_set"))
    return Parts(blocks={"title": title, "nothing": nothing}, lists={"benches": items})


def _none(key: str) -> str:
    return made("marks", "quiet", key)


def _clearances(pairs: tuple[Clearance, ...], shown: Shown) -> str:
    """The pairs, drawn by the report's own code in the board's colours (`bench.css`)."""
    if not pairs:
        return ""
    rows = [PairDrawn(p.pair, p.figures, p.ends, p.verdict, _word(p.verdict)) for p in pairs]
    drawings = [drawn("report", "drawing", one) for one in clearance_drawings(rows, shown)]
    origins = list(dict.fromkeys(pair.origin for pair in pairs if pair.origin))
    return made("set", "clearances", [Markup(one) for one in drawings], origins)  # noqa: S704  a template made it


def _word(verdict: str) -> str:
    return say("not_yet") if verdict == "none" else say_or_raw(verdict)


def _maps(maps: Sequence[BoreMap], shown: Shown) -> str:
    return made("set", "bores", [_map(bore, shown) for bore in maps], MAP_HEIGHT)


def _map(bore: BoreMap, shown: Shown) -> dict[str, Any]:
    """A barrel's bore from the head down: how far each place is above the smallest size."""
    wide = max(bore.widest_nm, 2_000)

    def x(above_nm: int) -> float:
        return 20 + 120 * above_nm / wide

    lines = []
    for direction, points in bore.lines:
        places = [(x(p.above_nm), 14 + MAP_HEIGHT * p.down) for p in points]
        spots = [(f"{x:.1f}", f"{y:.1f}") for x, y in places]
        path = " L ".join(f"{x} {y}" for x, y in spots)
        lines.append({"direction": direction, "path": path, "spots": spots})
    depths = {p.depth: p.down for _, points in bore.lines for p in points}
    return {
        "part": bore.part,
        "smallest": bore.smallest,
        "range": bore.range_text,
        "axis": shown.small(wide),
        "limit": None if bore.limit_nm is None else f"{x(bore.limit_nm):.1f}",
        "lines": lines,
        "depths": [(depth, f"{20 + MAP_HEIGHT * down:.0f}") for depth, down in depths.items()],
    }


def _pairing(result: SetResult) -> str:
    return made("set", "pairing", result, engine_html(result.seats))
