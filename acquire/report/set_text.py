"""A judged set as text for a terminal."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any

from barrelfit.acquire.report.content import outcome_words
from barrelfit.acquire.report.figures import bare, length
from barrelfit.acquire.report.words import say
from barrelfit.rules.manner import PLAIN, Manner, told
from barrelfit.rules.said import Said

_MARKS = {"serviceable": "  ok ", "rework": "work ", "discard": "OUT  ", "undecided": "  ?  "}


def result_text(lines: Iterable[Mapping[str, Any]], manner: Manner = PLAIN) -> str:
    """Write the lines of `report.set_result` for people: verdicts, reasons, pairing, rework."""
    return "\n".join(_all(list(lines), manner))


def _all(lines: list[Mapping[str, Any]], manner: Manner) -> Iterator[str]:
    head = _one(lines, "set")
    of = {key: head[key] for key in ("job", "sheet", "variant")}
    yield say("job_of", revision=head["sheet_revision"], **of)
    yield say("guard_of", factor=manner.marked(str(head["guard_factor"])))
    for note in head["notes"]:
        yield say("note", note=told(note, manner))
    yield ""
    for line in lines:
        if line["kind"] in {"part", "pair"}:
            yield from _judged(line, manner)
    yield from _pairing(_one(lines, "pairing"), manner)
    yield from _listed("list_rework", _one(lines, "rework")["sentences"], manner)
    measure = _one(lines, "remaining")["measure"]
    yield from _listed("list_measure", [m["sentence"] for m in measure], manner)
    total = _one(lines, "summary")
    counts = {v: total[v] for v in ("serviceable", "rework", "discard", "undecided")}
    yield say("parts_are", **counts, outcome=outcome_words(total["pairing"]))


def _one(lines: list[Mapping[str, Any]], kind: str) -> Mapping[str, Any]:
    return next(line for line in lines if line["kind"] == kind)


def _judged(line: Mapping[str, Any], manner: Manner) -> Iterator[str]:
    name = line.get("part") or line["pair"]
    yield f"{_MARKS[line['verdict']]} {name:8} {say(line['verdict'])}"
    for finding in line["findings"]:
        origin = f"  [{told(finding['limit_from'], manner)}]" if finding["limit_from"] else ""
        yield f"        {finding['code']} {told(finding['sentence'], manner)}{origin}"
    if line["todo"]:
        yield f"        {say('do', todo=told(line['todo'], manner))}"


def _pairing(line: Mapping[str, Any], manner: Manner) -> Iterator[str]:
    yield ""
    yield say("pairing_is", outcome=outcome_words(line["outcome"]))
    for seat in line["seats"]:
        of = {key: seat[key] for key in ("cylinder", "bank")}
        piston = seat["piston"] or say("piston_to_buy")
        who = say("seat", piston=piston, barrel=seat["barrel"] or say("barrel_to_buy"), **of)
        span = ""
        if seat["smallest_clearance_mm"]:
            low, high = seat["smallest_clearance_mm"], seat["largest_clearance_mm"]
            span = say("clearance_span", low=bare(low, manner), high=length(high, manner))
        yield f"  {who}  {span}"
    if line["spread_mm"] is not None:
        yield f"  {say('spread', spread=length(line['spread_mm'], manner))}"
    yield from _listed("list_limits", [*line["sentences"], *line["reasons"]], manner)
    if line["mend"]:
        yield from _listed("list_mend", line["mend"]["steps"], manner)


def _listed(title: str, some: Sequence[Said], manner: Manner) -> Iterator[str]:
    if some:
        yield say(title)
        yield from (f"  - {told(one, manner)}" for one in some)
