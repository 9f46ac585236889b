"""The board as a service: a child process that learns of its bench through its standard input.

One that hangs shows an old picture without a word. So it is asked now and then whether it is well;
one that does not answer is told, and ended after a while: the next one begins.
"""

import asyncio
import contextlib
import sys
import time
from collections.abc import AsyncIterator, Awaitable, Callable
from pathlib import Path
from typing import Final

import msgspec

from barrelfit.acquire.bench.child import end_child, first_of, started
from barrelfit.acquire.bench.supervisor import Standing
from barrelfit.acquire.inputs.bench_file import BoardTable
from barrelfit.rules.said import Said, said

LINE_BYTES: Final = 65_536
ASK_S: Final = 2.0
STALLED_S: Final = 10.0
"""After how long without an answer it is told that the board is away: a page may take seconds."""
SILENT_S: Final = 60.0
"""After how long without an answer it is ended."""


class BoardChild:
    """The board under a supervisor; each ends with us, because we hold its standard input.

    Args:
        port: where it is to serve, on 127.0.0.1.
        sessions: folder of recorded sessions, where it finds other benches too.
        announce: hears of its address each time it serves.
        bench_file: the bench's file, where it may be set up anew from the board.
        phones: the bench whose board it is with its `[board]` table, where phones may be paired.
    """

    name = "board"

    def __init__(
        self,
        port: int,
        sessions: Path,
        announce: Callable[[str], None],
        bench_file: Path | None = None,
        phones: tuple[str, BoardTable] | None = None,
    ) -> None:
        self._port = port
        self._sessions = sessions
        self._announce = announce
        self._bench_file = bench_file
        self._phones = _phones_options(*phones) if phones is not None else ()
        self.wants_set_up: Callable[[], None] = lambda: None
        """Hears that somebody at the board wants to set the bench up anew."""
        self.shows: Callable[[str, int], None] = lambda _session, _ask: None
        """Hears which ask of which session the board shows: with `tell`, of its own bench."""
        self._link = b""
        self._child: asyncio.subprocess.Process | None = None

    def tell(self, link: bytes) -> None:
        """Tell it of its bench, one line of JSON (`acquire.bus.link_file`), now and each start."""
        self._link = link
        child = self._child
        if child is not None and child.stdin is not None and not child.stdin.is_closing():
            child.stdin.write(link + b"\n")

    async def live(self, standing: Standing) -> Said:
        """Run one board until it ends; gives why. Its own words are on standard error."""
        child = self._child = await started(
            asyncio.create_subprocess_exec(
                *(sys.executable, "-m", "barrelfit.dashboard", "--port", str(self._port)),
                *("--watch-stdin", "--sessions", str(self._sessions)),
                *(("--bench-file", str(self._bench_file)) if self._bench_file else ()),
                *self._phones,
                stdin=asyncio.subprocess.PIPE,
                stdout=asyncio.subprocess.PIPE,
                limit=LINE_BYTES,
                start_new_session=True,  # Ctrl-C is for us, who end the board in its turn
            )
        )
        try:
            if self._link:
                self.tell(self._link)
            serves = asyncio.Event()
            return await first_of(
                self._hear(child, serves, standing), self._watch(serves, standing)
            )
        finally:
            self._child = None
            await end_child(child)

    async def _hear(
        self, child: asyncio.subprocess.Process, serves: asyncio.Event, standing: Standing
    ) -> Said:
        async for line in _lines(child.stdout):
            heard = said_in(line)
            if heard.board:
                self._announce(heard.board)
                standing.up()
                serves.set()
            elif heard.set_up:
                self.wants_set_up()
            elif heard.session:
                self.shows(heard.session, heard.ask)
        return said("board_ended", code=str(await child.wait()))

    async def _watch(self, serves: asyncio.Event, standing: Standing) -> Said:
        await serves.wait()
        return await until_silent(self._is_well, standing)

    async def _is_well(self) -> bool:
        """Whether the board answers; one that is stopped takes a connection, but says nothing."""
        with contextlib.suppress(OSError, TimeoutError):
            async with asyncio.timeout(STALLED_S):
                return await self._answers()
        return False

    async def _answers(self) -> bool:
        reader, writer = await asyncio.open_connection("127.0.0.1", self._port)
        try:
            writer.write(b"GET /_stcore/health HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n")
            return bool(await reader.read(1))
        finally:
            writer.close()


def _phones_options(bench: str, table: BoardTable) -> tuple[str, ...]:
    """How the board is told that phones may be paired; nothing where they may not."""
    if not table.lan:
        return ()
    options = ("--phones", bench, "--phones-port", str(table.lan_port))
    return options + (("--phones-address", table.lan_address) if table.lan_address else ())


async def until_silent(
    is_well: Callable[[], Awaitable[bool]],
    standing: Standing,
    now_s: Callable[[], float] = time.monotonic,
    rest: Callable[[float], Awaitable[None]] = asyncio.sleep,
) -> Said:
    """Ask a board again and again; ends, with why, when it has not answered for too long.

    Args:
        is_well: asks once, and says whether it answered within `STALLED_S`.
        standing: hears that it does not answer, and that it does again.
        now_s: a monotonic time in s.
        rest: waits so many s.
    """
    heard_s, stalled = now_s(), False
    while now_s() - heard_s < SILENT_S:
        if await is_well():
            heard_s = now_s()
            if stalled:
                standing.up()
            stalled = False
        elif not stalled and now_s() - heard_s >= STALLED_S:
            stalled = True
            standing.away(said("does_not_answer"))
        await rest(ASK_S)
    return said("was_ended", why=said("does_not_answer"))


async def _lines(stream: asyncio.StreamReader | None) -> AsyncIterator[bytes]:
    """Lines until the stream ends; one that is too long ends it too."""
    while stream is not None:
        try:
            line = await stream.readline()
        except ValueError:
            return
        if not line:
            return
        yield line


class BoardSaid(msgspec.Struct, frozen=True):
    """A line that a board says: where it serves (`board`), or which ask of which session it shows.

    `set_up`: the bench has been set up, or is to be set up anew. What the line does not hold is
    empty.
    """

    board: str = ""
    session: str = ""
    ask: int = 0
    set_up: bool = False


_SAID: Final = msgspec.json.Decoder(BoardSaid)


def said_in(line: bytes) -> BoardSaid:
    """What a line of a board says, nothing where it is none of its lines."""
    try:
        return _SAID.decode(line)
    except (msgspec.MsgspecError, RecursionError):
        return BoardSaid()
