"""The set page as HTML text with SVG charts; every word from the bus is escaped here."""

from collections.abc import Sequence
from html import escape
from typing import Final

from barrelfit.dashboard.html.feed import Item, Parts
from barrelfit.dashboard.html.floor_html import done_bar, no_bench
from barrelfit.dashboard.html.page_html import link_to
from barrelfit.dashboard.html.picture import shape, tone
from barrelfit.dashboard.shown import Shown
from barrelfit.dashboard.view.bench import VerdictView
from barrelfit.dashboard.view.floor import Card
from barrelfit.dashboard.view.pairing import PairingView
from barrelfit.dashboard.view.set import BoreMap, Clearance, PartsTable, SetView, SizeCell
from barrelfit.dashboard.words import say, say_or_raw

CHART_WIDTH: Final = 900
MAP_HEIGHT: Final = 150


def set_html() -> str:
    """The set page, empty."""
    return f"""<div class="board plain set" data-live="no">
<header><b data-id="title"></b><span class="grow" data-id="job"></span>
<span data-id="nav"></span></header>
<div class="strip"><div class="banner empty" data-id="trouble" role="alert"></div>
<div class="banner server empty" data-id="server" role="alert"></div></div>
<div class="scroll" tabindex="0"><div class="tables" data-id="tables"></div>
<div class="halves"><section><h2>{escape(say("clearances"))}</h2><div data-id="clearances"></div>
<h2>{escape(say("bore_maps"))}</h2><div class="maps" data-id="maps"></div></section>
<section><div data-id="pairing"></div><h2>{escape(say("to_do"))}</h2>
<div data-id="todo"></div></section></div></div></div>
"""


def choice_html() -> str:
    """The set page while no bench was chosen, empty."""
    return """<div class="board plain set" data-live="no">
<header><b data-id="title"></b><span class="grow"></span><span data-id="nav"></span></header>
<div class="strip"><div class="banner empty" data-id="trouble" role="alert"></div>
<div class="banner server empty" data-id="server" role="alert"></div></div>
<div class="scroll" tabindex="0"><div class="benches" data-list="benches"></div></div>
<div class="empty-page" data-id="nothing"></div></div>
"""


def set_parts(view: SetView, title: str, job: str, trouble: str, shown: Shown) -> Parts:
    """The set page's blocks."""
    return Parts(
        blocks={
            "title": escape(title),
            "job": escape(job),
            "trouble": escape(trouble),
            "tables": "".join(_table(table) for table in view.tables),
            "maps": "".join(_map(bore) for bore in view.maps) or _none("no_bore"),
            "clearances": _clearances(view.clearances, shown) or _none("no_clearance"),
            "todo": "".join(_todo(verdict) for verdict in view.todo) or _none("nothing_to_do"),
            "pairing": _pairing(view.pairing) if view.pairing else "",
        }
    )


def bench_choice(benches: Sequence[Card], query: str) -> Parts:
    """The set page before a bench was chosen: links to each bench's set."""
    items = [
        Item(card.bench, link_to("/set", query, id=card.bench), _choice(card)) for card in benches
    ]
    nothing = "" if benches else no_bench()
    title = escape(say("bench_which") if benches else say("page_set"))
    return Parts(blocks={"title": title, "nothing": nothing}, lists={"benches": items})


def _choice(card: Card) -> str:
    return f"<b>{escape(card.bench)}</b><small>{escape(card.job)}</small>{done_bar(card)}"


def _none(key: str) -> str:
    return f'<p class="quiet">{escape(say(key))}</p>'


def _table(table: PartsTable) -> str:
    head = "".join(f"<th>{escape(column)}</th>" for column in table.columns)
    rows = "".join(
        f"<tr><th>{escape(row.part)}</th>{''.join(_cell(cell) for cell in row.cells)}"
        f'<td class="v"><span class="{tone(row.verdict)} tone">{shape(row.verdict)}'
        f"{escape(_verdict_word(row.verdict))}</span>"
        f"{' <small>' + escape(say('signed')) + '</small>' if row.overridden else ''}</td></tr>"
        for row in table.rows
    )
    last = f"<th>{escape(say('verdict'))}</th>"
    return f'<table class="matrix"><tr><th>{escape(table.sign)}</th>{head}{last}</tr>{rows}</table>'


def _verdict_word(verdict: str) -> str:
    """A verdict in a table, where a column of "no verdict yet" would drown the others."""
    return say("not_yet") if verdict == "none" else say_or_raw(verdict)


def _cell(cell: SizeCell) -> str:
    kind = ' class="now"' if cell.now else ""
    if not cell.text:
        return f"<td{kind}>·</td>"
    return f"<td{kind}><b>{escape(cell.text)}</b> <small>{escape(cell.doubt)}</small></td>"


