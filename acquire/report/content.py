"""From a judged set's lines to a report: what was found, what to do, and what it stands on.

The first pages are for the customer: verdicts with their reasons, the pairing, what to do. The
rest is for a dispute: every size with its interval and budget, every limit with its origin, the
assumptions, and what proves that nothing was changed.
"""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from barrelfit.acquire.report.annex import assumptions, budgets, proof
from barrelfit.acquire.report.blocks import (
    Block,
    Cautions,
    Cell,
    Heading,
    Items,
    NewPage,
    Picture,
    Report,
    TableBlock,
    Text,
    VerdictBlock,
)
from barrelfit.acquire.report.charts import clearance_chart
from barrelfit.acquire.report.figures import length, with_interval
from barrelfit.acquire.report.parts import part_pages
from barrelfit.acquire.report.told import told_facts

Line = Mapping[str, Any]

CAUTIONS = (
    (
        "Limits from the maker's own manual and the judgement of a qualified person come first. "
        "This report is not for aircraft or any certified repair."
    ),
    (
        "An engine put together with too little clearance, or with the wrong parts, can seize and "
        "hurt people. Check every clearance again when assembling."
    ),
    "Ring edges, groove edges and freshly bored edges are sharp: wear gloves when handling them.",
    (
        "Solvents, washing fluid and blasting dust are harmful: ventilate, protect eyes, lungs and "
        "skin, and wash parts free of blasting media before they are measured or fitted."
    ),
)


def report_of(lines: Sequence[Line], photos: Mapping[str, Sequence[Picture]]) -> Report:
    """Make a report of a judged set.

    Args:
        lines: the lines of `acquire.report.set_result`, perhaps with a `session` line.
        photos: pictures by part; a photo that could not be read has none.
    """
    title = f"Report on job {one(lines, 'set')['job']}"
    return Report(title, tuple(_blocks(title, lines, photos)))


def one(lines: Sequence[Line], kind: str) -> Line:
    """The line of a kind that is there once."""
    return next(line for line in lines if line["kind"] == kind)


def all_of(lines: Sequence[Line], kind: str) -> list[Line]:
    """All lines of a kind."""
    return [line for line in lines if line["kind"] == kind]


def _blocks(
    title: str, lines: Sequence[Line], photos: Mapping[str, Sequence[Picture]]
) -> Iterator[Block]:
    yield Heading(title, 1)
    yield TableBlock(("", ""), tuple(_about(lines)), (0.26, 0.74))
    yield Text(_in_short(one(lines, "summary")))
    yield Cautions((*_simulated(lines), *CAUTIONS))
    yield Heading("Verdicts", 2)
    yield _verdicts(lines)
    yield from _overridden(all_of(lines, "overridden"))
    yield from _pairing(lines)
    yield from _rework(one(lines, "rework"))
    yield from _to_measure(one(lines, "remaining"))
    yield NewPage()
    yield Heading("Part by part", 2)
    yield from part_pages(lines, photos)
    yield NewPage()
    yield from budgets(lines)
    yield from told_facts(all_of(lines, "fact"))
    yield from _overrides(all_of(lines, "override"))
    yield from assumptions(lines)
    yield from proof(lines)


def _about(lines: Sequence[Line]) -> Iterator[tuple[Cell, ...]]:
    head, sheet = one(lines, "set"), one(lines, "sheet")
    said = f"variant {head['variant']}"
    said += f", group {head['group']}" if head["group"] else ""
    yield "Engine", sheet["engine"]
    yield "Said to be", said
    yield "Sheet", f"{head['sheet']} revision {head['sheet_revision']} ({sheet['source']})"
    if head["measured_by"]:
        yield "Measured by", head["measured_by"]
    for session in all_of(lines, "session"):
        yield "Session", f"{session['session']} at bench {session['bench']}, {session['began']}"
    yield "Reference", "all sizes at 20 °C (ISO 1); ± is half the 95 % interval"


def _simulated(lines: Sequence[Line]) -> Iterator[str]:
    if any(session["simulated"] for session in all_of(lines, "session")):
        yield "This session was simulated: no part was touched, and no verdict here is about one."


def _in_short(total: Line) -> str:
    words = [f"{total[v]} {v}" for v in ("serviceable", "rework", "discard", "undecided")]
    return f"Of the parts, {', '.join(words[:-1])} and {words[-1]}. Pairing: {total['pairing']}."


