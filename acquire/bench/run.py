"""Runs one bench from its file to Ctrl-C: opens, starts, tells, ends."""

import asyncio
import contextlib
import os
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Final

from barrelfit.acquire.bench.board_child import BoardChild
from barrelfit.acquire.bench.broker_child import BrokerChild
from barrelfit.acquire.bench.daemon import Buses, Daemon, RunningSession
from barrelfit.acquire.bench.jobs import Jobs
from barrelfit.acquire.bench.lock import BenchLock
from barrelfit.acquire.bench.open_session import make_wires, open_next, open_session
from barrelfit.acquire.bench.opening import Opening, read_opening
from barrelfit.acquire.bench.parent import until_parent_ends
from barrelfit.acquire.bench.ports import Ports
from barrelfit.acquire.bench.printed import Teller
from barrelfit.acquire.bench.service_manager import ServiceManager
from barrelfit.acquire.bench.stopping import Stopping
from barrelfit.acquire.bench.supervisor import Service, Supervisor
from barrelfit.acquire.bus.broker import (
    HOST,
    KEPT_NAME,
    SHOPS_PORT,
    USER,
    BrokerAddress,
    check_login,
    kept_password,
)
from barrelfit.acquire.bus.link_file import (
    BOARD,
    SCREEN,
    BenchKeys,
    has_link,
    remove_link,
    write_link,
)
from barrelfit.acquire.bus.proof import Doorkeeper, Speaker
from barrelfit.acquire.clock import RunningClock
from barrelfit.acquire.errors import UserError
from barrelfit.acquire.inputs.bench_doubts import load_bench
from barrelfit.acquire.inputs.bench_file import BenchFile
from barrelfit.acquire.inputs.shelf import file_text
from barrelfit.acquire.journal.events import Event
from barrelfit.acquire.journal.job_events import JobOrdered
from barrelfit.acquire.journal.record_events import ServiceChanged
from barrelfit.rules.manner import PLAIN, Manner
from barrelfit.rules.said import said

NOT_ALL_RECORDED: Final = 1
WATCH_STDIN: Final = "BARRELFIT_WATCH_STDIN"
"""Set by a parent that holds our standard input: its end is our end (`acquire.bench.parent`)."""
LOCK_LOOK_S: Final = 1.0
BUS_S: Final = 5.0
"""How long the bench's own bus is waited for before it is said that recording is on."""


@dataclass(frozen=True, slots=True)
class RunOptions:
    """What the command line asks for; `board_port` is None when no board is wanted.

    `taken` are the ports at which a person says that gauges are, by gauge id; with `wait` a gauge
    may be away at the start. `manner` is how lengths are printed. `set_up` is called when somebody
    at the board wants to set the bench up anew, and the run ends; None where that can't be.
    """

    bench_file: Path
    fresh: bool
    board_port: int | None
    as_json: bool
    taken: dict[str, str] = field(default_factory=dict)
    wait: bool = False
    manner: Manner = PLAIN
    set_up: Callable[[], None] | None = None


def run_bench(options: RunOptions) -> int:
    """Run a bench until it is told to end; raises UserError for what the user can mend."""
    stopping = Stopping()
    bench, text = load_bench(options.bench_file)
    speed = float(bench.simulation.speed) if bench.simulation else 1.0
    clock = RunningClock(speed)
    ports = Ports(options.taken, wait=options.wait)
    opening = read_opening(bench, text, str(options.bench_file), clock, ports)
    folder = bench.sessions.expanduser()
    try:
        folder.mkdir(parents=True, exist_ok=True)
        address = broker_address(bench, folder)
    except OSError as error:
        raise UserError(
            [said("cant_keep_sessions", folder=str(folder), what=str(error.strerror))]
        ) from None
    with BenchLock(folder / f"{bench.bench}.lock", bench.bench) as lock:
        place = _Place(folder, address, lock)
        try:
            whole = asyncio.run(_run(opening, place, clock, options, stopping))
        except* UserError as group:
            problems = [p for error in _leaves(group) for p in error.problems]
            raise UserError(problems) from None
    return 0 if whole else NOT_ALL_RECORDED


@dataclass(frozen=True, slots=True)
class _Place:
    """Where sessions are kept, the broker that the bench file speaks of, and the bench's lock."""

    folder: Path
    address: BrokerAddress
    lock: BenchLock


