"""The floor and gauges pages as HTML text (`templates/floor.html`)."""

from collections.abc import Sequence
from typing import Final

from barrelfit.acquire.wires.ports_found import FoundPort
from barrelfit.dashboard.html.feed import Item, Parts
from barrelfit.dashboard.html.page_html import link_to
from barrelfit.dashboard.html.templates import made, plain
from barrelfit.dashboard.view.floor import Card, FloorView, Need
from barrelfit.dashboard.view.gauges import GaugeRow
from barrelfit.dashboard.words import say

FAULTS_SHOWN: Final = 6


def floor_html() -> str:
    """The floor page, empty."""
    return made("page", "floor")


def floor_parts(view: FloorView, query: str) -> Parts:
    """The floor page's blocks and lists."""
    nothing = not view.cards and not view.trouble
    return Parts(
        blocks={
            "summary": plain(view.summary),
            "trouble": plain(view.trouble),
            "queue_empty": "" if view.queue or view.trouble else plain(say("queue_empty")),
            "nothing": made("marks", "no_bench") if nothing else "",
        },
        lists={
            "cards": [_card(card, query) for card in view.cards],
            "queue": [_need(need, query) for need in view.queue],
        },
    )


def _card(card: Card, query: str) -> Item:
    return Item(card.bench, link_to("/bench", query, id=card.bench), made("floor", "card", card))


def _need(need: Need, query: str) -> Item:
    link = link_to("/bench", query, id=need.bench)
    if need.verdict:
        link = link_to("/override", query, id=need.bench, about=need.about)
    return Item(f"{need.bench}/{need.about}", link, made("floor", "need", need))


def gauges_html() -> str:
    """The gauges page, empty."""
    return made("page", "gauges")


def gauges_parts(
    rows: tuple[GaugeRow, ...],
    ports: Sequence[FoundPort],
    trouble: str,
    helpers: Sequence[str] = (),
) -> Parts:
    """The gauges page's blocks and lists; `helpers` is what is to be said of bus, rules, board."""
    no_port = [say("no_port")]
    return Parts(
        blocks={
            "trouble": plain(trouble),
            "nothing": "" if rows else plain(say("no_gauge")),
            "helpers": made("floor", "lines", helpers or [say("helpers_well")]),
            "ports": made("floor", "ports", ports) if ports else made("floor", "lines", no_port),
        },
        lists={
            "gauges": [
                Item(f"{row.bench}/{row.name}", "", made("floor", "gauge", row, FAULTS_SHOWN))
                for row in rows
            ]
        },
    )
