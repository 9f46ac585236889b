"""Writes the set file that a job begins with: every part of the engine, and nothing known of it."""

import json
from collections.abc import Sequence

from barrelfit.acquire.errors import UserError
from barrelfit.acquire.inputs.shelf import parse_toml
from barrelfit.acquire.journal.job_events import JobOrdered
from barrelfit.rules.engine.doubts import NAME_MAX, text_problems
from barrelfit.rules.engine.form import FormError
from barrelfit.rules.engine.parts import LEAVABLE, STEPS
from barrelfit.rules.engine.setfile import set_from
from barrelfit.rules.engine.sheet import Sheet
from barrelfit.rules.said import said

KINDS = (("piston", "P"), ("barrel", "B"), ("pin", "W"))


def job_set_text(order: JobOrdered, sheet: Sheet) -> str:
    """The set file's text of a new job.

    Args:
        order: what was ordered.
        sheet: the engine's sheet.

    Raises:
        UserError: the job has no name, or is not of this sheet; every problem at once.
    """
    if not order.job.strip() or len(order.job) > NAME_MAX:
        raise UserError([said("job_reference_length", most=NAME_MAX)])
    unknown = [topic for topic in order.left_out if topic not in LEAVABLE]
    if unknown:
        raise UserError([said("cant_be_left_out", topic=unknown[0], topics=tuple(LEAVABLE))])
    unknown = [step for step in order.steps if step not in STEPS]
    if unknown:
        raise UserError([said("no_such_step", step=unknown[0], steps=tuple(STEPS))])
    text = "\n".join(_lines(order, sheet)) + "\n"
    table = parse_toml(text, "job")
    try:
        set_from(table, sheet, "job")
    except FormError as error:
        raise UserError(error.problems) from None
    if problems := [problem.told for problem in text_problems(table)]:
        raise UserError(problems)
    return text


def _lines(order: JobOrdered, sheet: Sheet) -> Sequence[str]:
    lines = ["schema = 1", 'unit = "mm"', f"job = {_text(order.job)}"]
    lines.append(f"variant = {_text(order.variant)}")
    if order.group:
        lines.append(f"group = {_text(order.group)}")
    if order.left_out:
        lines.append(f"left_out = {json.dumps(list(order.left_out))}")
    if order.steps:
        lines.append(f"steps = {json.dumps(list(order.steps))}")
    for kind, letter in KINDS:
        if kind == "pin" and "pins" in order.left_out:
            continue
        for number in range(1, sheet.cylinders + 1):
            lines += ["", f"[[{kind}]]", f'id = "{letter}{number}"']
            if kind != "piston":
                lines.append(f'piston = "P{number}"')
    return lines


def _text(text: str) -> str:
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")
