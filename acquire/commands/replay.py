"""`barrelfit replay`: a recorded session again: as it was, through today's code, or what if."""

import json
from typing import TYPE_CHECKING, Annotated, Any

import typer

from barrelfit.acquire.commands.completing import Mark, Unit, sessions, sheets
from barrelfit.rules.said import said

if TYPE_CHECKING:
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
        return _redo(recorded, as_json=as_json)
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
        print(f"(the last {tail.length} bytes were never finished)")
    for file, hole in recorded.holes:
        typer.echo(f"{file}: {hole}", err=True)
    return DAMAGED if recorded.holes else FINE


def _redo(recorded: Any, *, as_json: bool) -> int:  # noqa: ANN401  a Session
    from importlib.metadata import version

    from barrelfit.acquire.redo.redo_journal import redo_session

    done = redo_session(recorded)
    if as_json:
        print(json.dumps(_redo_fields(done), ensure_ascii=False))
        return FINE if done.is_same else FINDING
    print(
        f"session {done.opening.session}, recorded by barrelfit {done.recorders}, redone by "
        f"{version('barrelfit')}: {done.records} records, {done.readings} readings, "
        f"{done.findings} findings"
    )
    if done.reworded:
        print(f"  {done.reworded} findings are worded differently today")
    if done.open and done.difference is None:
        print(f"  {done.open} findings had not been recorded yet when the session ended")
    if done.difference is not None:
        _tell_difference("REDO DIFFERS", done.difference)
    elif done.compared:
        _tell_compared(done)
    else:
        print(f"REDO EQUAL: {len(done.sizes)} sizes, {len(done.judged)} verdicts as recorded")
    return FINE if done.is_same else FINDING


def _tell_difference(what: str, difference: "Difference") -> None:
    place = f"record {difference.seq}" if difference.seq else "the end"
    print(f"{what} at {place}: {difference.kind} {difference.field}".rstrip())
    print(f"  recorded: {difference.was}")
    print(f"  today:    {difference.now}")
    if difference.because:
        print(f"  because:  {difference.because}")


def _tell_compared(done: "Redone") -> None:
    """What another version's rules came to, beside today's."""
    first = done.first
    if first is not None:
        _tell_difference("the rules say something else from here on, first", first)
    for one in done.compared:
        if one.is_same:
            print(f"  {one.kind} {one.about}: {one.was}, the same today")
        else:
            print(f"* {one.kind} {one.about}: recorded {one.was}; today {one.now}: {one.because}")
    counts = [
        f"{sum(o.is_same for o in ones)} of {len(ones)} {kind}s the same"
        for kind in ("size", "verdict")
        for ones in [[o for o in done.compared if o.kind == kind]]
    ]
    word = "REDO SAME RESULTS" if done.is_same else "REDO DIFFERS"
    print(f"{word}: {', '.join(counts)}")


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
    from barrelfit.rules.manner import told

    own = as_recorded(recorded.records())
    setup = changed_setup(own.opening, changes)
    found = answers(own, setup)
    for sentence in cautions(own, setup):
        print(f"barrelfit: {sentence}", file=sys.stderr)
    if not as_json:
        print(f"WHAT IF {changes.sentence}: not the session's verdicts, never recorded")
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
        mark = "*" if answer.changed else " "
        print(f"{mark} {answer.about}: {answer.was or 'no verdict'} -> {answer.now.verdict.value}")
        if answer.changed:
            for finding in answer.now.findings:
                print(f"      {told(finding.sentence, manner)}")
    pairing = pairing_of(own, setup)
    fields = {"what_if": changes.sentence, "pairing": pairing}
    print(json.dumps(with_parts(fields), ensure_ascii=False) if as_json else told(pairing, manner))
    return FINDING if any(answer.changed for answer in found) else FINE


def _redo_fields(done: "Redone") -> dict[str, Any]:
    import dataclasses
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
        "difference": difference and dataclasses.asdict(difference),
        "compared": [dataclasses.asdict(one) for one in done.compared],
    }


def _record_json(record: Any) -> str:  # noqa: ANN401  a Record
    import msgspec

    from barrelfit.acquire.said_json import said_in, with_parts

    return msgspec.json.encode(with_parts(said_in(record), "")).decode()
