"""`barrelfit identify`: what an unknown gauge on a port sends, and a bench file for it."""

import sys
from collections.abc import Iterator
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, TextIO

import typer

from barrelfit.acquire.commands.completing import choice, movement_words, movements, sheets
from barrelfit.acquire.errors import UserError
from barrelfit.acquire.streams import is_standard
from barrelfit.rules.said import decimal, said

if TYPE_CHECKING:
    from barrelfit.acquire.wires.identifying import Identified
    from barrelfit.drivers.recognise import ProfileFit

Teach = Annotated[
    bool,
    typer.Option("--teach", help="Teach a gauge that no profile fits: send readings, type them."),
]
Baud = Annotated[
    int | None,
    typer.Option(metavar="RATE", help="With --teach: its rate, where it sends no characters."),
]
Seconds = Annotated[float, typer.Option(metavar="SECONDS", help="How long to listen at most.")]
Ask = Annotated[
    bool, typer.Option("--ask", help="Also send the requests of gauges that must be asked.")
]
Bench = Annotated[
    Path | None,
    typer.Option(
        metavar="BENCH.toml", help="Write the gauge into this bench file, or add it there."
    ),
]
Name = Annotated[str, typer.Option(metavar="NAME", help="The gauge's name in the bench file.")]
Measures = Annotated[
    str,
    typer.Option(
        metavar="WHAT",
        autocompletion=choice("outside", "bore"),
        help="outside or bore (a scale is known).",
    ),
]
Movement = Annotated[
    str,
    typer.Option(
        metavar="MOVEMENT",
        autocompletion=movements,
        help=f"{movement_words()}.",
    ),
]
Sheet = Annotated[
    str,
    typer.Option(
        metavar="SHEET", autocompletion=sheets, help="The engine's sheet, for a new bench file."
    ),
]


def identify(  # noqa: PLR0913  one argument an option
    port: Annotated[str, typer.Argument(help="The serial port (see `barrelfit gauges`).")],
    *,
    seconds: Seconds = 60.0,
    ask: Ask = False,
    teach: Teach = False,
    baud: Baud = None,
    bench: Bench = None,
    name: Name = "micrometer",
    measures: Measures = "outside",
    movement: Movement = "",
    sheet: Sheet = ("flat-four-85"),
) -> int:
    """Find out what a gauge sends: rate, parity and the profiles that fit.

    Listens at one rate after another and sends nothing, unless --ask says so: an instrument can
    take a request for a command. Let the gauge stream, or press its data key every two seconds.
    A profile counts when two whole frames fit it and nothing else arrived.

    With --bench FILE the gauge is written into a bench file that `barrelfit run` takes.

    With --teach a profile is made: send a reading, type what the display shows (12.345 mm), and so
    on. Three readings make a proposal, three more prove it; what was not seen is never read as a
    number. An empty line ends it, `again` takes the last reading back. What is typed may come
    through a pipe; where PORT is -, so do the readings: `2b 30 31 32 0d = 12.345 mm` a line.

    Example:
      barrelfit identify /dev/ttyUSB0 --bench bench.toml --sheet flat-four-85

    Exit code: 0 when a profile fits, 1 when none does, 2 when the port can't be used.
    """
    from barrelfit.acquire.clock import RunningClock
    from barrelfit.acquire.inputs.gauge_profiles import load_profile, profile_names
    from barrelfit.acquire.wires.identifying import RATES, Identifier
    from barrelfit.acquire.wires.serial_ear import SerialEar
    from barrelfit.acquire.wires.sources import check_source

    _check(port, seconds, measures, movement, teach=teach)
    if teach:
        return _teach(baud, bench, (name, port, measures, movement), sheet)
    if problem := check_source(name, port):
        raise UserError([problem])
    told = sys.stderr if bench is not None and is_standard(bench) else sys.stdout
    profiles = [load_profile(known) for known in profile_names()]
    print(
        f"listening to {port} for at most {seconds:g} s; press the gauge's data key now and then",
        file=told,
    )
    try:
        with SerialEar(port, RATES[0]) as ear:
            identifier = Identifier(ear, profiles, RunningClock(), partial(print, file=told))
            result = identifier.ask(seconds) if ask else identifier.listen(seconds)
    except OSError as error:
        raise UserError([said("of_port", name=port, what=str(error.strerror or error))]) from None
    _show(result, seconds, told)
    if not result.fits:
        return 1
    if bench is not None:
        _write(bench, result.fits[0], result.baud, (name, port, measures, movement), sheet)
    return 0


