"""A report as one HTML file: nothing is fetched from anywhere, and it prints on A4 and Letter."""

import base64
from html import escape
from importlib.resources import files

from barrelfit.acquire.report.blocks import (
    Block,
    Box,
    Cautions,
    Cell,
    Dot,
    Drawing,
    Heading,
    Items,
    Label,
    NewPage,
    Path,
    Picture,
    Report,
    StandingBlock,
    Stroke,
    TableBlock,
    Text,
    VerdictBlock,
)
from barrelfit.acquire.report.charts import verdict_shape


def html_of(report: Report) -> str:
    """Write a report as a whole HTML document."""
    style = files("barrelfit.acquire.report").joinpath("report.css").read_text(encoding="utf-8")
    body: list[str] = []
    page = ""
    for block in report.blocks:
        if isinstance(block, NewPage):
            page = ' class="newpage"'
            continue
        body.append(f"<div{page}>{_block(block)}</div>" if page else _block(block))
        page = ""
    return (
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{escape(report.title)}</title>\n<style>\n{style}</style>\n</head>\n<body>\n"
        + "\n".join(body)
        + "\n</body>\n</html>\n"
    )


def _block(block: Block) -> str:  # noqa: C901, PLR0911  one case a kind of block
    match block:
        case Heading(text, level):
            return f"<h{level}>{escape(text)}</h{level}>"
        case Text(text, small):
            return f'<p class="small">{escape(text)}</p>' if small else f"<p>{escape(text)}</p>"
        case Items(sentences):
            return f"<ul>{''.join(f'<li>{escape(s)}</li>' for s in sentences)}</ul>"
        case Cautions(sentences):
            items = "".join(f"<li>{escape(s)}</li>" for s in sentences)
            return f'<div class="cautions"><b>Caution</b><ul>{items}</ul></div>'
        case StandingBlock(name, verdict, facts):
            below = f'<p class="facts">{escape(facts)}</p>' if facts else ""
            return f"<h3>{escape(name)} {_verdict(verdict)}</h3>{below}"
        case TableBlock():
            return _table(block)
        case Drawing():
            return f"<figure>{svg_of(block)}</figure>"
        case Picture():
            return _picture(block)
        case NewPage():
            return ""


def _table(table: TableBlock) -> str:
    columns = "".join(f'<col style="width:{share * 100:.1f}%">' for share in table.shares)
    head = ""
    if any(table.head):
        cells = "".join(f"<th>{escape(h)}</th>" for h in table.head)
        head = f"<thead><tr>{cells}</tr></thead>"
    rows = "".join(
        f"<tr>{''.join(f'<td>{_cell(cell)}</td>' for cell in row)}</tr>" for row in table.rows
    )
    kind = ' class="small"' if table.small else ""
    return f"<table{kind}><colgroup>{columns}</colgroup>{head}<tbody>{rows}</tbody></table>"


def _cell(cell: Cell) -> str:
    return _verdict(cell.word) if isinstance(cell, VerdictBlock) else escape(cell)


def _verdict(word: str) -> str:
    shape = svg_of(verdict_shape(word))
    return f'<span class="verdict {escape(word, quote=True)}">{shape}{escape(word)}</span>'


def _picture(picture: Picture) -> str:
    data = base64.b64encode(picture.data).decode()
    caption = escape(picture.caption)
    return (
        f'<figure><img alt="{caption}" src="data:{picture.media};base64,{data}">'
        f"<figcaption>{caption}</figcaption></figure>"
    )


def svg_of(drawing: Drawing) -> str:
    """Write a drawing as SVG; one CSS pixel a point and a third, as wide as the page allows."""
    strokes = "".join(_stroke(stroke) for stroke in drawing.strokes)
    box = f"0 0 {drawing.width:g} {drawing.height:g}"
    size = f'width="{drawing.width * 4 / 3:.0f}" height="{drawing.height * 4 / 3:.0f}"'
    says = escape(drawing.says, quote=True)
    return f'<svg viewBox="{box}" {size} role="img" aria-label="{says}">{strokes}</svg>'


def _stroke(stroke: Stroke) -> str:
    match stroke:
        case Box((x, y), width, height, fill):
            place = f'x="{x:.1f}" y="{y:.1f}" width="{width:.1f}" height="{height:.1f}"'
            return f'<rect {place} fill="{fill}"/>'
        case Dot((x, y), radius, fill):
            return f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{radius:.1f}" fill="{fill}"/>'
        case Label((x, y), text, size, anchor, fill):
            where = f'x="{x:.1f}" y="{y:.1f}" font-size="{size:g}" text-anchor="{anchor}"'
            return f'<text {where} fill="{fill}">{escape(text)}</text>'
        case Path():
            return _path(stroke)


def _path(path: Path) -> str:
    points = " ".join(f"{x:.1f},{y:.1f}" for x, y in path.points)
    look = f'stroke="{path.stroke}" stroke-width="{path.width:g}"'
    look += ' stroke-dasharray="4 3"' if path.dashed else ""
    if path.fill:
        return f'<polygon points="{points}" fill="{path.fill}" {look}/>'
    return f'<polyline points="{points}" fill="none" {look}/>'
