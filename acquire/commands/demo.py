"""`barrelfit demo`: simulated benches at work, with the board to watch them."""

from typing import Annotated

import typer


def demo(
    *,
    benches: Annotated[int, typer.Option(metavar="N", help="How many benches, 1 to 8.")] = 1,
    speed: Annotated[
        float,
        typer.Option(
            metavar="FACTOR", help="Times as fast as life; 10 is the highest that is played."
        ),
    ] = 1.0,
    headless: Annotated[
        bool, typer.Option("--headless", help="No board; end when every set is done.")
    ] = False,
    as_json: Annotated[bool, typer.Option("--json", help="One JSON object a line.")] = False,
    board_port: Annotated[
        int | None, typer.Option(metavar="PORT", help="Port of the board; 8501 when it is free.")
    ] = None,
) -> int:
    """Watch a simulated machinist work through an invented set of pistons and barrels.

    Gauges, daemon, bus and board are the real ones; only the cables' far ends are simulated. Every
    size is printed with the truth beside it. Ctrl-C ends everything that was started.

    Example:
      barrelfit demo --headless --speed 10 --json
    """
    from barrelfit.acquire.demo.run import DemoOptions, check_options, run_demo

    options = DemoOptions(benches, speed, headless, as_json, board_port)
    check_options(options)
    return run_demo(options)