def _verdicts(lines: Sequence[Line]) -> TableBlock:
    rows = []
    for part in all_of(lines, "part"):
        worst = part["findings"][0] if part["findings"] else None
        reason = worst["sentence"] if worst else "nothing found against it"
        marks = part["marks"]["size_mm"]
        stamp = length(marks) if marks else part["marks"]["pin_class"] or ""
        row = (part["part"], part["serial"] or "", stamp, VerdictBlock(part["verdict"]), reason)
        rows.append((*row, part["todo"] or ""))
    head = ("Part", "Serial", "Stamp", "VerdictBlock", "Reason", "To do")
    return TableBlock(head, tuple(rows), (0.07, 0.09, 0.12, 0.16, 0.33, 0.23))


def _pairing(lines: Sequence[Line]) -> Iterator[Block]:
    pairing, sheet = one(lines, "pairing"), one(lines, "sheet")
    yield Heading("Which piston runs in which barrel", 2)
    seats = [s for s in pairing["seats"] if s["smallest_clearance_mm"]]
    if pairing["seats"]:
        yield TableBlock(
            ("Cylinder", "Bank", "Piston", "Barrel", "Smallest clearance", "Largest clearance"),
            tuple(_seat(seat) for seat in pairing["seats"]),
            (0.11, 0.1, 0.19, 0.12, 0.24, 0.24),
        )
    if seats:
        yield clearance_chart(seats, sheet["clearance_mm"])
        yield Text(
            "Bars run from the smallest to the largest clearance in the barrel; the whisker is the "
            "95 % interval of the smallest. A stamped smallest clearance comes before the sheet's.",
            small=True,
        )
    if pairing["spread_mm"] is not None:
        spread = length(pairing["spread_mm"])
        yield Text(f"Outcome: {pairing['outcome']}. Spread of the smallest clearances: {spread}.")
    else:
        yield Text(f"Outcome: {pairing['outcome']}.")
    if pairing["sentences"] or pairing["reasons"]:
        yield Items((*pairing["sentences"], *pairing["reasons"]))
    if pairing["mend"]:
        yield Text("The cheapest mend, by the sheet's relative costs:")
        yield Items(tuple(pairing["mend"]["steps"]))


def _seat(seat: Line) -> tuple[Cell, ...]:
    tight = loose = "-"
    if seat["smallest_clearance_mm"]:
        tight = with_interval(seat["smallest_clearance_mm"], seat["interval95_mm"])
        loose = with_interval(seat["largest_clearance_mm"], seat["largest_interval95_mm"])
    return (
        str(seat["cylinder"]),
        seat["bank"],
        _with_pin(seat) if seat["piston"] else "to buy",
        seat["barrel"] or "to buy",
        tight,
        loose,
    )


def _with_pin(seat: Line) -> str:
    """The piston, and the pin that stays with it."""
    return f"{seat['piston']} with pin {seat['pin']}" if seat.get("pin") else str(seat["piston"])


def _rework(rework: Line) -> Iterator[Block]:
    if rework["sentences"]:
        yield Heading("Rework", 2)
        yield Items(tuple(rework["sentences"]))


def _to_measure(remaining: Line) -> Iterator[Block]:
    if remaining["measure"]:
        yield Heading("Still to be measured", 2)
        yield Items(tuple(m["sentence"] for m in remaining["measure"]))


def _overrides(overrides: Sequence[Line]) -> Iterator[Block]:
    if not overrides:
        return
    yield Heading("Overrides of limits", 2)
    rows = [
        (o["quantity"], o["part"] or "all", length(o["value_mm"]), o["signed_by"], o["why"])
        for o in overrides
    ]
    head = ("Quantity", "For", "Value", "Signed by", "Why")
    yield TableBlock(head, tuple(rows), (0.2, 0.1, 0.15, 0.2, 0.35))


def _overridden(overridden: Sequence[Line]) -> Iterator[Block]:
    if not overridden:
        return
    yield Heading("Verdicts that a lead decided otherwise", 2)
    rows = [
        (o["about"], VerdictBlock(o["was"]), VerdictBlock(o["verdict"]), o["who"], o["reason"])
        for o in overridden
    ]
    head = ("About", "The rules said", "The lead decided", "Signed by", "Why")
    yield TableBlock(head, tuple(rows), (0.12, 0.2, 0.2, 0.18, 0.3))
