"""`barrelfit sheet`: look into engine sheets and check one of your own."""

import json
from pathlib import Path
from typing import Annotated

import typer

from barrelfit.acquire.commands.completing import choice, sheets
from barrelfit.acquire.commands.manual import Contents, Manual
from barrelfit.rules.said import decimal, said

app = typer.Typer(
    cls=Contents,
    no_args_is_help=True,
    rich_markup_mode=None,
    help="Engine sheets: check one, list them, start a set file from one.",
)

AsJson = Annotated[bool, typer.Option("--json", help="One JSON object a line.")]


@app.command("check", cls=Manual)
def check(
    file: Annotated[
        Path, typer.Argument(metavar="FILE", help="The sheet file; - is standard input.")
    ],
    as_json: AsJson = False,  # noqa: FBT002  an option
) -> None:
    """Check a sheet file: keys, units, limits, names.

    No limit may be below another, no name may be there twice. All problems are
    told at once, each with file, line and key (exit 2). Exit 0 when it is
    sound.

    Example:
      barrelfit sheet check my-engine.toml
    """
    from barrelfit.acquire.inputs.set_file import sheet_of
    from barrelfit.acquire.inputs.shelf import given_text
    from barrelfit.acquire.streams import name_of
    from barrelfit.rules.manner import told

    sheet = sheet_of(given_text(file), name_of(file))
    groups = sum(len(v.groups) for v in sheet.variants)
    if as_json:
        found = {"sheet": sheet.id, "revision": sheet.revision, "cylinders": sheet.cylinders}
        print(json.dumps({**found, "variants": len(sheet.variants), "groups": groups}))
        return
    sound = said(
        "sheet_is_sound",
        file=name_of(file),
        sheet=sheet.said,
        cylinders=sheet.cylinders,
        groups=groups,
    )
    print(told(sound))


@app.command("list", cls=Manual)
def list_sheets(as_json: AsJson = False) -> None:  # noqa: FBT002  an option
    """List the shipped sheets; all are invented examples, none is a real engine's.

    Example:
      barrelfit sheet list
    """
    from barrelfit.acquire.inputs.set_file import sheet_of
    from barrelfit.acquire.inputs.shelf import shipped_names, shipped_text

    for name in shipped_names("rules", "sheets"):
        sheet = sheet_of(shipped_text("rules", "sheets", name), name)
        if as_json:
            print(json.dumps({"sheet": name, "engine": sheet.engine, "source": sheet.source}))
        else:
            print(f"{name:24} {sheet.engine}")


@app.command("show", cls=Manual)
def show(
    name: Annotated[
        str, typer.Argument(metavar="SHEET", autocompletion=sheets, help="A shipped sheet's name.")
    ],
) -> None:
    """Print a shipped sheet's file, to start your own from.

    Example:
      barrelfit sheet show flat-four-85 > my-engine.toml
    """
    from barrelfit.acquire.inputs.shelf import shipped_text

    print(shipped_text("rules", "sheets", name), end="")


@app.command("blank", cls=Manual)
def blank(
    name: Annotated[
        str,
        typer.Argument(
            metavar="SHEET",
            autocompletion=sheets,
            help="A sheet file, a shipped sheet, or - for standard input.",
        ),
    ],
) -> None:
    """Print a set file for a sheet, to be filled in and given to `judge`.

    It holds every part of the engine, and every key with its meaning as a
    comment. As it is, nothing is measured, so everything is undecided.

    Example:
      barrelfit sheet blank flat-four-85 > set.toml
    """
    from barrelfit.acquire.inputs.blank_set import blank_set
    from barrelfit.acquire.inputs.set_file import sheet_of
    from barrelfit.acquire.inputs.shelf import given_sheet
    from barrelfit.acquire.streams import name_of

    print(blank_set(sheet_of(given_sheet(name), name_of(name))), end="")


@app.command("keys", cls=Manual)
def keys(
    of: Annotated[
        str,
        typer.Option(
            metavar="FILE", autocompletion=choice("sheet", "set"), help="Which file: sheet or set."
        ),
    ] = "sheet",
    as_json: AsJson = False,  # noqa: FBT002  an option
) -> None:
    """List every key that a sheet (or a set file) may hold, with its kind and meaning.

    Example:
      barrelfit sheet keys --of set
    """
    from barrelfit.acquire.errors import UserError
    from barrelfit.acquire.inputs.form_help import form_lines
    from barrelfit.rules.engine.set_form import SET
    from barrelfit.rules.engine.sheet_form import SHEET

    forms = {"sheet": SHEET, "set": SET}
    if of not in forms:
        raise UserError([said("no_form_of", of=of)])
    for line in form_lines(forms[of]):
        text = said(
            "text_17",
            key=decimal(f"{line['key']:44}"),
            kind=decimal(f"{line['kind']:18}"),
            meaning=line["meaning"],
        )
        print(json.dumps(line) if as_json else text)


@app.command("fits", cls=Manual)
def fits(
    file: Annotated[Path, typer.Argument(metavar="SET", help="A set file; - is standard input.")],
    sheet: Annotated[
        list[str] | None,
        typer.Option(
            metavar="SHEET",
            autocompletion=sheets,
            help="A sheet file or a shipped sheet; may be given often. Left out: all shipped.",
        ),
    ] = None,
    as_json: AsJson = False,  # noqa: FBT002  an option
) -> None:
    """Say which sheets fit a set's parts at all, with reasons, where the engine is unknown.

    What the set file says the engine is counts for nothing: its stamps, kinds
    and sizes do. Of a mixed engine it names the parts that fit where others
    don't. Exit 1 when no sheet fits.

    Example:
      barrelfit sheet fits set.toml --sheet flat-four-85 --sheet flat-six-92-plated
    """
    from barrelfit.acquire.inputs.set_file import set_as_told, sheet_of
    from barrelfit.acquire.inputs.shelf import given_text, sheet_text, shipped_names
    from barrelfit.acquire.streams import name_of
    from barrelfit.rules.judge.fits import sheets_that_fit
    from barrelfit.rules.manner import told_all

    told = set_as_told(given_text(file), name_of(file))
    names = sheet or list(shipped_names("rules", "sheets"))
    known = [sheet_of(sheet_text(name), name) for name in names]
    sizes = {m.at: m.read_nm for m in told.measured} | {s.at: s.size_nm for s in told.found.sizes}
    found = sheets_that_fit(known, told.engine, sizes)
    for fit in found:
        why, against = told_all(fit.speaks_for), told_all(fit.against)
        if as_json:
            line = {"sheet": fit.sheet, "variant": fit.variant, "outcome": fit.outcome}
            print(json.dumps({**line, "for": why, "against": against, "parts": fit.parts}))
            continue
        print(f"{fit.sheet}, variant {fit.variant}: {OUTCOMES[fit.outcome]}")
        for sentence in against or why:
            print(f"  {sentence}")
        if fit.parts:
            print(f"  but these fit: {', '.join(fit.parts)}")
    if not any(fit.outcome == "fits" for fit in found):
        raise typer.Exit(1)


OUTCOMES = {"fits": "fits", "open": "nothing speaks for or against it", "not": "does not fit"}
