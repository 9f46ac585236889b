"""A judged set as text for a terminal."""

from collections.abc import Iterable, Iterator, Mapping
from typing import Any

_MARKS = {"serviceable": "  ok ", "rework": "work ", "discard": "OUT  ", "undecided": "  ?  "}


def result_text(lines: Iterable[Mapping[str, Any]]) -> str:
    """Write the lines of `report.set_result` for people: verdicts, reasons, pairing, rework."""
    return "\n".join(_all(list(lines)))


def _all(lines: list[Mapping[str, Any]]) -> Iterator[str]:
    head = _one(lines, "set")
    sheet = f"sheet {head['sheet']} rev {head['sheet_revision']}"
    yield f"job {head['job']}, {sheet}, variant {head['variant']}"
    yield f"guard band {head['guard_factor']} standard uncertainties; sizes at 20 °C"
    for note in head["notes"]:
        yield f"note: {note}"
    yield ""
    for line in lines:
        if line["kind"] in {"part", "pair"}:
            yield from _judged(line)
    yield from _pairing(_one(lines, "pairing"))
    yield from _listed("rework", _one(lines, "rework")["sentences"])
    measure = _one(lines, "remaining")["measure"]
    yield from _listed("measure", [m["sentence"] for m in measure])
    total = _one(lines, "summary")
    counts = (f"{total[v]} {v}" for v in ("serviceable", "rework", "discard", "undecided"))
    yield f"parts: {', '.join(counts)}; pairing: {total['pairing']}"


def _one(lines: list[Mapping[str, Any]], kind: str) -> Mapping[str, Any]:
    return next(line for line in lines if line["kind"] == kind)


def _judged(line: Mapping[str, Any]) -> Iterator[str]:
    name = line.get("part") or line["pair"]
    yield f"{_MARKS[line['verdict']]} {name:8} {line['verdict']}"
    for finding in line["findings"]:
        origin = f"  [{finding['limit_from']}]" if finding["limit_from"] else ""
        yield f"        {finding['code']} {finding['sentence']}{origin}"
    if line["todo"]:
        yield f"        do: {line['todo']}"


def _pairing(line: Mapping[str, Any]) -> Iterator[str]:
    yield ""
    yield f"pairing: {line['outcome']}"
    for seat in line["seats"]:
        who = f"{seat['piston'] or '(piston to buy)'} in {seat['barrel'] or '(barrel to buy)'}"
        span = ""
        if seat["smallest_clearance_mm"]:
            span = f"clearance {seat['smallest_clearance_mm']} to {seat['largest_clearance_mm']} mm"
        yield f"  cylinder {seat['cylinder']} ({seat['bank']}): {who}  {span}"
    if line["spread_mm"] is not None:
        yield f"  spread of the smallest clearances {line['spread_mm']} mm"
    yield from _listed("limits", [*line["sentences"], *line["reasons"]])
    if line["mend"]:
        yield from _listed("cheapest mend", line["mend"]["steps"])


def _listed(title: str, sentences: Iterable[str]) -> Iterator[str]:
    sentences = list(sentences)
    if sentences:
        yield f"{title}:"
        yield from (f"  - {s}" for s in sentences)
