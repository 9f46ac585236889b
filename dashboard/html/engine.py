"""The engine from above, drawn by the report's own code in the board's colours (`bench.css`)."""

from collections.abc import Sequence

from markupsafe import Markup

from barrelfit.acquire.report.drawn import made as drawn
from barrelfit.acquire.report.engine_drawing import CylinderDrawn, engine_drawing
from barrelfit.dashboard.view.ending import SeatView
from barrelfit.dashboard.words import say, say_or_raw


def engine_html(seats: Sequence[SeatView]) -> Markup:
    """The engine with what runs in each cylinder; nothing without cylinders."""
    if not seats:
        return Markup()
    drawing = engine_drawing([_cylinder(seat) for seat in seats], say("engine_picture"))
    return Markup(drawn("report", "drawing", drawing))  # noqa: S704  a template made it


def _cylinder(seat: SeatView) -> CylinderDrawn:
    piston = seat.piston.name or say("no_piston")
    parts = f"{piston} + {seat.barrel.name or say('no_barrel')}"
    word = say("empty") if seat.verdict == "lost" else say_or_raw(seat.verdict)
    return CylinderDrawn(seat.cylinder, seat.bank, parts, seat.verdict, word)