def broker_address(bench: BenchFile, folder: Path) -> BrokerAddress:
    """The broker that the bench file speaks of; port 0 is any free one of this machine.

    Raises:
        UserError: its password can't be read, or used.
        OSError: a new password can't be kept.
    """
    table = bench.broker
    if table.password_file is not None:
        password = file_text(table.password_file).strip()
    else:
        password = kept_password(folder) if table.embedded else ""
    if table.embedded:
        check_login(table.user, password)
        return BrokerAddress(table.host, table.port or 0, table.user, password)
    return BrokerAddress(table.host, table.port or SHOPS_PORT, table.user, password)


def password_file(bench: BenchFile, folder: Path) -> Path | None:
    """The file that holds the password of the bench's own bus, None where none is needed."""
    return bench.broker.password_file if bench.broker.local else folder / KEPT_NAME


class _Helpers:
    """The services of one bench beside its rules, and what they must know of one another."""

    def __init__(
        self, bench: BenchFile, place: _Place, keys: BenchKeys, supervisor: Supervisor
    ) -> None:
        self._bench = bench.bench
        self._folder = place.folder
        self._keys = keys
        self.board: BoardChild | None = None
        self.broker: BrokerChild | None = None
        self._address: BrokerAddress | None = None
        shops: BrokerAddress | None = None
        if bench.broker.local:
            self._address = place.address
            self._moved(place.address)
        else:
            own = place.address
            if not bench.broker.embedded:
                shops = place.address
                own = BrokerAddress(HOST, 0, USER, kept_password(place.folder))
            self.broker = BrokerChild(own, place.folder, self._moved)
        self.buses = Buses(self.own_bus, (lambda: shops) if shops else None, supervisor)

    def own_bus(self) -> BrokerAddress | None:
        """Where the bench's own bus is, None while it is away."""
        return self.broker.serving if self.broker is not None else self._address

    def add_board(self, board: BoardChild) -> None:
        """Have a board too."""
        self.board = board
        if self._address is not None:
            board.tell(self._keys.link(self._bench, self._address, BOARD))

    @property
    def services(self) -> tuple[Service, ...]:
        """What is to be kept running."""
        return tuple(s for s in (self.broker, self.board) if s is not None)

    def look(self) -> None:
        """Call now and then: a link that went with the session folder is there again."""
        if self._address is not None and not has_link(self._folder, self._bench):
            with contextlib.suppress(OSError):  # the record says that its folder is away
                self._write_link(self._address)

    def _write_link(self, address: BrokerAddress) -> None:
        write_link(self._folder, self._bench, self._keys.link(self._bench, address, SCREEN))

    def _moved(self, address: BrokerAddress) -> None:
        """The bench's own bus has another address: whoever must know is told."""
        self._address = address
        self._write_link(address)
        if self.board is not None:
            self.board.tell(self._keys.link(self._bench, address, BOARD))


async def _run(
    opening: Opening, place: _Place, clock: RunningClock, options: RunOptions, stopping: Stopping
) -> bool:
    """Run the bench, job after job; gives whether everything it took in is on disk."""
    bench, keys = opening.bench, BenchKeys()
    teller = Teller(as_json=options.as_json, manner=options.manner)
    door = Doorkeeper(bench.bench, dict(keys.devices))
    jobs = Jobs(opening, place.folder, clock, door) if bench.set is None else None
    session = _first_session(opening, jobs, place.folder, clock, keys, options)
    running, speaker = _Running(session), Speaker(keys.own)
    try:
        helpers = _Helpers(bench, place, keys, running.supervisor)
        if options.board_port is not None:
            helpers.add_board(_board(bench, options, place.folder, teller, stopping))
        async with asyncio.TaskGroup() as group:
            kept = [
                group.create_task(running.supervisor.keep(service)) for service in helpers.services
            ]
            kept.append(group.create_task(_keep(place.lock, helpers)))
            try:
                whole = True
                while session is not None:
                    running.begin(session)
                    one = _One(opening, session, clock, speaker, helpers, teller)
                    order = await _run_one(one, place, stopping)
                    teller.closed(session)
                    whole = whole and not session.recorder.missing
                    session = None
                    if order is not None and jobs is not None:
                        session = open_next(jobs.after(order), place.folder, clock, keys, jobs)
            finally:
                for task in kept:
                    task.cancel()
    finally:
        remove_link(place.folder, bench.bench)
    return whole


def _board(
    bench: BenchFile, options: RunOptions, folder: Path, teller: Teller, stopping: Stopping
) -> BoardChild:
    """The bench's own board; a wish there to set the bench up anew ends the run."""
    asked, port, phones = options.set_up, options.board_port or 0, (bench.bench, bench.board)
    if asked is None:
        return BoardChild(port, folder, teller.board, phones=phones)
    board = BoardChild(port, folder, teller.board, options.bench_file, phones)

    def set_up() -> None:
        asked()
        stopping.tell()

    board.wants_set_up = set_up
    return board


