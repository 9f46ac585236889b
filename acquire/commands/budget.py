"""`barrelfit budget`: the uncertainty budgets of a session's sizes, checked by Monte Carlo."""

import json
from typing import TYPE_CHECKING, Annotated

import typer

from barrelfit.acquire.commands.completing import Mark, Unit, sessions
from barrelfit.rules.said import said

if TYPE_CHECKING:
    from barrelfit.rules.events import Sized
    from barrelfit.rules.manner import Manner
    from barrelfit.rules.uncertainty.budget import Budget

TRIALS_MIN = 1_000  # fewer say nothing of a 95 % interval


def budget(  # noqa: PLR0913  one argument an option
    session: Annotated[
        str,
        typer.Argument(
            metavar="SESSION",
            autocompletion=sessions,
            help="A session's file, folder or name; - is standard input.",
        ),
    ],
    feature: Annotated[
        str | None, typer.Argument(metavar="FEATURE", help="Only this feature, such as P1/skirt.")
    ] = None,
    *,
    trials: Annotated[
        int,
        typer.Option(
            min=0, max=10_000_000, metavar="N", help="Monte Carlo trials; 0 leaves it out."
        ),
    ] = 0,
    seed: Annotated[int, typer.Option(min=0, metavar="N", help="Seed of the trials.")] = 1,
    unit: Unit = "mm",
    decimal: Mark = "point",
    as_json: Annotated[bool, typer.Option("--json", help="One JSON object a size.")] = False,
) -> int:
    """Show where the uncertainty of every size comes from.

    Every size of the session, as it was written down: each cause with its share, the combined
    standard uncertainty, the degrees of freedom and the 95 % interval (after the GUM).

    --trials draws every cause from its own distribution and gives the shortest 95 % interval of
    the sum beside the budget's (after JCGM 101): they agree where the budget may be believed.
    The same seed gives the same numbers.

    Example:
      barrelfit budget session.jsonl P1/skirt --trials 10000

    Exit code: 0, or 2 when there is no such session or no such size.
    """
    from barrelfit.acquire.errors import UserError
    from barrelfit.acquire.inputs.manner import manner_of
    from barrelfit.acquire.journal.session import Session
    from barrelfit.rules.events import Sized

    manner = manner_of(unit, decimal)
    if 0 < trials < TRIALS_MIN:
        raise UserError([said("trials_expected", least=TRIALS_MIN, trials=trials)])
    sizes = [
        record.event
        for record in Session.open(session).records()
        if isinstance(record.event, Sized) and feature in {None, str(record.event.at)}
    ]
    if not sizes:
        what = said("no_size_of", at=feature) if feature else said("no_size_at_all")
        raise UserError([said("of_file", file=session, what=what)])
    for number, size in enumerate(sizes):
        text = "" if as_json else ("\n" if number else "") + _text(size, trials, seed, manner)
        print(_json(size, trials, seed) if as_json else text)
    return 0


def _text(size: "Sized", trials: int, seed: int, manner: "Manner") -> str:
    from barrelfit.acquire.report.budget_text import budget_table
    from barrelfit.rules.manner import told
    from barrelfit.rules.said import length
    from barrelfit.rules.uncertainty.size_budget import budget_from_lines

    whole = budget_from_lines(size.budget)
    read, sized = (told(length(nm), manner) for nm in (size.read_nm, size.size_nm))
    lines = [f"{size.at} read {read}", budget_table(size.size_nm, whole, manner)]
    if not size.budget:
        lines[1] = f"{sized}: no budget was written down"
    elif trials:
        ends = _drawn_nm(size.size_nm, whole, trials, seed)
        low, high = (told(length(nm), manner) for nm in ends)
        lines.append(f"by {trials} trials: {low} to {high}")
    lines += [f"note: {told(note, manner)}" for note in size.notes]
    return "\n".join(lines)


def _json(size: "Sized", trials: int, seed: int) -> str:
    import math

    from barrelfit.rules.length import shown
    from barrelfit.rules.manner import told, told_all
    from barrelfit.rules.uncertainty.size_budget import budget_from_lines

    whole = budget_from_lines(size.budget)
    fields: dict[str, object] = {
        "feature": str(size.at),
        "size_mm": shown(size.size_nm).removesuffix(" mm"),
        "standard_uncertainty_um": round(whole.u_nm) / 1000,
        "dof": None if math.isinf(whole.dof) else round(whole.dof, 1),
        "interval95_nm": whole.interval_nm(size.size_nm),
        "trials95_nm": _drawn_nm(size.size_nm, whole, trials, seed) if trials else None,
        "causes": [
            {"name": told(c.told), "share_um": round(c.u_nm) / 1000, "shared": c.shared or None}
            for c in whole.components
        ],
        "notes": told_all(size.notes),
    }
    return json.dumps(fields, ensure_ascii=False)


def _drawn_nm(size_nm: int, whole: "Budget", trials: int, seed: int) -> tuple[int, int]:
    """The shortest 95 % interval of the size, in nm, by drawing every cause."""
    import numpy as np

    from barrelfit.rules.uncertainty.montecarlo import propagate_budget

    drawn = propagate_budget(whole, np.random.default_rng(seed), trials)
    return size_nm + round(drawn.low), size_nm + round(drawn.high)
