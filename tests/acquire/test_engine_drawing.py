"""The engine from above: every cylinder in its bank, nothing beyond the drawing, nothing missed."""

import pytest

from barrelfit.acquire.report.blocks import TONES, Box, Dot, Label, Path
from barrelfit.acquire.report.drawn import made
from barrelfit.acquire.report.engine_drawing import CASE, WIDE, CylinderDrawn, engine_drawing


def cylinders(count, banks, verdicts=("serviceable",)):
    return [
        CylinderDrawn(str(n), banks[(n - 1) * len(banks) // count], f"P{n} + B{n}",
                      verdicts[n % len(verdicts)], f"word {n}")
        for n in range(1, count + 1)
    ]  # fmt: skip


def texts(drawing):
    return {s.text: s for s in drawing.strokes if isinstance(s, Label)}


@pytest.mark.parametrize("count", [1, 2, 4, 6, 12])
@pytest.mark.parametrize("banks", [("left", "right"), ("",)])
def test_every_cylinder_is_drawn_within_the_drawing(count, banks):
    drawing = engine_drawing(cylinders(count, banks), "…")
    assert {f"P{n} + B{n}" for n in range(1, count + 1)} <= set(texts(drawing))
    for stroke in drawing.strokes:
        points = stroke.points if isinstance(stroke, Path) else (stroke.at,)
        assert all(0 <= x <= drawing.width and 0 <= y <= drawing.height for x, y in points)


def test_banks_lie_on_both_sides_of_the_crankcase():
    drawing = engine_drawing(cylinders(4, ("left", "right")), "…")
    (case,) = [s for s in drawing.strokes if isinstance(s, Box) and s.width == CASE]
    at = {text: label.at[0] for text, label in texts(drawing).items()}
    assert at["P1 + B1"] < case.at[0] > at["P2 + B2"]
    assert at["P3 + B3"] > case.at[0] + CASE < at["P4 + B4"]


def test_an_empty_cylinder_has_a_broken_outline_and_no_verdicts_shape():
    def outline_and_tones(verdict):
        one = CylinderDrawn("1", "left", "no piston + B1", verdict, "EMPTY")
        strokes = engine_drawing([one], "…").strokes
        tones = {getattr(s, "fill", "") for s in strokes if isinstance(s, Dot | Path)}
        return strokes[1].dashed, bool(tones & set(TONES.values()))

    assert outline_and_tones("lost") == (True, False)
    assert outline_and_tones("serviceable") == (False, True)


def test_long_names_are_written_smaller_and_everything_is_escaped():
    long = CylinderDrawn("12", "left", "piston-12-left<b> + barrel-12-left", "rework", "REWORK")
    drawing = engine_drawing([long], "…")
    label = texts(drawing)[long.parts]
    assert 0.62 * label.size * len(long.parts) + label.at[0] <= 14 + WIDE
    assert "<b>" not in made("report", "drawing", drawing)