def _first_session(
    opening: Opening,
    jobs: Jobs | None,
    folder: Path,
    clock: RunningClock,
    keys: BenchKeys,
    options: RunOptions,
) -> RunningSession | None:
    """The session that the bench begins with, or goes on with."""
    if jobs is None:
        return open_session(opening, folder, clock, keys, fresh=options.fresh)
    wanted = jobs.without_job() if options.fresh else jobs.at_start()
    return open_next(wanted, folder, clock, keys, jobs)


class _Running:
    """The session that runs now, and what is kept running beside all of them."""

    def __init__(self, session: RunningSession | None) -> None:
        self._session = session
        self.supervisor = Supervisor(self._record)

    def begin(self, session: RunningSession) -> None:
        """Another session runs from now on; what is away is told in it, too."""
        self._session = session
        for name, health in self.supervisor.states.items():
            if health.state == "away":
                self._record(ServiceChanged(name, "away", health.reason))

    def _record(self, event: Event) -> object:
        return None if self._session is None else self._session.recorder.record(event)


@dataclass(frozen=True, slots=True)
class _One:
    """One session with all that it is run with."""

    opening: Opening
    session: RunningSession
    clock: RunningClock
    speaker: Speaker
    helpers: _Helpers
    teller: Teller


async def _run_one(one: _One, place: _Place, stopping: Stopping) -> JobOrdered | None:
    """Run one session; gives what is ordered to come after it, None for nothing."""
    opening, session, helpers, teller = one.opening, one.session, one.helpers, one.teller
    bench = opening.bench
    session.recorder.tell(teller.tell)
    wires = make_wires(opening, session, one.clock)
    daemon = Daemon(bench.bench, session, wires, one.clock, one.speaker, helpers.buses)
    if helpers.board is not None:
        helpers.board.shows = daemon.asks_shown.shown
        daemon.asks_shown.await_board()
    if helpers.broker is not None:
        helpers.broker.heard = lambda: daemon.bus.link.connected
    password_at = password_file(bench, place.folder)
    telling = asyncio.create_task(_until_bus(daemon, helpers))
    telling.add_done_callback(
        lambda _: teller.opened(
            bench.bench, session, helpers.own_bus(), password_at, swept_by_button(opening)
        )
    )
    async with ServiceManager().watching(f"recording session {session.id}"):
        order = await _until_told(daemon, stopping)
    telling.cancel()
    await asyncio.gather(telling, return_exceptions=True)
    return order


def swept_by_button(opening: Opening) -> list[str]:
    """A caution for each gauge that is to be swept, but sends on its button by its profile."""
    return [
        f"{table.id}: it sends on its button by its profile {table.profile}, and a sweep needs"
        f' values all the time: movement = "held", or set it so. {profile.instead}'.rstrip()
        for table in opening.bench.gauge
        if table.movement != "held"
        for profile in [opening.profiles[table.id]]
        if profile.sends == "button"
    ]


async def _keep(lock: BenchLock, helpers: _Helpers) -> None:
    """See to it that the bench's lock stays in its place, and that boards find the bench."""
    while True:
        await asyncio.sleep(LOCK_LOOK_S)
        lock.look()
        helpers.look()


async def _until_bus(daemon: Daemon, helpers: _Helpers) -> None:
    """Wait until the bench's own bus is there, or is said to be away."""
    if helpers.broker is not None:
        with contextlib.suppress(TimeoutError):
            async with asyncio.timeout(BUS_S):
                await daemon.supervisor.settled(helpers.broker.name)


async def _until_told(daemon: Daemon, stopping: Stopping) -> JobOrdered | None:
    """Run until Ctrl-C, SIGTERM, the end of a parent that watches over us, or another job.

    Gives what is ordered to come next, None where the bench is to end.
    """
    work = asyncio.create_task(daemon.run())
    parent = asyncio.create_task(until_parent_ends()) if os.environ.get(WATCH_STDIN) else None
    stop = asyncio.create_task(stopping.wait())
    watched = {task for task in (work, stop, parent) if task is not None}
    await asyncio.wait(watched, return_when=asyncio.FIRST_COMPLETED)
    ended = work.done()
    if ended:
        work.result()
    work.cancel()
    with contextlib.suppress(asyncio.CancelledError):
        await work
    for task in (stop, parent):
        if task is not None:
            task.cancel()
    return daemon.order if ended else None


def _leaves(group: BaseExceptionGroup[UserError]) -> list[UserError]:
    found: list[UserError] = []
    for error in group.exceptions:
        found += _leaves(error) if isinstance(error, BaseExceptionGroup) else [error]
    return found
