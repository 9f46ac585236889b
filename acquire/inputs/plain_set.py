"""Writes the set file of an engine of which the bench file says only variant, group and barrels.

Nothing but what gauges measure is asked of such a set; looks, rings, pins, masses and height groups
need a set file.
"""

import json

from barrelfit.acquire.errors import UserError
from barrelfit.acquire.inputs.bench_file import SetTable
from barrelfit.rules.engine.parts import LEAVABLE
from barrelfit.rules.engine.sheet import Sheet
from barrelfit.rules.said import Said, said


def plain_set_text(table: SetTable, sheet: Sheet, name: str) -> str:
    """The set file's text for a bench file's `[set]` without a `file`.

    Args:
        table: the bench file's `[set]`.
        sheet: the engine's sheet.
        name: how messages call the bench file.

    Raises:
        UserError: something is missing or is not on the sheet; all of it at once.
    """
    variants = [v.id for v in sheet.variants]
    kinds = [k.id for k in sheet.barrel.kinds]
    variant = table.variant or (variants[0] if len(variants) == 1 else "")
    kind = table.barrel_kind or (kinds[0] if len(kinds) == 1 else "")
    problems = [
        *_choice(name, "set.variant", variant, variants),
        *_choice(name, "set.barrel_kind", kind, kinds),
    ]
    groups = [group.id for v in sheet.variants if v.id == variant for group in v.groups]
    if table.group is None:
        problems.append(said("set_group_missing", name=name))
    elif groups:
        problems += _choice(name, "set.group", table.group, groups)
    if problems:
        raise UserError(problems)
    lines = [
        "schema = 1",
        'unit = "mm"',
        f'job = "{table.job}"',
        f'variant = "{variant}"',
        f'group = "{table.group}"',
        f"left_out = {json.dumps(list(LEAVABLE))}",
    ]
    for number in range(1, sheet.cylinders + 1):
        lines += ["[[piston]]", f'id = "P{number}"']
    for number in range(1, sheet.cylinders + 1):
        lines += ["[[barrel]]", f'id = "B{number}"', f'kind = "{kind}"', f'piston = "P{number}"']
    return "\n".join(lines) + "\n"


def _choice(name: str, key: str, value: str, choices: list[str]) -> list[Said]:
    if not value:
        return [said("choice_missing", name=name, key=key, choices=tuple(choices))]
    if value not in choices:
        return [said("choice_unknown", name=name, key=key, value=value, choices=tuple(choices))]
    return []
