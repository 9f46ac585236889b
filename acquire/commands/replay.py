"""`barrelfit replay`: a recorded session again: as it was, through today's code, or what if."""

import json
from typing import TYPE_CHECKING, Annotated, Any

import typer

from barrelfit.acquire.commands.completing import Mark, Unit, sessions, sheets
from barrelfit.rules.said import Said, said

if TYPE_CHECKING:
    from collections.abc import Iterator

    from barrelfit.acquire.redo.differences import Difference
    from barrelfit.acquire.redo.redo import Redone
    from barrelfit.acquire.redo.what_if import Changes
    from barrelfit.rules.manner import Manner

FINE = 0
DAMAGED = 2
FINDING = 1

Name = Annotated[
    str,
    typer.Argument(
        metavar="SESSION",
        autocompletion=sessions,
        help="A journal file, a session's name, or - for standard input.",
    ),
]
Show = Annotated[bool, typer.Option("--show", help="Show the session as it was (the default).")]
RedoIt = Annotated[bool, typer.Option("--redo", help="Run its bytes through today's code.")]
WhatIf = Annotated[bool, typer.Option("--what-if", help="Judge its sizes against something else.")]
Speed = Annotated[
    float,
    typer.Option(min=0.0, metavar="FACTOR", help="With --show: times as fast as life; 0: at once."),
]
Step = Annotated[bool, typer.Option("--step", help="With --show: wait for Enter at each line.")]
Readings = Annotated[bool, typer.Option("--readings", help="With --show: readings too.")]
SheetName = Annotated[
    str,
    typer.Option(
        metavar="SHEET",
        autocompletion=sheets,
        help="With --what-if: another engine sheet, a name or a .toml file.",
    ),
]
Variant = Annotated[str, typer.Option(metavar="NAME", help="With --what-if: another variant.")]
Group = Annotated[str, typer.Option(metavar="NAME", help="With --what-if: another size group.")]
GuardFactor = Annotated[
    float | None,
    typer.Option(
        min=0.0,
        metavar="FACTOR",
        help="With --what-if: another guard band, in standard uncertainties.",
    ),
]
AsJson = Annotated[bool, typer.Option("--json", help="One JSON object a line.")]


def replay(  # noqa: PLR0913  options
    session: Name,
    *,
    show: Show = False,
    redo: RedoIt = False,
    what_if: WhatIf = False,
    speed: Speed = 0.0,
    step: Step = False,
    readings: Readings = False,
    sheet: SheetName = "",
    variant: Variant = "",
    group: Group = "",
    guard_factor: GuardFactor = None,
    unit: Unit = "mm",
    decimal: Mark = "point",
    as_json: AsJson = False,
) -> int:
    """Replay a recorded session; the session itself is never changed.

    --show tells what was said then, in its order: nothing is computed.

    --redo takes the raw bytes of every gauge through today's drivers and rules and compares each
    reading, size and verdict with the journaled one. The first difference is named with both
    values, and with the estimator that changed where one did. Exit code 1 when there is one. Of a
    session that another version recorded, every size and verdict is told beside today's from there
    on; exit code 1 when any of them differs.

    --what-if judges the session's sizes against another sheet, variant, group or guard band; it is
    marked as that. Exit code 1 when a verdict would be another.

    Example:
      barrelfit replay session.jsonl --redo
      barrelfit replay session.jsonl --what-if --guard-factor 2

    Exit code 2 for a damaged journal or a wrong option.
    """
    from barrelfit.acquire.errors import UserError
    from barrelfit.acquire.inputs.manner import manner_of
    from barrelfit.acquire.inputs.shelf import given_sheet
    from barrelfit.acquire.journal.session import Session
    from barrelfit.acquire.redo.what_if import Changes
    from barrelfit.acquire.streams import is_standard, name_of

    if is_standard(session) and (step or is_standard(sheet)):
        problem = said("input_taken")
        raise UserError([problem])
    text_of_sheet = given_sheet(sheet) if sheet else ""
    changes = Changes(text_of_sheet, name_of(sheet), variant, group, guard_factor)
    if sum((show, redo, what_if)) > 1:
        raise UserError([said("choose_one")])
    if what_if != bool(changes.sentence):
        wanted = said("what_if_needs")
        raise UserError([wanted if what_if else said("only_with_what_if", change=changes.sentence)])
    manner = manner_of(unit, decimal)
    recorded = Session.open(session, past_holes=not (redo or what_if))
    if redo:
        return _redo(recorded, manner, as_json=as_json)
    if what_if:
        return _what_if(recorded, changes, manner, as_json=as_json)
    return _show(recorded, speed, manner, step=step, readings=readings, as_json=as_json)


def _show(
    recorded: Any,  # noqa: ANN401  a Session
    speed: float,
    manner: "Manner",
    *,
    step: bool,
    readings: bool,
    as_json: bool,
) -> int:
    from barrelfit.acquire.journal.sentences import line_of, shown
    from barrelfit.rules.manner import told

    for wait_s, record in shown(recorded.records(), speed, readings=readings):
        if wait_s > 0:
            import time

            time.sleep(wait_s)
        if step and not as_json:
            typer.prompt(
                line_of(record, manner), default="", prompt_suffix="  ⏎ ", show_default=False
            )
        else:
            print(_record_json(record) if as_json else line_of(record, manner), flush=speed > 0)
    for tail in recorded.torn:
        print(told(said("torn_tail", count=tail.length), manner))
    for file, hole in recorded.holes:
        typer.echo(f"{file}: {told(hole.told, manner)}", err=True)
    return DAMAGED if recorded.holes else FINE


