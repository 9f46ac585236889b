"""A trace as a picture (SVG 1.1): every reading, which were used for the size, and the size.

Two panels over one time axis: the whole trace, and the neighbourhood of the size, where a crest
is decided. Used readings are filled discs, readings cut away are open rings, so that shape and
not colour alone tells them apart.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from barrelfit.acquire.report.drawn import made
from barrelfit.acquire.report.sized_trace import SizedTrace, mm_text
from barrelfit.acquire.report.words import say
from barrelfit.rules.manner import told

WIDTH, HEIGHT = 960, 640  # px
LEFT, RIGHT, TOP, GAP, BOTTOM = 90, 20, 40, 40, 40
PANEL = (HEIGHT - TOP - GAP - BOTTOM) // 2
NEAR_NM = 60_000  # half-height of the lower panel
DRAWN_MAX = 20_000  # of a longer trace every k-th reading is drawn

Sample = tuple[int, int]


@dataclass(frozen=True, slots=True)
class Panel:
    """One panel: where it is drawn (top, in px) and the lengths (nm) at its edges."""

    top: int
    low_nm: int
    high_nm: int

    def y(self, length_nm: int) -> float:
        """Height of a length on the page, in px."""
        share = (length_nm - self.low_nm) / max(self.high_nm - self.low_nm, 1)
        return self.top + PANEL * (1.0 - share)


def trace_svg(samples: Sequence[Sample], trace: SizedTrace) -> str:
    """Draw a trace's samples (time in ns, length in nm) with what became of them."""
    drawn = samples[:: len(samples) // DRAWN_MAX + 1]
    view = {
        "width": WIDTH,
        "height": HEIGHT,
        "left": LEFT,
        "right": WIDTH - RIGHT,
        "title": f"{trace.name}: {_what(trace)}",
        "panels": [_drawn(panel, drawn, trace) for panel in _panels(drawn, trace)],
        "first_s": drawn[0][0] / 1e9 if drawn else 0.0,
        "last_s": drawn[-1][0] / 1e9 if drawn else 0.0,
    }
    return made("trace", "picture", view)


def _what(trace: SizedTrace) -> str:
    if trace.refused:
        return say("refused", why=told(trace.refused.sentence))
    return say("sized", size=f"{mm_text(trace.size_nm)} mm", passes=len(trace.passes))


def _panels(samples: Sequence[Sample], trace: SizedTrace) -> list[Panel]:
    """The whole trace; and where it told a size, the neighbourhood of that."""
    if not samples:
        return []
    lengths = [length for _, length in samples]
    spare = max((max(lengths) - min(lengths)) // 20, 1_000)
    panels = [Panel(TOP, min(lengths) - spare, max(lengths) + spare)]
    if not trace.refused:
        near = trace.read_nm - NEAR_NM, trace.read_nm + NEAR_NM
        panels.append(Panel(TOP + PANEL + GAP, *near))
    return panels


def _drawn(panel: Panel, samples: Sequence[Sample], trace: SizedTrace) -> dict[str, Any]:
    """What stands in a panel and where, in px."""
    begin, span = samples[0][0], max(samples[-1][0] - samples[0][0], 1)
    dots = []
    for t_ns, length in samples:
        if panel.low_nm <= length <= panel.high_nm:
            x = LEFT + (WIDTH - LEFT - RIGHT) * (t_ns - begin) / span
            used = any(p.start_ns <= t_ns <= p.end_ns for p in trace.passes)
            dots.append((x, panel.y(length), used and not trace.refused))
    return {
        "top": panel.top,
        "height": PANEL,
        "edges": [(panel.y(nm), mm_text(nm)) for nm in (panel.low_nm, panel.high_nm)],
        "dots": dots,
        "size": None if trace.refused else (panel.y(trace.read_nm), f"{mm_text(trace.read_nm)} mm"),
    }
