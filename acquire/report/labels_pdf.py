"""Labels as PDF: sheets of A4, or a roll of some width with one label a page."""

import io
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import chain
from pathlib import Path
from typing import Any, Final

from reportlab.graphics import renderPDF
from reportlab.graphics.barcode.qr import QrCodeWidget
from reportlab.graphics.shapes import Drawing
from reportlab.lib.pagesizes import A4
from reportlab.lib.units import mm
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfgen.canvas import Canvas

from barrelfit.acquire.report.charts import verdict_shape
from barrelfit.acquire.report.labels import PartLabel
from barrelfit.acquire.report.pdf import check_letters, drawn, fonts_of

COLUMNS, ROWS = 3, 8
EDGE: Final = 8 * mm  # what a printer leaves white
INNER: Final = 2.5 * mm
TALL: Final = 0.5  # of a roll's label: its height, of its width
LEAST_PT: Final = 4.0


@dataclass(frozen=True, slots=True)
class _Place:
    """A label's place on its page: lower left corner, width and height in points."""

    x: float
    y: float
    width: float
    height: float


def labels_pdf(
    labels: Sequence[PartLabel], roll_mm: float | None = None, font: Path | None = None
) -> bytes:
    """Draw labels.

    Args:
        labels: one a part.
        roll_mm: width of the roll; None for sheets of A4 with three columns to be cut.
        font: a TrueType font, where the labels hold letters that the usual one lacks.

    Raises:
        UserError: the font can't be read, or lacks letters.
    """
    target, fonts = io.BytesIO(), fonts_of(font)
    check_letters(chain.from_iterable(label.code + label.job for label in labels), fonts[0])
    page = A4 if roll_mm is None else (roll_mm * mm, roll_mm * TALL * mm)
    canvas = Canvas(target, pagesize=page, invariant=1)
    a_page = 1 if roll_mm is not None else COLUMNS * ROWS
    for number, label in enumerate(labels):
        if number and number % a_page == 0:
            canvas.showPage()
        place = _on_sheet(number % a_page) if roll_mm is None else _Place(0, 0, *page)
        _draw(canvas, place, label, fonts)
    canvas.save()
    return target.getvalue()


def _on_sheet(number: int) -> _Place:
    row, column = divmod(number, COLUMNS)
    width, height = (A4[0] - 2 * EDGE) / COLUMNS, (A4[1] - 2 * EDGE) / ROWS
    return _Place(EDGE + column * width, A4[1] - EDGE - (row + 1) * height, width, height)


def _draw(canvas: Any, place: _Place, label: PartLabel, fonts: tuple[str, str]) -> None:  # noqa: ANN401  no types
    plain, bold = fonts
    canvas.setStrokeGray(0.75)
    canvas.rect(place.x, place.y, place.width, place.height)
    side = min(place.height - 2 * INNER, place.width * 0.32)
    _qr(canvas, label.code, (place.x + place.width - INNER - side, place.y + INNER), side)
    left, top = place.x + INNER, place.y + place.height - INNER
    wide = place.width - side - 3 * INNER
    line = (place.height - 2 * INNER) / 6.4
    texts = (
        (label.part, bold, 2.0),
        (label.word, bold, 1.15),
        (label.size, plain, 1.0),
        (label.place, bold, 1.0),
        (label.job, plain, 0.85),
    )
    for text, font, lines in texts:
        tall = line * lines
        room = wide
        if text == label.word:
            shape = drawn(verdict_shape(label.verdict, tall), wide)
            renderPDF.draw(shape, canvas, left, top - tall)
            room -= 1.3 * tall
        if text:
            size = _fitting(text, font, room, tall * 0.86)
            canvas.setFont(font, size)
            canvas.setFillGray(0)
            canvas.drawString(left + wide - room, top - tall + 0.2 * tall, text)
        top -= tall


def _fitting(text: str, font: str, wide: float, most: float) -> float:
    """The largest size at which a text fits its width: nothing is cut."""
    width: float = pdfmetrics.stringWidth(text, font, most)
    return max(min(most, most * wide / width), LEAST_PT)


def _qr(canvas: Any, text: str, at: tuple[float, float], side: float) -> None:  # noqa: ANN401  no types
    code = QrCodeWidget(text, barLevel="M")
    x1, y1, x2, y2 = code.getBounds()
    drawing = Drawing(side, side, transform=[side / (x2 - x1), 0, 0, side / (y2 - y1), 0, 0])
    drawing.add(code)
    renderPDF.draw(drawing, canvas, *at)
