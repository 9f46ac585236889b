"""A report as PDF, on A4 or Letter; this file and `labels_pdf` alone import reportlab."""

import io
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path as FilePath
from typing import Any

from reportlab.graphics import shapes
from reportlab.lib.colors import HexColor
from reportlab.lib.pagesizes import A4, LETTER
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import mm
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFError, TTFont
from reportlab.platypus import (
    Flowable,
    Image,
    KeepTogether,
    PageBreak,
    Paragraph,
    SimpleDocTemplate,
    Spacer,
)
from reportlab.platypus import Table as PdfTable

from barrelfit.acquire.errors import UserError
from barrelfit.acquire.report.blocks import (
    INK,
    TONES,
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
)
from barrelfit.acquire.report.charts import verdict_shape
from barrelfit.acquire.report.drawn import made
from barrelfit.acquire.report.words import say, say_or_raw
from barrelfit.rules.said import said

PAPERS = {"a4": A4, "letter": LETTER}
_MARGIN = 15 * mm
_PADDING = 6  # of reportlab's frame, each side, in points
_PHOTO_HEIGHT = 75 * mm
_ANCHORS = {"start": "start", "middle": "middle", "end": "end"}


@dataclass(frozen=True, slots=True)
class _Look:
    """Fonts, styles, and the width there is."""

    body: ParagraphStyle
    small: ParagraphStyle
    tiny: ParagraphStyle
    heads: dict[int, ParagraphStyle]
    bold: str
    width: float


def pdf_of(report: Report, paper: str = "a4", font: FilePath | None = None) -> bytes:
    """Write a report as PDF.

    Args:
        report: the report.
        paper: `a4` or `letter`.
        font: a TrueType font for all text, when the report holds letters that the usual one lacks.

    Raises:
        UserError: the font can't be read, or lacks letters of the report (they are named).
    """
    size = PAPERS[paper]
    names = fonts_of(font)
    check_letters(_all_text(report), names[0])
    look = _look(names, size[0] - 2 * _MARGIN - 2 * _PADDING)
    target = io.BytesIO()
    document = SimpleDocTemplate(
        target,
        pagesize=size,
        leftMargin=_MARGIN,
        rightMargin=_MARGIN,
        topMargin=_MARGIN,
        bottomMargin=_MARGIN,
        title=report.title,
        author="barrelfit",
        invariant=1,  # the same report is the same file, byte for byte
    )
    story = [flowable for block in report.blocks for flowable in _flowables(block, look)]

    def foot(canvas: Any, _document: Any) -> None:  # noqa: ANN401  reportlab has no types
        canvas.setFont(names[0], 7.5)
        canvas.setFillColor(HexColor("#59636e"))
        canvas.drawString(_MARGIN, 8 * mm, report.title)
        canvas.drawRightString(
            size[0] - _MARGIN, 8 * mm, say("page", number=canvas.getPageNumber())
        )

    document.build(story, onFirstPage=foot, onLaterPages=foot)
    return target.getvalue()


def fonts_of(font: FilePath | None) -> tuple[str, str]:
    """Register the usual fonts (shipped with reportlab) or the user's; names of plain and bold."""
    if font is None:
        pdfmetrics.registerFont(TTFont("plain", "Vera.ttf"))
        pdfmetrics.registerFont(TTFont("bold", "VeraBd.ttf"))
        return "plain", "bold"
    try:
        pdfmetrics.registerFont(TTFont("own", str(font)))
    except (TTFError, OSError) as error:
        raise UserError([said("no_such_font", font=str(font), what=str(error))]) from None
    return "own", "own"


def check_letters(text: Iterable[str], font: str) -> None:
    """Raise UserError with the letters of a text that a font lacks."""
    known = pdfmetrics.getFont(font).face.charToGlyph
    missing = sorted({c for c in text if ord(c) not in known and not c.isspace()})
    if missing:
        letters = " ".join(missing[:20])
        hint = said("give_a_font")
        raise UserError([said("font_lacks", letters=letters, do=hint)])


