"""`barrelfit run`: record and judge one bench."""

from pathlib import Path
from typing import Annotated

import typer

from barrelfit.acquire.commands.completing import Mark, Unit
from barrelfit.acquire.errors import UserError
from barrelfit.rules.said import said

Fresh = Annotated[
    bool, typer.Option("--fresh", help="Begin a new session even if the last is unfinished.")
]
Take = Annotated[
    list[str] | None,
    typer.Option(
        metavar="GAUGE=PORT",
        help="Say which adapter is a gauge's, where its port could mean another.",
    ),
]
Wait = Annotated[
    bool,
    typer.Option("--wait", help="Start even if another program still holds a gauge's port."),
]
AsJson = Annotated[
    bool, typer.Option("--json", help="One JSON object a line for everything but readings.")
]


def run(  # noqa: PLR0913  an option each
    bench_file: Annotated[
        Path | None,
        typer.Argument(metavar="BENCH.toml", help="The bench file; - is standard input."),
    ] = None,
    *,
    fresh: Fresh = False,
    board: Annotated[bool, typer.Option("--board", help="Start the board as well.")] = False,
    board_port: Annotated[int, typer.Option(metavar="PORT", help="Port of the board.")] = 8501,
    take: Take = None,
    wait: Wait = False,
    unit: Unit = "mm",
    decimal: Mark = "point",
    as_json: AsJson = False,
) -> int:
    """Read a bench's gauges, find sizes, judge parts, and record all of it until Ctrl-C.

    The bench file names the gauges with their ports and profiles, the engine's sheet and the set.
    Every byte goes into the session's journal before anything is shown. A session that was not
    finished is gone on with when the same bench file is run again.

    Without a bench file a page in the browser sets the bench up (which gauge is which, names,
    sheet), writes bench.toml into this folder, and the bench runs with its board. Where bench.toml
    is there already, it runs at once, and the board's set-up page changes it.

    Cautions: ring edges are sharp; solvents and blasting dust harm; an engine built wrong can
    seize. The maker's own manual and a qualified person's judgement come first. Not for aircraft
    or any certified repair.

    Example:
      barrelfit run bench.toml --board

    Exit code: 0 when everything that was read is on disk, 1 when something is not (and it says
    what), 2 when the bench file or a port is not as it must be.
    """
    from barrelfit.acquire.bench.run import RunOptions, run_bench
    from barrelfit.acquire.inputs.manner import manner_of

    if not 1 <= board_port <= 65535:  # noqa: PLR2004
        raise UserError([said("board_port_range", board_port=board_port)])
    taken = dict(_taken(text) for text in take or ())
    port, manner = board_port if board else None, manner_of(unit, decimal)
    if bench_file is None:
        from barrelfit.acquire.bench.first_run import USUAL_FILE, run_from_nothing

        return run_from_nothing(
            RunOptions(Path(USUAL_FILE), fresh, board_port, as_json, taken, wait, manner)
        )
    options = RunOptions(bench_file, fresh, port, as_json, taken, wait, manner)
    return run_bench(options)


def _taken(text: str) -> tuple[str, str]:
    gauge, mark, port = text.partition("=")
    if not (gauge and mark and port):
        raise UserError([said("take_malformed", text=text)])
    return gauge, port
