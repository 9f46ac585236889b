"""The bench page's blocks as HTML text: every word that came from the bus is escaped here."""

from html import escape

from barrelfit.dashboard.board.places import place_words, short_names
from barrelfit.dashboard.html.picture import part_picture, shape, tone
from barrelfit.dashboard.view.bench import BenchView, PartRow, ReasonView, ResultView, VerdictView
from barrelfit.dashboard.words import say, say_or_raw

REASONS_SHOWN = 2
ONE_LINE_MOST = 10


def bench_blocks(view: BenchView) -> dict[str, str]:
    """Blocks by the id of the element they fill."""
    return {
        "name": escape(say("bench", bench=view.bench)),
        "job": escape(view.job),
        "trouble": escape(view.trouble),
        "note": escape(view.note),
        "ask": f"<span>{escape(view.ask)}</span><b>{escape(view.progress)}</b>",
        "where": escape(_where(view)),
        "picture": _picture(view),
        "passes": _passes(view),
        "result": _result(view.result),
        "verdict": verdict_html(view.verdict),
        "parts": _parts(view.parts),
    }


def _where(view: BenchView) -> str:
    if view.place is None and view.pairing is not None:
        return say("pairing")
    return place_words(view.place)


def _picture(view: BenchView) -> str:
    """The part with its feature; once nothing is left to measure, which piston goes where."""
    if view.place is not None:
        return part_picture(view.place, view.edge, view.levels, view.directions)
    if view.pairing is None:
        return ""
    rows = "".join(
        f"<tr><th>{escape(cylinder)}</th><td>{escape(piston)}</td><td>{escape(barrel)}</td>"
        f"<td><small>{escape(clearance)}</small></td></tr>"
        for cylinder, _, piston, barrel, clearance in view.pairing.rows
    )
    words = "".join(f"<p>{escape(sentence)}</p>" for sentence in view.pairing.sentences[:2])
    return f'<div class="pairs"><table>{rows}</table>{words}</div>'


def _passes(view: BenchView) -> str:
    marks = "".join(f'<i style="left:{100 * mark:.1f}%"></i>' for mark in view.passes.marks)
    ruler = f'<div class="ruler">{marks}</div><small>{escape(view.passes.ruler)}</small>'
    text = f"<b>{escape(view.passes.text)}</b>"
    return text + (ruler if view.passes.marks else "")


def _result(result: ResultView | None) -> str:
    if result is None:
        return ""
    lines = "".join(f"<p>{escape(line)}</p>" for line in result.lines if line)
    return (
        f'<div class="{result.kind}"><h3>{escape(result.head)}</h3>'
        f"<strong>{escape(result.text)}</strong>{lines}</div>"
    )


def verdict_html(verdict: VerdictView | None) -> str:
    """The verdict as word, shape and colour, with its reasons."""
    if verdict is None:
        word = f'<div class="word"><h2>{escape(say("none"))}</h2></div>'
        return f'<div class="verdict none">{shape("none")}{word}</div>'
    first, *others = verdict.reasons or (None,)
    reasons = _reason(first) if first else ""
    todo = f'<p class="todo">{escape(verdict.todo)}</p>' if verdict.todo else ""
    # What there is no room for is the last of these: what to do stands before further reasons.
    also = "".join(
        f'<p class="also">{escape(other.sentence)}</p>' for other in others[: REASONS_SHOWN - 1]
    )
    signed = f'<p class="signed">{escape(verdict.overridden)}</p>' if verdict.overridden else ""
    return (
        f'<div class="verdict {tone(verdict.verdict)}">{shape(verdict.verdict)}'
        f'<div class="word"><h3>{escape(verdict.about)}</h3><h2>{escape(verdict.word)}</h2></div>'
        f'<div class="why">{signed}{reasons}{todo}{also}</div></div>'
    )


def _reason(reason: ReasonView) -> str:
    facts = " · ".join(escape(text) for text in (reason.value, reason.limit) if text)
    line = f'<p class="facts">{facts}</p>' if facts else ""
    return f"<p>{escape(reason.sentence)}</p>{line}"


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
    style = f'class="row{" many" if many else ""}" style="--n:{columns}"'
    return f"<div {style}>{''.join(_part(row, short[row.part]) for row in rows)}</div>"


def _part(row: PartRow, name: str) -> str:
    cells = "".join(
        f'<i class="{cell.state}" title="{escape(cell.label, quote=True)}"></i>'
        for cell in row.cells
    )
    word = f"{row.part}: {say_or_raw(row.verdict)}"
    return (
        f'<div class="p {tone(row.verdict)}" title="{escape(word, quote=True)}">'
        f'{shape(row.verdict)}<b>{escape(name)}</b><span class="cells">{cells}</span></div>'
    )