def _all_text(report: Report) -> Iterator[str]:  # noqa: C901  one case a kind of block
    for block in report.blocks:
        match block:
            case Heading(text) | Text(text):
                yield from text
            case Items(sentences) | Cautions(sentences):
                yield from "".join(sentences)
            case TableBlock(head, rows):
                yield from "".join(head)
                yield from "".join(c for row in rows for c in row if isinstance(c, str))
            case StandingBlock(name, _, facts):
                yield from name + facts
            case Picture(_, _, caption):
                yield from caption
            case Drawing(strokes=strokes):
                yield from "".join(s.text for s in strokes if isinstance(s, Label))
            case NewPage():
                pass


def _look(names: tuple[str, str], width: float) -> _Look:
    plain, bold = names

    def style(
        size: float, font: str = plain, before: float = 2, after: float = 3
    ) -> ParagraphStyle:
        return ParagraphStyle(
            f"{font}{size}",
            fontName=font,
            fontSize=size,
            leading=size * 1.3,
            textColor=HexColor(INK),
            spaceBefore=before,
            spaceAfter=after,
            splitLongWords=True,
        )

    heads = {1: style(17, bold, 0, 8), 2: style(12, bold, 12, 5), 3: style(10, bold, 9, 3)}
    return _Look(style(8.5), style(7.2), style(6.3), heads, bold, width)


def _flowables(block: Block, look: _Look) -> list[Flowable]:  # noqa: C901, PLR0911  see above
    match block:
        case Heading(text, level):
            return [_kept(Paragraph(made("pdf", "line", text), look.heads[level]))]
        case Text(text, small):
            return [Paragraph(made("pdf", "line", text), look.small if small else look.body)]
        case Items(sentences):
            return _listed(sentences, look)
        case Cautions(sentences):
            return [_cautions(sentences, look)]
        case StandingBlock(name, verdict, facts):
            below = [_kept(Paragraph(made("pdf", "line", facts), look.body))] if facts else []
            return [_standing(name, verdict, look), *below]
        case TableBlock():
            return [_table(block, look), Spacer(1, 4)]
        case Drawing():
            return [Spacer(1, 3), drawn(block, look.width), Spacer(1, 3)]
        case Picture():
            return [_photo(block, look)]
        case NewPage():
            return [PageBreak()]


def _kept(paragraph: Paragraph) -> Paragraph:
    paragraph.keepWithNext = True
    return paragraph


def _listed(sentences: tuple[str, ...], look: _Look) -> list[Flowable]:
    style = ParagraphStyle("item", parent=look.body, leftIndent=11, bulletIndent=2)
    return [Paragraph(made("pdf", "line", s), style, bulletText="•") for s in sentences]


def _cautions(sentences: tuple[str, ...], look: _Look) -> Flowable:
    inside = [
        Paragraph(made("pdf", "line", say("caution")), look.heads[3]),
        *_listed(sentences, look),
    ]
    frame = [("BOX", (0, 0), (-1, -1), 1.2, HexColor(INK)), ("TOPPADDING", (0, 0), (-1, -1), 2)]
    return KeepTogether(PdfTable([[inside]], colWidths=[look.width], style=frame))


def _standing(name: str, verdict: str, look: _Look) -> Flowable:
    shape = drawn(verdict_shape(verdict, 11), look.width)
    shown, tone = say_or_raw(verdict, verdict), TONES.get(verdict, INK)
    word = made("pdf", "named", name, shown, tone)
    row = [[shape, Paragraph(word, look.heads[3])]]
    tight = [("LEFTPADDING", (0, 0), (-1, -1), 0), ("VALIGN", (0, 0), (-1, -1), "MIDDLE")]
    table = PdfTable(row, colWidths=[17, look.width - 17], style=tight)
    table.keepWithNext = True
    return table


