"""`barrelfit judge`: a whole set without any hardware, from a file of what was measured."""

import json
from pathlib import Path
from typing import Annotated

import typer

from barrelfit.acquire.commands.completing import Mark, Unit, sheets

FINDING = 1

Sheet = Annotated[
    str,
    typer.Option(
        metavar="SHEET",
        autocompletion=sheets,
        help="The engine's sheet: a file ending in .toml, or a shipped sheet.",
    ),
]
GuardFactor = Annotated[
    float,
    typer.Option(
        min=0.0, max=10.0, metavar="FACTOR", help="Guard band, in standard uncertainties."
    ),
]
AsJson = Annotated[bool, typer.Option("--json", help="One JSON object a line; lengths in mm.")]


def judge(
    set_file: Annotated[
        Path, typer.Argument(metavar="SET.toml", help="The set to judge; - is standard input.")
    ],
    *,
    sheet: Sheet,
    guard_factor: GuardFactor = 1.65,
    unit: Unit = "mm",
    decimal: Mark = "point",
    as_json: AsJson = False,
) -> int:
    """Judge an engine's set: every part, the rework, and the pairing.

    SET.toml holds the parts with their marks, what the eye saw, and what was
    measured on them (sizes, or trace files of sweeps). `barrelfit sheet blank
    SHEET` prints one to fill in, `barrelfit sheet keys --of set` lists its
    keys. One file has one unit. What is missing is undecided, never good.

    A part is serviceable when its value is inside the limit by the guard band
    (ISO 14253-1, 1.65 standard uncertainties unless set), discard or rework
    when it is outside by it, and undecided between. Which limit applies: a
    legible stamp, then a signed override, then the sheet; every limit says
    where it came from.

    The smallest clearance is taken at the smallest place of the bore, the
    largest at the largest. Taper and out-of-round are differences of diameters;
    a two-point gauge can't see three lobes.

    Example:
      barrelfit judge set.toml --sheet flat-four-85
      barrelfit judge set.toml --sheet my-engine.toml --json > result.jsonl

    Exit codes: 0 nothing was found and every cylinder has its pair; 1
    something was found (a stamp of another variant counts); 2 a file is not as
    it must be (each problem with file, line and key).

    The maker's own manual and a qualified person's judgement come first. Not
    for aircraft or any certified repair.
    """
    from barrelfit.acquire.inputs.manner import manner_of
    from barrelfit.acquire.inputs.set_file import load_set
    from barrelfit.acquire.report.set_result import all_well, result_lines
    from barrelfit.acquire.report.set_text import result_text
    from barrelfit.acquire.said_json import with_parts
    from barrelfit.rules.judge import judge_set

    manner = manner_of(unit, decimal)
    loaded = load_set(set_file, sheet, guard_factor)
    judged = judge_set(loaded.evidence)
    lines = list(result_lines(loaded, judged))
    if as_json:
        for line in lines:
            print(json.dumps(with_parts(line), ensure_ascii=False, allow_nan=False))
    else:
        print(result_text(lines, manner))
    return 0 if all_well(loaded.evidence, judged) else FINDING
