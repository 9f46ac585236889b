"""The floor and gauges pages as HTML text; every word from the bus is escaped here."""

from collections.abc import Sequence
from html import escape
from typing import Final

from barrelfit.acquire.wires.ports_found import FoundPort
from barrelfit.dashboard.html.feed import Item, Parts
from barrelfit.dashboard.html.page_html import link_to, sound_buttons
from barrelfit.dashboard.html.picture import mark, shape, state_class, tone
from barrelfit.dashboard.view.floor import Card, FloorView, GaugeLine, WaitingLine
from barrelfit.dashboard.view.gauges import GaugeRow
from barrelfit.dashboard.words import say, say_or_raw

FAULTS_SHOWN: Final = 6
NAME_LONG: Final = 13


def floor_html() -> str:
    """The floor page, empty."""
    return f"""<div class="board floor" data-live="no">
<header><b>{escape(say("page_floor"))}</b><span class="grow" data-id="summary"></span>
{sound_buttons()}<span data-id="nav"></span></header>
<div class="strip"><div class="banner empty" data-id="trouble" role="alert"></div>
<div class="banner server empty" data-id="server" role="alert"></div></div>
<div class="two"><div class="cards" data-list="cards"></div>
<aside><h2>{escape(say("queue"))}</h2><div class="queue" data-list="queue"></div>
<p class="quiet" data-id="queue_empty"></p></aside></div>
<div class="empty-page" data-id="nothing"></div>
<div class="cue" data-id="cue" aria-live="polite"></div></div>
"""


def floor_parts(view: FloorView, query: str) -> Parts:
    """The floor page's blocks and lists."""
    nothing = ""
    if not view.cards and not view.trouble:
        nothing = no_bench()
    return Parts(
        blocks={
            "summary": escape(view.summary),
            "trouble": escape(view.trouble),
            "queue_empty": "" if view.queue or view.trouble else escape(say("queue_empty")),
            "nothing": nothing,
        },
        lists={
            "cards": [_card(card, query) for card in view.cards],
            "queue": [_waiting(entry, query) for entry in view.queue],
        },
    )


def _card(card: Card, query: str) -> Item:
    about = f"<b>{escape(card.about)}</b> {escape(say_or_raw(card.verdict))}"
    word = about if card.about else escape(say("none"))
    foot = "".join(_gauge(gauge) for gauge in card.gauges)
    if card.alarm:
        foot = f'<div class="alarm">{escape(card.alarm)}</div>'
    html = (
        f'<div class="top"><b class="{"long" if len(card.bench) > NAME_LONG else "short"}">'
        f"{escape(card.bench)}</b>"
        f"{_state(card.state)}</div>"
        f'<div class="doing">{escape(card.doing)}</div>'
        f"{done_bar(card)}"
        f'<div class="last {tone(card.verdict)} tone">{shape(card.verdict)}'
        f"<span>{word}</span></div>"
        f'<div class="foot">{foot}</div>'
    )
    return Item(card.bench, link_to("/bench", query, id=card.bench), html)


def done_bar(card: Card) -> str:
    """How much of a bench's set is measured, as a bar and in words."""
    return (
        f'<div class="done"><div class="bar"><i style="width:{100 * card.share:.1f}%"></i></div>'
        f"<small>{escape(card.progress)}</small></div>"
    )


def no_bench() -> str:
    """What a page says that has no bench to show."""
    return f"<h2>{escape(say('no_bench'))}</h2><p>{escape(say('no_bench_more'))}</p>"


def _state(state: str) -> str:
    word = escape(say_or_raw(state))
    return f'<span class="state {state_class(state)}">{mark(state)}{word}</span>'


def _gauge(gauge: GaugeLine) -> str:
    return (
        f'<div class="g {state_class(gauge.state)}">{mark(gauge.state)}'
        f"<span>{escape(gauge.name)}</span>"
        f"<em>{escape(gauge.age or say_or_raw(gauge.state))}</em></div>"
    )


def _waiting(entry: WaitingLine, query: str) -> Item:
    asked = f'<p class="asked">{escape(entry.asked)}</p>' if entry.asked else ""
    html = (
        f'<div class="{tone(entry.verdict)} tone">{shape(entry.verdict)}</div><div>'
        f"<b>{escape(entry.about)}</b> <small>{escape(entry.bench)}</small>"
        f"<p>{escape(entry.sentence)}</p>{asked}</div>"
    )
    key = f"{entry.bench}/{entry.about}"
    return Item(key, link_to("/override", query, id=entry.bench, about=entry.about), html)


def gauges_html() -> str:
    """The gauges page, empty."""
    return f"""<div class="board plain" data-live="no">
<header><b>{escape(say("page_gauges"))}</b><span class="grow">{escape(say("no_fault"))}</span>
<span data-id="nav"></span></header>
<div class="strip"><div class="banner empty" data-id="trouble" role="alert"></div>
<div class="banner server empty" data-id="server" role="alert"></div></div>
<div class="scroll"><div class="gauges" data-list="gauges"></div><p data-id="nothing"></p>
<h2>{escape(say("helpers"))}</h2><div class="gauges"><div class="item" data-id="helpers"></div>
</div><h2>{escape(say("plugged_in"))}</h2>
<div class="gauges"><div class="item" data-id="ports"></div>
</div></div></div>
"""


def gauges_parts(
    rows: tuple[GaugeRow, ...],
    ports: Sequence[FoundPort],
    trouble: str,
    helpers: Sequence[str] = (),
) -> Parts:
    """The gauges page's blocks and lists; `helpers` is what is to be said of bus, rules, board."""
    return Parts(
        blocks={
            "trouble": escape(trouble),
            "nothing": "" if rows else escape(say("no_gauge")),
            "helpers": "".join(f"<p>{escape(line)}</p>" for line in helpers)
            or f"<p>{escape(say('helpers_well'))}</p>",
            "ports": _ports(ports) if ports else f"<p>{escape(say('no_port'))}</p>",
        },
        lists={"gauges": [_row(row) for row in rows]},
    )


def _ports(ports: Sequence[FoundPort]) -> str:
    rows = "".join(
        f"<tr><td><code>{escape(p.name)}</code></td><td>{escape(p.product)}</td>"
        f"<td>{escape(p.wrong or p.note)}</td></tr>"
        for p in ports
    )
    return f"<table>{rows}</table>"


def _row(row: GaugeRow) -> Item:
    faults = "".join(
        f"<tr><td>{escape(f.when)}</td><td>{escape(f.what)}</td>"
        f"<td><code>{escape(f.raw)}</code></td><td><code>{escape(f.text)}</code></td></tr>"
        for f in row.faults[:FAULTS_SHOWN]
    )
    table = f"<table>{faults}</table>" if faults else ""
    html = (
        f'<div class="gtop"><small>{escape(row.bench)}</small><b>{escape(row.name)}</b>'
        f"{_state(row.state)}</div>"
        f'<div class="gtop"><em>{escape(row.value)}</em><small>{escape(row.age)}</small>'
        f"<small>{escape(say('readings', count=row.readings))}</small>"
        f"<strong>{escape(row.reason)}</strong></div>{table}"
    )
    return Item(f"{row.bench}/{row.name}", "", html)
