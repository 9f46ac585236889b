"""`barrelfit size`: the size that a recorded sweep tells, or why it tells none."""

import json
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from barrelfit.acquire.commands.completing import Mark, Unit, movement_words
from barrelfit.rules.said import Said, said

if TYPE_CHECKING:
    from barrelfit.acquire.report.sized_trace import SizedTrace

FINE, REFUSED = 0, 1

Traces = Annotated[
    list[Path],
    typer.Argument(metavar="TRACE.csv", help="Files with t_s,reading_mm; - is standard input."),
]
Movement = Annotated[
    str,
    typer.Option(help=f"How it moves: {movement_words()}.", metavar="MOVEMENT"),
]
Digit = Annotated[
    str,
    typer.Option(metavar="MM", help="Last digit of its display, in mm (0.00127 is 0.00005 in)."),
]
Anvil = Annotated[
    str, typer.Option(metavar="MM", help="Diameter of an outside gauge's flat anvils, in mm.")
]
Passes = Annotated[
    int, typer.Option(min=1, max=24, metavar="N", help="Fewest passes that may become a size.")
]
PartTemp = Annotated[str | None, typer.Option(help="Temperature of the part, in °C.", metavar="C")]
GaugeTemp = Annotated[
    str | None, typer.Option(help="Temperature of the gauge, in °C.", metavar="C")
]
Material = Annotated[
    str | None,
    typer.Option(metavar="NAME", help="Material of the part; needed to correct to 20 °C."),
]
GaugeMaterial = Annotated[str, typer.Option(metavar="NAME", help="Material of the gauge.")]
Picture = Annotated[
    Path | None,
    typer.Option(
        metavar="FILE.svg", help="Draw the trace as SVG: what was used, what was cut away."
    ),
]
Sure = Annotated[bool, typer.Option("--sure", help="Unusual values are meant so.")]
AsJson = Annotated[bool, typer.Option("--json", help="One JSON object a trace.")]


def size(  # noqa: PLR0913  one argument an option
    traces: Traces,
    *,
    gauge: Movement,
    digit_mm: Digit = "0.001",
    anvil_mm: Anvil = "6.5",
    passes_min: Passes = 3,
    part_temp: PartTemp = None,
    gauge_temp: GaugeTemp = None,
    material: Material = None,
    gauge_material: GaugeMaterial = "gauge-steel",
    picture: Picture = None,
    unit: Unit = "mm",
    decimal: Mark = "point",
    sure: Sure = False,
    as_json: AsJson = False,
) -> int:
    """Find the size that a sweep's readings tell, with its uncertainty, or say why there is none.

    Each TRACE.csv is one sweep: a header `t_s,reading_mm`, then seconds and a reading a line.

    following: spring-loaded flat anvils, the reading rises over the crest on every pass. screw: a
    thimble wound down onto the part, held, opened, several times. bore: a two-point gauge, rocked.

    The size is the minimum of two-point sizes (ISO 14405-1) as read; the interval holds the true
    size in 95 % of sweeps. With a material and temperatures it is corrected to 20 °C (ISO 1) and
    the interval holds what the temperatures leave open; without, a note says so. How the gauge was
    set and how its contacts press is in no trace: `barrelfit run` and `judge` add that.

    No size comes of chords, of too few passes, of passes that disagree or drift, of gaps in a
    crest, of times that repeat. Sweep again as the advice says.

    Example:
      barrelfit size sweep.csv --gauge following --picture sweep.svg
      barrelfit size - --gauge following --json < sweep.csv

    Exit codes: 0 all gave a size, 1 some were refused, 2 a file or an option is wrong.
    """
    from barrelfit.acquire.inputs.manner import manner_of
    from barrelfit.acquire.inputs.size_options import correction_of, questions_of, traits_of
    from barrelfit.acquire.inputs.trace_file import all_samples
    from barrelfit.acquire.report.sized_trace import json_fields, size_file, table_text
    from barrelfit.acquire.streams import is_standard, name_of

    manner = manner_of(unit, decimal)
    traits = traits_of(gauge, digit_mm, anvil_mm, passes_min)
    correction = correction_of(part_temp, gauge_temp, material, gauge_material)
    given = {"part_temp": part_temp, "gauge_temp": gauge_temp, "digit_mm": digit_mm}
    _check(traces, picture, [] if sure else questions_of(**given, anvil_mm=anvil_mm))
    aside = picture is not None and is_standard(picture)
    results: list[SizedTrace] = []
    for path, samples in zip(traces, all_samples(traces), strict=True):
        results.append(size_file(name_of(path), samples, traits, correction))
        if as_json:
            _say(json.dumps(json_fields(results[-1]), ensure_ascii=False, allow_nan=False), aside)
        if picture is not None:
            _draw(picture, samples, results[-1])
    if not as_json:
        _say(table_text(results, manner), aside)
    return FINE if all(result.refused is None for result in results) else REFUSED


def _say(text: str, aside: bool) -> None:  # noqa: FBT001  whether the picture takes standard output
    print(text, file=sys.stderr if aside else sys.stdout)


def _check(traces: list[Path], picture: Path | None, questions: "list[Said]") -> None:
    from barrelfit.acquire.errors import UserError
    from barrelfit.acquire.streams import is_standard

    if sum(is_standard(trace) for trace in traces) > 1:
        raise UserError([said("one_trace_from_input")])
    if picture is not None and len(traces) != 1:
        raise UserError([said("picture_of_one", count=len(traces))])
    if questions:
        raise UserError(questions)


def _draw(picture: Path, samples: list[tuple[int, int]], result: "SizedTrace") -> None:
    from barrelfit.acquire.report.trace_picture import trace_svg
    from barrelfit.acquire.streams import write_bytes

    write_bytes(picture, trace_svg(samples, result).encode())
