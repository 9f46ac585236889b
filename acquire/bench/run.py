"""Runs one bench from its file to Ctrl-C: opens, starts, tells, ends."""

import asyncio
import contextlib
import os
import signal
from dataclasses import dataclass, field
from pathlib import Path
from typing import Final

from barrelfit.acquire.bench.board_child import BoardChild
from barrelfit.acquire.bench.daemon import Daemon
from barrelfit.acquire.bench.lock import BenchLock
from barrelfit.acquire.bench.open_session import Opening, make_wires, open_session, read_opening
from barrelfit.acquire.bench.parent import until_parent_ends
from barrelfit.acquire.bench.ports import Ports
from barrelfit.acquire.bench.printed import Teller
from barrelfit.acquire.bench.service_manager import ServiceManager
from barrelfit.acquire.bus.broker import KEPT_NAME, BrokerAddress, EmbeddedBroker, kept_password
from barrelfit.acquire.clock import RunningClock
from barrelfit.acquire.errors import UserError
from barrelfit.acquire.inputs.bench_doubts import load_bench
from barrelfit.acquire.inputs.bench_file import BenchFile
from barrelfit.acquire.inputs.shelf import file_text

NOT_ALL_RECORDED: Final = 1
WATCH_STDIN: Final = "BARRELFIT_WATCH_STDIN"
"""Set by a parent that holds our standard input: its end is our end (`acquire.bench.parent`)."""


@dataclass(frozen=True, slots=True)
class RunOptions:
    """What the command line asks for; `board_port` is None when no board is wanted.

    `taken` are the ports at which a person says that gauges are, by gauge id; with `wait` a gauge
    may be away at the start.
    """

    bench_file: Path
    fresh: bool
    board_port: int | None
    as_json: bool
    taken: dict[str, str] = field(default_factory=dict)
    wait: bool = False


def run_bench(options: RunOptions) -> int:
    """Run a bench until it is told to end; raises UserError for what the user can mend."""
    bench, text = load_bench(options.bench_file)
    speed = float(bench.simulation.speed) if bench.simulation else 1.0
    clock = RunningClock(speed)
    ports = Ports(options.taken, wait=options.wait)
    opening = read_opening(bench, text, str(options.bench_file), clock, ports)
    folder = bench.sessions.expanduser()
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise UserError([f"{folder}: can't keep sessions here: {error.strerror}"]) from None
    with BenchLock(folder / f"{bench.bench}.lock", bench.bench):
        try:
            whole = asyncio.run(_run(opening, folder, clock, options))
        except* UserError as group:
            problems = [p for error in _leaves(group) for p in error.problems]
            raise UserError(problems) from None
    return 0 if whole else NOT_ALL_RECORDED


def broker_address(bench: BenchFile, folder: Path) -> BrokerAddress:
    """Where the bench's broker is and how to log in; raises UserError for an unreadable file."""
    table = bench.broker
    if table.password_file is not None:
        password = file_text(table.password_file).strip()
    else:
        password = kept_password(folder) if table.embedded else ""
    return BrokerAddress(table.host, table.port, table.user, password)


def password_file(bench: BenchFile, folder: Path) -> Path | None:
    """The file that holds the broker's password, None where none is needed."""
    kept = folder / KEPT_NAME if bench.broker.embedded else None
    return bench.broker.password_file or kept


async def _run(opening: Opening, folder: Path, clock: RunningClock, options: RunOptions) -> bool:
    """Run the bench; gives whether everything it took in is on disk."""
    bench = opening.bench
    address = broker_address(bench, folder)
    broker = EmbeddedBroker(address, folder) if bench.broker.embedded else None
    board: BoardChild | None = None
    if broker is not None:
        await broker.start()
    try:
        session = open_session(opening, folder, clock, fresh=options.fresh)
        teller = Teller(as_json=options.as_json)
        wires = make_wires(opening, session, clock)
        daemon = Daemon(bench, session, wires, clock, teller.tell)
        teller.opened(bench.bench, session, address, password_file(bench, folder))
        if options.board_port is not None:
            board = await BoardChild.start(address, options.board_port, folder)
            teller.board(board.url)
        async with ServiceManager().watching(f"recording session {session.id}"):
            await _until_told(daemon, address, broker)
        teller.closed(session)
        return not session.recorder.missing
    finally:
        if board is not None:
            await board.stop()
        if broker is not None:
            await broker.stop()


async def _until_told(
    daemon: Daemon, address: BrokerAddress, broker: EmbeddedBroker | None
) -> None:
    """Run until Ctrl-C, SIGTERM, or the end of a parent that watches over us."""
    work = asyncio.create_task(daemon.run(address, broker))
    parent = asyncio.create_task(until_parent_ends()) if os.environ.get(WATCH_STDIN) else None
    told = asyncio.Event()
    loop = asyncio.get_running_loop()
    for number in (signal.SIGINT, signal.SIGTERM):
        with contextlib.suppress(NotImplementedError):  # Windows: Ctrl-C raises by itself
            loop.add_signal_handler(number, told.set)
    stop = asyncio.create_task(told.wait())
    watched = {task for task in (work, stop, parent) if task is not None}
    await asyncio.wait(watched, return_when=asyncio.FIRST_COMPLETED)
    if work.done():
        work.result()
    work.cancel()
    with contextlib.suppress(asyncio.CancelledError):
        await work
    for task in (stop, parent):
        if task is not None:
            task.cancel()


def _leaves(group: BaseExceptionGroup[UserError]) -> list[UserError]:
    found: list[UserError] = []
    for error in group.exceptions:
        found += _leaves(error) if isinstance(error, BaseExceptionGroup) else [error]
    return found