def _redo(recorded: Any, manner: "Manner", *, as_json: bool) -> int:  # noqa: ANN401  a Session
    from barrelfit.acquire.redo.redo_journal import redo_session
    from barrelfit.acquire.said_json import with_parts
    from barrelfit.rules.manner import told

    done = redo_session(recorded)
    if as_json:
        print(json.dumps(with_parts(_redo_fields(done), ""), ensure_ascii=False))
    else:
        for line in _redo_lines(done):
            print(told(line, manner).rstrip())
    return FINE if done.is_same else FINDING


def _redo_lines(done: "Redone") -> "Iterator[Said]":
    from importlib.metadata import version

    yield said(
        "redo_of",
        session=done.opening.session,
        by=done.recorders,
        today=version("barrelfit"),
        records=done.records,
        readings=done.readings,
        findings=done.findings,
    )
    if done.reworded:
        yield said("redo_reworded", count=done.reworded)
    if done.open and done.difference is None:
        yield said("redo_open", count=done.open)
    if (one := done.difference) is not None:
        place = _place(one)
        yield said("redo_differs_at", place=place, kind=one.kind, field=one.field)
        yield from _both(one)
    elif done.compared:
        yield from _compared_lines(done)
    else:
        yield said("redo_equal", sizes=len(done.sizes), verdicts=len(done.judged))


def _place(one: "Difference") -> "Said":
    return said("at_record", seq=one.seq) if one.seq else said("at_the_end")


def _both(one: "Difference") -> "Iterator[Said]":
    yield said("redo_was", was=one.was)
    yield said("redo_now", now=one.now)
    if one.because:
        yield said("redo_because", why=one.because)


def _compared_lines(done: "Redone") -> "Iterator[Said]":
    """What another version's rules came to, beside today's."""
    if (first := done.first) is not None:
        yield said("rules_differ_at", place=_place(first), kind=first.kind, field=first.field)
        yield from _both(first)
    for one in done.compared:
        what = said("kind_size") if one.kind == "size" else said("kind_verdict")
        if one.is_same:
            yield said("compared_same", what=what, about=one.about, was=one.was)
        else:
            why, was, now = one.because, one.was, one.now
            yield said("compared_apart", what=what, about=one.about, was=was, now=now, why=why)
    sizes, verdicts = (
        {"same": sum(o.is_same for o in ones), "all": len(ones)}
        for kind in ("size", "verdict")
        for ones in [[o for o in done.compared if o.kind == kind]]
    )
    counts = (
        said("sizes_same", same=sizes["same"], all=sizes["all"]),
        said("verdicts_same", same=verdicts["same"], all=verdicts["all"]),
    )
    if done.is_same:
        yield said("redo_same_results", counts=counts)
    else:
        yield said("redo_other_results", counts=counts)


def _what_if(recorded: Any, changes: "Changes", manner: "Manner", *, as_json: bool) -> int:  # noqa: ANN401  a Session
    import sys

    from barrelfit.acquire.redo.what_if import (
        answers,
        as_recorded,
        cautions,
        changed_setup,
        pairing_of,
    )
    from barrelfit.acquire.said_json import with_parts
    from barrelfit.rules.judge.docket import verdict_said
    from barrelfit.rules.manner import told

    own = as_recorded(recorded.records())
    setup = changed_setup(own.opening, changes)
    found = answers(own, setup)
    for sentence in cautions(own, setup):
        print(f"barrelfit: {told(sentence, manner)}", file=sys.stderr)
    if not as_json:
        print(told(said("what_if_of", change=changes.sentence), manner))
    for answer in found:
        if as_json:
            fields = {
                "what_if": changes.sentence,
                "about": answer.about,
                "was": answer.was,
                "now": answer.now.verdict.value,
                "changed": answer.changed,
                "reasons": [finding.sentence for finding in answer.now.findings],
                "todo": answer.now.todo,
            }
            print(json.dumps(with_parts(fields), ensure_ascii=False))
            continue
        was = verdict_said(answer.was) if answer.was else said("no_verdict_was")
        now, about = verdict_said(answer.now.verdict), answer.about
        line = said("what_if_same", about=about, was=was, now=now)
        if answer.changed:
            line = said("what_if_other", about=about, was=was, now=now)
        print(told(line, manner))
        if answer.changed:
            for finding in answer.now.findings:
                print(f"      {told(finding.sentence, manner)}")
    pairing = pairing_of(own, setup)
    fields = {"what_if": changes.sentence, "pairing": pairing}
    print(json.dumps(with_parts(fields), ensure_ascii=False) if as_json else told(pairing, manner))
    return FINDING if any(answer.changed for answer in found) else FINE


def _redo_fields(done: "Redone") -> dict[str, Any]:
    from importlib.metadata import version

    difference = done.difference or done.first
    return {
        "session": done.opening.session,
        "equal": done.difference is None and done.first is None,
        "same_results": done.is_same,
        "recorded_by": done.recorders,
        "redone_by": version("barrelfit"),
        "records": done.records,
        "readings": done.readings,
        "findings": done.findings,
        "sizes": len(done.sizes),
        "verdicts": len(done.judged),
        "reworded": done.reworded,
        "not_recorded_yet": done.open,
        "difference": difference and _fields(difference),
        "compared": [_fields(one) for one in done.compared],
    }


def _fields(one: Any) -> dict[str, Any]:  # noqa: ANN401  a Difference, or a Compared
    import dataclasses

    return {field.name: getattr(one, field.name) for field in dataclasses.fields(one)}


def _record_json(record: Any) -> str:  # noqa: ANN401  a Record
    import msgspec

    from barrelfit.acquire.said_json import said_in, with_parts

    return msgspec.json.encode(with_parts(said_in(record), "")).decode()