def _table(table: TableBlock, look: _Look) -> Flowable:
    style = look.tiny if table.small else look.small
    widths = [share * look.width for share in table.shares]
    rows = [[_cell(cell, style, look) for cell in row] for row in table.rows]
    lines: list[tuple[Any, ...]] = [
        ("VALIGN", (0, 0), (-1, -1), "TOP"),
        ("LINEBELOW", (0, 0), (-1, -1), 0.4, HexColor("#d0d7de")),
        ("LEFTPADDING", (0, 0), (-1, -1), 3),
        ("RIGHTPADDING", (0, 0), (-1, -1), 3),
        ("TOPPADDING", (0, 0), (-1, -1), 1),
        ("BOTTOMPADDING", (0, 0), (-1, -1), 2),
    ]
    has_head = any(table.head)
    if has_head:
        rows.insert(
            0, [Paragraph(made("pdf", "strong", h), _bold(style, look)) for h in table.head]
        )
        lines.append(("BACKGROUND", (0, 0), (-1, 0), HexColor("#f4f6f8")))
    return PdfTable(rows, colWidths=widths, repeatRows=int(has_head), style=lines)


def _bold(style: ParagraphStyle, look: _Look) -> ParagraphStyle:
    return ParagraphStyle(f"{style.name} bold", parent=style, fontName=look.bold)


def _cell(cell: Cell, style: ParagraphStyle, look: _Look) -> Flowable:
    if isinstance(cell, str):
        return Paragraph(made("pdf", "line", cell), style)
    shape = drawn(verdict_shape(cell.word, style.fontSize + 1), look.width)
    shown, tone = say_or_raw(cell.word, cell.word), TONES.get(cell.word, INK)
    word = Paragraph(made("pdf", "toned", shown, tone), _bold(style, look))
    tight = [
        ("LEFTPADDING", (0, 0), (-1, -1), 0),
        ("RIGHTPADDING", (0, 0), (-1, -1), 0),
        ("TOPPADDING", (0, 0), (-1, -1), 0),
        ("BOTTOMPADDING", (0, 0), (-1, -1), 0),
        ("VALIGN", (0, 0), (-1, -1), "MIDDLE"),
    ]
    return PdfTable([[shape, word]], colWidths=[style.fontSize + 4, None], style=tight)


def _photo(picture: Picture, look: _Look) -> Flowable:
    image = Image(io.BytesIO(picture.data))
    scale = min(look.width / image.imageWidth, _PHOTO_HEIGHT / image.imageHeight, 1.0)
    image.drawWidth, image.drawHeight = image.imageWidth * scale, image.imageHeight * scale
    image.hAlign = "LEFT"
    return KeepTogether([image, Paragraph(made("pdf", "line", picture.caption), look.small)])


# ---------------------------------------------------------------- drawings


def drawn(drawing: Drawing, width: float) -> shapes.Drawing:
    """A drawing for reportlab, whose y runs upwards; made smaller where it is too wide."""
    scale = min(1.0, width / drawing.width)
    out = shapes.Drawing(drawing.width * scale, drawing.height * scale)
    group = shapes.Group(*(_drawn(s, drawing.height) for s in drawing.strokes))
    group.scale(scale, scale)
    out.add(group)
    out.hAlign = "LEFT"
    return out


def _drawn(stroke: Stroke, height: float) -> shapes.Shape:
    match stroke:
        case Box((x, y), width, tall, fill):
            return shapes.Rect(
                x, height - y - tall, width, tall, fillColor=HexColor(fill), strokeColor=None
            )
        case Dot((x, y), radius, fill):
            return shapes.Circle(x, height - y, radius, fillColor=HexColor(fill), strokeColor=None)
        case Label((x, y), text, size, anchor, fill):
            return shapes.String(
                x,
                height - y,
                text,
                fontName=_registered(),
                fontSize=size,
                textAnchor=_ANCHORS[anchor],
                fillColor=HexColor(fill),
            )
        case Path():
            return _drawn_path(stroke, height)


def _drawn_path(path: Path, height: float) -> shapes.Shape:
    points = [c for x, y in path.points for c in (x, height - y)]
    look = {
        "strokeColor": HexColor(path.stroke),
        "strokeWidth": path.width,
        "strokeDashArray": [4, 3] if path.dashed else None,
    }
    if path.fill:
        return shapes.Polygon(points, fillColor=HexColor(path.fill), **look)
    return shapes.PolyLine(points, **look)


def _registered() -> str:
    return "own" if "own" in pdfmetrics.getRegisteredFontNames() else "plain"
