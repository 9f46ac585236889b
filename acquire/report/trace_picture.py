"""A trace as a picture (SVG 1.1): every reading, which were used for the size, and the size.

Two panels over one time axis: the whole trace, and the neighbourhood of the size, where a crest
is decided. Used readings are filled discs, readings cut away are open rings, so that shape and
not colour alone tells them apart.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from html import escape

from barrelfit.acquire.report.sized_trace import SizedTrace, mm_text

WIDTH, HEIGHT = 960, 640
LEFT, RIGHT, TOP, GAP, BOTTOM = 90, 20, 40, 40, 40
PANEL = (HEIGHT - TOP - GAP - BOTTOM) // 2
NEAR_NM = 60_000  # half-height of the lower panel
DRAWN_MAX = 20_000  # of a longer trace every k-th reading is drawn
USED, CUT, LINE = "#1b4f8a", "#8a8a8a", "#b3400c"

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
    title = escape(f"{trace.name}: {_what(trace)}")
    size = f'width="{WIDTH}" height="{HEIGHT}" viewBox="0 0 {WIDTH} {HEIGHT}"'
    body = [
        f'<svg xmlns="http://www.w3.org/2000/svg" {size} font-family="sans-serif" font-size="13">',
        f"<title>{title}</title>",
        f'<rect width="{WIDTH}" height="{HEIGHT}" fill="#ffffff"/>',
        f'<text x="{LEFT}" y="24" font-size="16">{title}</text>',
    ]
    if samples:
        body += _panels(samples[:: len(samples) // DRAWN_MAX + 1], trace)
    return "\n".join([*body, "</svg>"]) + "\n"


def _what(trace: SizedTrace) -> str:
    if trace.refused:
        return f"refused: {trace.refused.sentence}"
    return f"{mm_text(trace.size_nm)} mm, {len(trace.passes)} passes"


def _panels(samples: Sequence[Sample], trace: SizedTrace) -> list[str]:
    lengths = [length for _, length in samples]
    spare = max((max(lengths) - min(lengths)) // 20, 1_000)
    whole = Panel(TOP, min(lengths) - spare, max(lengths) + spare)
    drawn = _panel(whole, samples, trace)
    if not trace.refused:
        near = Panel(TOP + PANEL + GAP, trace.read_nm - NEAR_NM, trace.read_nm + NEAR_NM)
        drawn += _panel(near, samples, trace)
    first, last = samples[0][0] / 1e9, samples[-1][0] / 1e9
    y = HEIGHT - BOTTOM + 24
    drawn.append(f'<text x="{LEFT}" y="{y}">{first:.1f} s</text>')
    drawn.append(f'<text x="{WIDTH - RIGHT}" y="{y}" text-anchor="end">{last:.1f} s</text>')
    drawn.append(
        f'<text x="{WIDTH // 2}" y="{y}" text-anchor="middle">'
        "filled: used for the size; open: cut away</text>"
    )
    return drawn


def _panel(panel: Panel, samples: Sequence[Sample], trace: SizedTrace) -> list[str]:
    drawn = [_frame(panel), *(_edge(panel, nm) for nm in (panel.low_nm, panel.high_nm))]
    begin, span = samples[0][0], max(samples[-1][0] - samples[0][0], 1)
    for t_ns, length in samples:
        if panel.low_nm <= length <= panel.high_nm:
            x = LEFT + (WIDTH - LEFT - RIGHT) * (t_ns - begin) / span
            used = any(p.start_ns <= t_ns <= p.end_ns for p in trace.passes)
            drawn.append(_dot(x, panel.y(length), filled=used and not trace.refused))
    if not trace.refused:
        drawn += _size_line(panel.y(trace.read_nm), trace.read_nm)
    return drawn


def _frame(panel: Panel) -> str:
    width = WIDTH - LEFT - RIGHT
    place = f'x="{LEFT}" y="{panel.top}" width="{width}" height="{PANEL}"'
    return f'<rect {place} fill="none" stroke="#444444"/>'


def _edge(panel: Panel, length_nm: int) -> str:
    y = panel.y(length_nm) + 4
    return f'<text x="{LEFT - 6}" y="{y:.0f}" text-anchor="end">{mm_text(length_nm)}</text>'


def _dot(x: float, y: float, *, filled: bool) -> str:
    fill, edge = (USED, USED) if filled else ("none", CUT)
    return f'<circle cx="{x:.1f}" cy="{y:.1f}" r="2.5" fill="{fill}" stroke="{edge}"/>'


def _size_line(y: float, length_nm: int) -> list[str]:
    ends = f'x1="{LEFT}" y1="{y:.1f}" x2="{WIDTH - RIGHT}" y2="{y:.1f}"'
    text = f"size as read {mm_text(length_nm)} mm"
    return [
        f'<line {ends} stroke="{LINE}"/>',
        f'<text x="{LEFT + 6}" y="{y - 5:.1f}" fill="{LINE}">{text}</text>',
    ]
