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
from barrelfit.acquire.report.clearance_drawing import (
    ClearanceDrawn,
    PairDrawn,
    clearance_drawings,
)
from barrelfit.acquire.report.engine_drawing import WORST, CylinderDrawn, engine_drawing
from barrelfit.acquire.report.figures import bare, length, nm, with_interval
from barrelfit.acquire.report.parts import part_pages
from barrelfit.acquire.report.told import told_facts
from barrelfit.acquire.report.words import say, say_or_raw
from barrelfit.rules.manner import PLAIN, Manner, told, told_all

Line = Mapping[str, Any]

CAUTIONS = ("caution_limits", "caution_seizing", "caution_edges", "caution_dust")
"""Keys of the cautions that stand in every report."""


def report_of(
    lines: Sequence[Line], photos: Mapping[str, Sequence[Picture]], manner: Manner = PLAIN
) -> Report:
    """Make a report of a judged set.

    Args:
        lines: the lines of `acquire.report.set_result`, perhaps with a `session` line.
        photos: pictures by part; a photo that could not be read has none.
        manner: how lengths are written.
    """
    title = say("report_on", job=one(lines, "set")["job"])
    return Report(title, tuple(_blocks(title, lines, photos, manner)))


def one(lines: Sequence[Line], kind: str) -> Line:
    """The line of a kind that is there once."""
    return next(line for line in lines if line["kind"] == kind)


def all_of(lines: Sequence[Line], kind: str) -> list[Line]:
    """All lines of a kind."""
    return [line for line in lines if line["kind"] == kind]


def _blocks(
    title: str,
    lines: Sequence[Line],
    photos: Mapping[str, Sequence[Picture]],
    manner: Manner,
) -> Iterator[Block]:
    yield Heading(title, 1)
    yield TableBlock(("", ""), tuple(_about(lines)), (0.26, 0.74))
    yield Text(_in_short(one(lines, "summary")))
    yield Cautions((*_simulated(lines), *map(say, CAUTIONS)))
    yield Heading(say("verdicts"), 2)
    yield _verdicts(lines, manner)
    yield from _overridden(all_of(lines, "overridden"))
    yield from _pairing(lines, manner)
    yield from _rework(one(lines, "rework"), manner)
    yield from _to_measure(one(lines, "remaining"), manner)
    yield NewPage()
    yield Heading(say("part_by_part"), 2)
    yield from part_pages(lines, photos, manner)
    yield NewPage()
    yield from budgets(lines, manner)
    yield from told_facts(all_of(lines, "fact"), manner)
    yield from _overrides(all_of(lines, "override"), manner)
    yield from assumptions(lines, manner)
    yield from proof(lines)


def _about(lines: Sequence[Line]) -> Iterator[tuple[Cell, ...]]:
    head, sheet = one(lines, "set"), one(lines, "sheet")
    variant, group = head["variant"], head["group"]
    yield say("engine"), sheet["engine"]
    yield (
        say("said_to_be"),
        (
            say("variant_group", variant=variant, group=group)
            if group
            else say("variant", variant=variant)
        ),
    )
    revision, source = head["sheet_revision"], sheet["source"]
    yield say("sheet"), say("sheet_is", sheet=head["sheet"], revision=revision, source=source)
    if head["measured_by"]:
        yield say("measured_by"), head["measured_by"]
    for session in all_of(lines, "session"):
        of = {key: session[key] for key in ("session", "bench", "began")}
        yield say("session"), say("session_is", **of)
        if session.get("asked_for"):
            yield say("asked_for"), session["asked_for"]
    yield say("reference"), say("reference_is")


def _simulated(lines: Sequence[Line]) -> Iterator[str]:
    if any(session["simulated"] for session in all_of(lines, "session")):
        yield say("caution_simulated")


def _in_short(total: Line) -> str:
    counts = {v: total[v] for v in ("serviceable", "rework", "discard", "undecided")}
    return say("in_short", **counts, outcome=outcome_words(total["pairing"]))


def outcome_words(outcome: str) -> str:
    """What came of the pairing, in words."""
    return say_or_raw(f"outcome_{outcome}", outcome)


def _verdicts(lines: Sequence[Line], manner: Manner) -> TableBlock:
    rows = []
    for part in all_of(lines, "part"):
        worst = part["findings"][0] if part["findings"] else None
        reason = told(worst["sentence"], manner) if worst else say("nothing_found")
        marks = part["marks"]["size_mm"]
        stamp = length(marks, manner) if marks else part["marks"]["pin_class"] or ""
        row = (part["part"], part["serial"] or "", stamp, VerdictBlock(part["verdict"]), reason)
        rows.append((*row, told(part["todo"], manner)))
    head = tuple(map(say, ("part", "serial", "stamp", "verdict", "reason", "to_do")))
    return TableBlock(head, tuple(rows), (0.07, 0.09, 0.12, 0.16, 0.33, 0.23))


def _pairing(lines: Sequence[Line], manner: Manner) -> Iterator[Block]:
    pairing = one(lines, "pairing")
    yield Heading(say("which_piston"), 2)
    if pairing["seats"]:
        yield TableBlock(
            tuple(map(say, _SEAT)),
            tuple(_seat(seat, manner) for seat in pairing["seats"]),
            (0.11, 0.1, 0.19, 0.12, 0.24, 0.24),
        )
        yield engine_drawing(_cylinders(lines, pairing["seats"]), say("engine_from_above"))
        yield from clearance_drawings(_pairs_drawn(lines, pairing["seats"], manner), manner)
        yield Text(say("bars"), small=True)
    outcome = outcome_words(pairing["outcome"])
    if pairing["spread_mm"] is not None:
        spread = length(pairing["spread_mm"], manner)
        yield Text(say("outcome_spread", outcome=outcome, spread=spread))
    else:
        yield Text(say("outcome", outcome=outcome))
    if pairing["sentences"] or pairing["reasons"]:
        yield Items(told_all([*pairing["sentences"], *pairing["reasons"]], manner))
    if pairing["mend"]:
        yield Text(say("cheapest_mend"))
        yield Items(told_all(pairing["mend"]["steps"], manner))


