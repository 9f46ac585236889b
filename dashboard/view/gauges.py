"""What the gauges page shows: every gauge of every bench, its health and its last faults. Pure."""

from collections.abc import Mapping
from dataclasses import dataclass

from barrelfit.dashboard.board.model import Board, GaugeFault, Link
from barrelfit.dashboard.shown import Shown, code_text
from barrelfit.dashboard.view.bench import bench_state, figure_text, trouble
from barrelfit.dashboard.view.floor import by_name, gauge_line
from barrelfit.dashboard.words import say, say_or_raw
from barrelfit.rules.manner import told


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
            heard = gauge.nm is not None or gauge.mass
            value = " ".join(figure_text(gauge, shown)) if heard else ""
            faults = tuple(fault_line(fault) for fault in reversed(gauge.faults))
            rows.append(
                GaugeRow(
                    bench,
                    name,
                    line.state,
                    away or told(gauge.reason),
                    line.age,
                    value,
                    gauge.readings,
                    faults,
                )
            )
    return tuple(sorted(rows, key=lambda row: (row.state != "lost", not row.faults)))


def helper_lines(boards: Mapping[str, Board]) -> tuple[str, ...]:
    """What is to be said of buses, rules, boards and refused messages; nothing when all is well."""
    lines: list[str] = []
    for bench in sorted(boards, key=by_name):
        board = boards[bench]
        for name, health in sorted(board.services.items()):
            if health.state == "away" or health.reason:
                helper, state = say_or_raw(f"helper_{name}"), say_or_raw(f"helper_{health.state}")
                stands = say("helper_stands", bench=bench, helper=helper, state=state)
                lines.append(f"{stands}: {told(health.reason)}" if health.reason else stands)
        for words, counts in (
            ("refused_by_bench", board.bench_refused),
            ("refused_by_board", board.refused),
        ):
            if counts:
                what = ", ".join(f"{leaf or '?'}: {counts[leaf]}" for leaf in sorted(counts))
                lines.append(say(words, bench=bench, count=sum(counts.values()), what=what))
    return tuple(lines)


def fault_line(fault: GaugeFault) -> FaultLine:
    """A fault's bytes in hex pairs and, beside them, as text with a dot for what has no glyph."""
    what = code_text("fault_seen", "fault", fault.what)
    try:
        raw = bytes.fromhex(fault.raw)
    except ValueError:
        return FaultLine(fault.utc[11:23], what, fault.raw, "")
    text = "".join(chr(b) if 0x20 <= b < 0x7F else "·" for b in raw)  # noqa: PLR2004  ASCII
    return FaultLine(fault.utc[11:23], what, raw.hex(" "), text)