def _teach(
    baud: int | None, bench: Path | None, place: tuple[str, str, str, str], sheet: str
) -> int:
    from barrelfit.acquire.commands.teaching import taught

    made = taught(place[1], baud, bench.parent if bench else Path())
    if made is None:
        return 1
    if bench is not None:
        fit, own = made
        _write(bench, fit, fit.profile.port.baud, place, sheet, own)
    return 0


def _check(port: str, seconds: float, measures: str, movement: str, *, teach: bool) -> None:
    problems = []
    if port.startswith("usb:") and not teach:
        problems.append(said("usb_needs_none", port=port))
    elif "://" in port:
        problems.append(said("only_local_port", port=port))
    if not 1 <= seconds <= 3600:  # noqa: PLR2004  an hour
        problems.append(said("seconds_out_of_range", seconds=decimal(f"{seconds:g}")))
    if measures not in {"outside", "bore"}:
        problems.append(said("no_such_measures", measures=measures))
    if movement and movement not in movements(""):
        problems.append(said("movement_unknown", movement=movement, movements=movement_words()))
    if problems:
        raise UserError(problems)


def _show(result: "Identified", seconds: float, told: TextIO) -> None:
    for line in _lines(result, seconds):
        print(line, file=told)


def _lines(result: "Identified", seconds: float) -> Iterator[str]:
    for heard in sorted(result.heard.values(), key=lambda h: h.baud):
        more = " …" if heard.count > len(heard.start) else ""
        yield f"{heard.baud} baud: {heard.count} bytes: {heard.start.hex(' ')}{more}"
    if not result.anything:
        yield f"nothing arrived in {seconds:g} s: check the cable and the gauge's output setting"
    elif not result.fits:
        yield "bytes arrive but no valid frame: check rate and parity, or write a profile for it"
    for fit in result.fits:
        bits = f"{fit.bits}{fit.parity[0].upper()}"
        last = f"{fit.last.value} {fit.last.unit}"
        yield f"fits: {fit.profile.id} at {result.baud} {bits}, {fit.readings} readings: {last}"
        if fit.profile.caution:
            yield f"      {fit.profile.caution}"


def _write(
    bench: Path,
    fit: "ProfileFit",
    baud: int,
    place: tuple[str, str, str, str],
    sheet_name: str,
    own: str = "",
) -> None:
    from barrelfit.acquire.inputs.bench_writer import (
        GaugePlace,
        gauge_table,
        new_bench_text,
        scale_place,
        write_gauge,
    )
    from barrelfit.acquire.inputs.set_file import sheet_of
    from barrelfit.acquire.inputs.shelf import sheet_text

    name, port, measures, movement = place
    sweeps = "bore" if measures == "bore" else "following"
    by_button = fit.profile.sends == "button" and not fit.streams
    movement = movement or ("held" if by_button else sweeps)
    made = GaugePlace(name, port, measures, movement)
    made = scale_place(name, port, fit) if fit.profile.weighs else made
    text = gauge_table(made, fit, baud, own)
    sheet = sheet_of(sheet_text(sheet_name), sheet_name)
    if is_standard(bench):
        print(new_bench_text(sheet_name, sheet, text), end="")
    else:
        print(write_gauge(bench, text, sheet_name, sheet))