def _pairs_drawn(lines: Sequence[Line], seats: Sequence[Line], manner: Manner) -> list[PairDrawn]:
    """Each seat's clearances beside their limits; an earlier version's result tells no limits."""
    pairs = {line["pair"]: line for line in lines if line["kind"] == "pair"}
    drawn = []
    for seat in seats:
        piston, barrel = seat["piston"] or "-", seat["barrel"] or "-"
        name = say("in_barrel", cylinder=seat["cylinder"], piston=piston, barrel=barrel)
        pair = pairs.get(f"{piston}+{barrel}", {})
        ends, figures = _ends(seat, pair.get("clearance")), say("clearance_none")
        if ends is not None:
            low, high = (seat[f"{which}_clearance_mm"] for which in ("smallest", "largest"))
            figures = say("from_to", low=bare(low, manner), high=length(high, manner))
        verdict = pair.get("verdict", "")
        word = say_or_raw(verdict, verdict) if verdict else ""
        drawn.append(PairDrawn(name, figures, ends, verdict, word))
    return drawn


def _ends(seat: Line, held: Line | None) -> tuple[ClearanceDrawn, ClearanceDrawn] | None:
    """A seat's smallest and largest clearance, None where it has none."""
    if seat["smallest_clearance_mm"] is None:
        return None
    values = (
        (seat["smallest_clearance_mm"], seat["interval95_mm"], (held or {}).get("smallest")),
        (seat["largest_clearance_mm"], seat["largest_interval95_mm"], (held or {}).get("largest")),
    )
    small, large = (_end(*value) for value in values)
    return small, large


def _end(value: str, interval: Sequence[str], held: Line | None) -> ClearanceDrawn:
    half_nm = -(-(nm(interval[1]) - nm(interval[0])) // 2)
    limit = None if held is None or held["limit_mm"] is None else nm(held["limit_mm"])
    return ClearanceDrawn(
        nm(value), half_nm, limit, 0 if held is None else nm(held["guard_band_mm"])
    )


def _cylinders(lines: Sequence[Line], seats: Sequence[Line]) -> list[CylinderDrawn]:
    """What is drawn of each seat: the worst verdict of its parts and of the pair."""
    given = {line["part"]: line["verdict"] for line in lines if line["kind"] == "part"}
    given |= {line["pair"]: line["verdict"] for line in lines if line["kind"] == "pair"}
    drawn = []
    for seat in seats:
        piston, barrel = seat["piston"], seat["barrel"]
        verdict = word = ""
        if piston and barrel:
            about = (piston, barrel, f"{piston}+{barrel}")
            verdict = min((given[a] for a in about if a in given), key=WORST.index)
            word = say_or_raw(verdict, verdict)
        parts = f"{piston or '-'} + {barrel or '-'}"
        drawn.append(CylinderDrawn(str(seat["cylinder"]), seat["bank"], parts, verdict, word))
    return drawn


_SEAT = ("cylinder", "bank", "piston", "barrel", "smallest_clearance", "largest_clearance")


def _seat(seat: Line, manner: Manner) -> tuple[Cell, ...]:
    tight = loose = "-"
    if seat["smallest_clearance_mm"]:
        tight = with_interval(seat["smallest_clearance_mm"], seat["interval95_mm"], manner)
        loose = with_interval(seat["largest_clearance_mm"], seat["largest_interval95_mm"], manner)
    return (
        str(seat["cylinder"]),
        seat["bank"],
        _with_pin(seat) if seat["piston"] else say("to_buy"),
        seat["barrel"] or say("to_buy"),
        tight,
        loose,
    )


def _with_pin(seat: Line) -> str:
    """The piston, and the pin that stays with it."""
    piston, pin = seat["piston"], seat.get("pin")
    return say("with_pin", piston=piston, pin=pin) if pin else str(piston)


def _rework(rework: Line, manner: Manner) -> Iterator[Block]:
    if rework["sentences"]:
        yield Heading(say("rework_head"), 2)
        yield Items(told_all(rework["sentences"], manner))


def _to_measure(remaining: Line, manner: Manner) -> Iterator[Block]:
    if remaining["measure"]:
        yield Heading(say("still_to_measure"), 2)
        yield Items(tuple(told(m["sentence"], manner) for m in remaining["measure"]))


def _overrides(overrides: Sequence[Line], manner: Manner) -> Iterator[Block]:
    if not overrides:
        return
    yield Heading(say("overrides"), 2)
    rows = [
        (
            o["quantity"],
            o["part"] or say("all"),
            length(o["value_mm"], manner),
            o["signed_by"],
            o["why"],
        )
        for o in overrides
    ]
    head = tuple(map(say, ("quantity", "for", "value", "signed_by", "why")))
    yield TableBlock(head, tuple(rows), (0.2, 0.1, 0.15, 0.2, 0.35))


def _overridden(overridden: Sequence[Line]) -> Iterator[Block]:
    if not overridden:
        return
    yield Heading(say("overridden"), 2)
    rows = [
        (o["about"], VerdictBlock(o["was"]), VerdictBlock(o["verdict"]), o["who"], o["reason"])
        for o in overridden
    ]
    head = tuple(map(say, ("about", "rules_said", "lead_decided", "signed_by", "why")))
    yield TableBlock(head, tuple(rows), (0.12, 0.2, 0.2, 0.18, 0.3))
