"""What the gauges page shows: every gauge of every bench, its health and its last faults. Pure."""

from collections.abc import Mapping
from dataclasses import dataclass

from barrelfit.dashboard.board.model import Board, Fault, Link
from barrelfit.dashboard.shown import Shown
from barrelfit.dashboard.view.bench import bench_state, figure_decimals, trouble
from barrelfit.dashboard.view.floor import by_name, gauge_line


@dataclass(frozen=True, slots=True)
class FaultLine:
    """A fault as shown: when, what, the bytes in hex and as text."""

    when: str
    what: str
    raw: str
    text: str


@dataclass(frozen=True, slots=True)
class GaugeRow:
    """One gauge on the gauges page."""

    bench: str
    name: str
    state: str
    reason: str
    age: str
    value: str
    readings: int
    faults: tuple[FaultLine, ...]


def gauge_rows(
    boards: Mapping[str, Board], now_ns: int, link: Link, shown: Shown
) -> tuple[GaugeRow, ...]:
    """Every gauge: lost ones first, then those with faults, else by bench; newest fault first."""
    rows = []
    for bench in sorted(boards, key=by_name):
        state = bench_state(boards[bench], now_ns, link)
        away = trouble(boards[bench], now_ns, link) if link.up and state != "online" else ""
        for name in sorted(boards[bench].gauges):
            gauge = boards[bench].gauges[name]
            line = gauge_line(gauge, state, now_ns)
            value = ""
            if gauge.nm is not None:
                value = shown.length(gauge.nm, figure_decimals(gauge, shown))
            faults = tuple(fault_line(fault) for fault in reversed(gauge.faults))
            rows.append(
                GaugeRow(
                    bench,
                    name,
                    line.state,
                    away or gauge.reason,
                    line.age,
                    value,
                    gauge.readings,
                    faults,
                )
            )
    return tuple(sorted(rows, key=lambda row: (row.state != "lost", not row.faults)))


def fault_line(fault: Fault) -> FaultLine:
    """A fault's bytes in hex pairs and, beside them, as text with a dot for what has no glyph."""
    try:
        raw = bytes.fromhex(fault.raw)
    except ValueError:
        return FaultLine(fault.utc[11:23], fault.what, fault.raw, "")
    text = "".join(chr(b) if 0x20 <= b < 0x7F else "·" for b in raw)  # noqa: PLR2004  ASCII
    return FaultLine(fault.utc[11:23], fault.what, raw.hex(" "), text)
