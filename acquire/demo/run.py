"""The demonstration: simulated benches, real daemons, and eyes that pass on what a board shows.

Every part runs as it would in a shop, in a process of its own. The simulated machinist learns what
to do from what the daemon says, and the daemon learns of the parts from bytes alone; the truth that
the simulator prints is set beside the sizes here and nowhere else.
"""

import asyncio
import contextlib
import math
import os
import signal
import socket
import tempfile
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from barrelfit.acquire.bench.board_child import BoardChild
from barrelfit.acquire.bus.broker import HOST, USER, BrokerAddress, EmbeddedBroker, kept_password
from barrelfit.acquire.demo.bench import DemoBench
from barrelfit.acquire.demo.printed import DemoTeller
from barrelfit.acquire.errors import UserError

USUAL_BOARD_PORT: Final = 8501
WATCHED: Final = (signal.SIGINT, signal.SIGTERM)


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
    folder = Path(tempfile.mkdtemp(prefix="barrelfit-demo-"))
    return asyncio.run(_play(options, folder))


async def _play(options: DemoOptions, folder: Path) -> int:
    teller = DemoTeller(as_json=options.as_json, benches=options.benches)
    speed = min(options.speed, SPEED_MAX)
    if speed < options.speed:
        teller.slower(options.speed, speed)
    address = BrokerAddress(HOST, free_port(), USER, kept_password(folder))
    broker = EmbeddedBroker(address, folder)
    stopped = asyncio.Event()
    for number in WATCHED:
        with contextlib.suppress(NotImplementedError):  # Windows: Ctrl-C raises by itself
            asyncio.get_running_loop().add_signal_handler(number, stopped.set)
    await broker.start()
    try:
        async with contextlib.AsyncExitStack() as stack:
            if not options.headless:
                board = await BoardChild.start(address, _board_port(options.board_port), folder)
                stack.push_async_callback(board.stop)
                teller.board(board.url)
            benches = [
                DemoBench(number, speed, folder, address, teller)
                for number in range(1, options.benches + 1)
            ]
            for bench in benches:
                await bench.start()
                stack.push_async_callback(bench.stop)
            teller.started(folder)
            return await _until_over(benches, stopped, teller, headless=options.headless)
    finally:
        await broker.stop()


async def _until_over(
    benches: list[DemoBench], stopped: asyncio.Event, teller: DemoTeller, *, headless: bool
) -> int:
    """Wait for Ctrl-C, a failure, or (headless) the end of every set; returns the exit code."""
    stop = asyncio.create_task(stopped.wait())
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


def free_port() -> int:
    """A port of this machine that nobody has; the demonstration must not meet a shop's broker."""
    with socket.socket() as probe:
        probe.bind((HOST, 0))
        return int(probe.getsockname()[1])


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
        problems.append(f"--benches {options.benches}: 1 to {BENCHES_MAX} can be played")
    if not 0 < options.speed < math.inf:
        problems.append(f"--speed {options.speed:g}: a number above 0")
    if os.name != "posix":
        problems.append("the simulated gauges need pseudo-terminals, which this system has not")
    if problems:
        raise UserError(problems)


BENCHES_MAX: Final = 8
SPEED_MAX: Final = 10.0
