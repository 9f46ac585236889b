"""The demonstration: simulated benches, real daemons, and eyes that pass on what a board shows.

Every part runs as it would in a shop, in a process of its own. The simulated machinist learns what
to do from what the daemon says, and the daemon learns of the parts from bytes alone; the truth that
the simulator prints is set beside the sizes here and nowhere else.
"""

import asyncio
import contextlib
import math
import os
import socket
import tempfile
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from barrelfit.acquire.bench.board_child import BoardChild
from barrelfit.acquire.bench.stopping import Stopping
from barrelfit.acquire.bench.supervisor import Supervisor
from barrelfit.acquire.bus.broker import HOST, free_port
from barrelfit.acquire.demo.bench import DemoBench
from barrelfit.acquire.demo.printed import DemoTeller
from barrelfit.acquire.errors import UserError
from barrelfit.rules.said import decimal, said

USUAL_BOARD_PORT: Final = 8501
BOARD_S: Final = 120.0


@dataclass(frozen=True, slots=True)
class DemoOptions:
    """What the command line asks for."""

    benches: int
    speed: float
    headless: bool
    as_json: bool
    board_port: int | None


def run_demo(options: DemoOptions) -> int:
    """Play the demonstration; raises UserError for what the user can mend."""
    stopping = Stopping()
    folder = Path(tempfile.mkdtemp(prefix="barrelfit-demo-"))
    return asyncio.run(_play(options, folder, stopping))


async def _play(options: DemoOptions, folder: Path, stopping: Stopping) -> int:
    teller = DemoTeller(as_json=options.as_json, benches=options.benches)
    speed = min(options.speed, SPEED_MAX)
    if speed < options.speed:
        teller.slower(options.speed, speed)
    async with contextlib.AsyncExitStack() as stack:
        if not options.headless:
            await _start_board(_board_port(options.board_port), folder, teller, stack)
        benches = [
            DemoBench(number, speed, folder, teller) for number in range(1, options.benches + 1)
        ]
        for bench in benches:
            stack.push_async_callback(bench.stop)
            await bench.start()
        teller.started(folder)
        return await _until_over(benches, stopping, teller, headless=options.headless)


async def _start_board(
    port: int, folder: Path, teller: DemoTeller, stack: contextlib.AsyncExitStack
) -> None:
    """Start a board that finds the benches by itself; raises UserError when it does not start."""
    supervisor = Supervisor(lambda _: None)
    board = BoardChild(port, folder, teller.board)
    keeping = asyncio.create_task(supervisor.keep(board))

    async def end() -> None:
        keeping.cancel()
        await asyncio.gather(keeping, return_exceptions=True)

    stack.push_async_callback(end)
    try:
        async with asyncio.timeout(BOARD_S):
            await supervisor.settled(board.name)
    except TimeoutError:
        problem = said("board_slow", time=decimal(f"{BOARD_S:g}"))
        raise UserError([problem]) from None
    if supervisor.states[board.name].state != "running":
        raise UserError([said("board_not_started")])


async def _until_over(
    benches: list[DemoBench], stopping: Stopping, teller: DemoTeller, *, headless: bool
) -> int:
    """Wait for Ctrl-C, a failure, or (headless) the end of every set; returns the exit code."""
    stop = asyncio.create_task(stopping.wait())
    works = [asyncio.create_task(bench.play()) for bench in benches]
    pending: set[asyncio.Task[object]] = {stop, *works}
    while pending - {stop} and not stop.done():
        ended, pending = await asyncio.wait(pending, return_when=asyncio.FIRST_COMPLETED)
        for task in ended - {stop}:
            task.result()
    if not stop.done() and not headless:
        teller.still_there()
        await stop
    for task in (stop, *works):
        task.cancel()
    await asyncio.gather(stop, *works, return_exceptions=True)
    return 0


def _board_port(wanted: int | None) -> int:
    """The port asked for, the usual one when it is free, else any."""
    if wanted is not None:
        return wanted
    with socket.socket() as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        with contextlib.suppress(OSError):
            probe.bind((HOST, USUAL_BOARD_PORT))
            return USUAL_BOARD_PORT
    return free_port()


def check_options(options: DemoOptions) -> None:
    """Refuse what can't be played; raises UserError with every problem."""
    problems = []
    if not 1 <= options.benches <= BENCHES_MAX:
        problems.append(said("benches_range", benches=options.benches, most=BENCHES_MAX))
    if not 0 < options.speed < math.inf:
        problems.append(said("speed_range", speed=decimal(f"{options.speed:g}")))
    if os.name != "posix":
        problems.append(said("no_pseudo_terminals"))
    if problems:
        raise UserError(problems)


BENCHES_MAX: Final = 8
SPEED_MAX: Final = 10.0