def _clearances(pairs: tuple[Clearance, ...], shown: Shown) -> str:
    if not pairs:
        return ""
    values = [nm for p in pairs for nm in (p.low_nm, p.high_nm, p.low_limit_nm, p.high_limit_nm)]
    known = [nm for nm in values if nm is not None]
    low, high = min(0, *known), max(known)
    room = max((high - low) // 20, 1_000)
    origins = dict.fromkeys(pair.origin for pair in pairs if pair.origin)
    return (
        "".join(_clearance(pair, low - room, high + room) for pair in pairs)
        + _scale(low - room, high + room, shown)
        + "".join(f'<p class="quiet">{escape(say("limits_from", origin=o))}</p>' for o in origins)
    )


def _clearance(pair: Clearance, low: int, high: int) -> str:
    def x(nm: int) -> float:
        return CHART_WIDTH * (nm - low) / (high - low)

    left, right = x(pair.low_nm), x(pair.high_nm)
    body = f'<line class="axis" x1="0" x2="{CHART_WIDTH}" y1="22" y2="22"/>'
    for limit, turn in ((pair.low_limit_nm, 1), (pair.high_limit_nm, -1)):
        if limit is not None:
            at = x(limit)
            body += (
                f'<path class="limit" d="M {at + 9 * turn:.1f} 3 H {at:.1f} V 41 h {9 * turn}"/>'
            )
    width = max(right - left, 6)
    body += f'<rect class="span" x="{left:.1f}" y="13" width="{width:.1f}" height="18" rx="4"/>'
    return (
        f'<div class="pair"><b>{escape(pair.pair)}</b><span>{escape(pair.text)}</span>'
        f'<svg class="chart" viewBox="0 0 {CHART_WIDTH} 44" preserveAspectRatio="none" role="img"'
        f' aria-label="{escape(pair.text, quote=True)}">{body}</svg>'
        f'<span class="{tone(pair.verdict)} tone">{shape(pair.verdict)}'
        f"{escape(_verdict_word(pair.verdict))}</span></div>"
    )


def _scale(low: int, high: int, shown: Shown) -> str:
    """The ends of the clearance chart, and how a limit is drawn."""
    return (
        f'<div class="pair scale"><i></i><i></i><span><small>{escape(shown.length(low))}</small>'
        f"<small>{escape(say('limit_brackets'))}</small>"
        f"<small>{escape(shown.length(high))}</small></span><i></i></div>"
    )


def _map(bore: BoreMap) -> str:
    """A barrel's bore from the head down: how far each place is above the smallest size."""
    wide = max(bore.widest_nm, 2_000)
    lines = ""
    for index, (_, points) in enumerate(bore.lines):
        spots = [(20 + 120 * p.above_nm / wide, 14 + MAP_HEIGHT * p.down) for p in points]
        path = " L ".join(f"{x:.1f} {y:.1f}" for x, y in spots)
        style = "first" if index == 0 else "second"
        if path:
            lines += f'<path class="{style}" d="M {path}"/>'
        lines += "".join(
            f'<circle class="{style}" cx="{x:.1f}" cy="{y:.1f}" r="5"/>' for x, y in spots
        )
    depths = {p.depth: p.down for _, points in bore.lines for p in points}
    names = "".join(
        f'<text x="152" y="{20 + MAP_HEIGHT * down:.0f}">{escape(depth)}</text>'
        for depth, down in depths.items()
    )
    key = "".join(
        f'<small class="{"first" if i == 0 else "second"}">{escape(direction)}</small>'
        for i, (direction, _) in enumerate(bore.lines)
    )
    return (
        f"<figure><figcaption><b>{escape(bore.part)}</b> {escape(bore.smallest)}"
        f"<small>{escape(say('range_is', range=bore.range_text))}</small></figcaption>"
        f'<svg viewBox="0 0 220 {MAP_HEIGHT + 28}" role="img"'
        f' aria-label="{escape(bore.part + " " + bore.range_text, quote=True)}">'
        f'<line class="axis" x1="20" x2="20" y1="4" y2="{MAP_HEIGHT + 24}"/>{lines}{names}</svg>'
        f'<div class="dirs">{key}</div></figure>'
    )


def _pairing(pairing: PairingView) -> str:
    head = "".join(
        f"<th>{escape(say(key))}</th>" for key in ("cylinder", "piston", "barrel", "clearance")
    )
    rows = "".join(
        f"<tr><th>{escape(cylinder)} <small>{escape(bank)}</small></th><td><b>{escape(piston)}</b>"
        f"</td><td><b>{escape(barrel)}</b></td><td>{escape(clearance)}</td></tr>"
        for cylinder, bank, piston, barrel, clearance in pairing.rows
    )
    table = f'<table class="matrix"><tr>{head}</tr>{rows}</table>' if rows else ""
    spread = f"<p>{escape(say('spread_is', spread=pairing.spread))}</p>" if pairing.spread else ""
    words = "".join(f"<p>{escape(sentence)}</p>" for sentence in pairing.sentences)
    outcome = escape(say_or_raw("match_" + pairing.outcome.replace(" ", "_")))
    return (
        f'<h2>{escape(say("pairing"))}</h2><div class="entry one"><div><b>{outcome}</b>'
        f"{table}{spread}{words}</div></div>"
    )


def _todo(verdict: VerdictView) -> str:
    reasons = "".join(f"<p>{escape(reason.sentence)}</p>" for reason in verdict.reasons[:2])
    signed = f'<p class="asked">{escape(verdict.overridden)}</p>' if verdict.overridden else ""
    colour = f"{tone(verdict.verdict)} tone"
    todo = f'<p class="do">{escape(verdict.todo)}</p>' if verdict.todo else ""
    colour = f"{tone(verdict.verdict)} tone"
    return (
        f'<div class="entry"><div class="{colour}">{shape(verdict.verdict)}</div>'
        f'<div><b>{escape(verdict.about)}</b> <span class="{colour}">'
        f"{escape(verdict.word)}</span>{signed}{reasons}{todo}</div></div>"
    )
