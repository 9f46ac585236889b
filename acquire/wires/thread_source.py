"""A byte source read by a thread: for lines that the event loop can't watch.

Device servers, USB end points, and every port on systems whose loop can't watch one come this
way. The thread only reads and stamps; everything else happens in the loop.

A line counts as open when it has held for a moment. A device server that is just ending, or whose
gauge is away, takes a connection, says a sentence perhaps, and hangs up: that was no opening.
"""

import asyncio
import logging
import threading
from collections.abc import Callable
from typing import Final, Protocol

from barrelfit.acquire.clock import Clock, life_ns
from barrelfit.acquire.errors import UserError
from barrelfit.acquire.wires.busy_port import BusyError, FirstOpening
from barrelfit.acquire.wires.byte_source import Changed, Received
from barrelfit.acquire.wires.gauge_port import OtherAdapterError
from barrelfit.acquire.wires.pace import Pace
from barrelfit.rules.said import NOTHING, Said, said, written

LOOK_AGAIN_S: Final = 0.2
BACK_OFF_MAX_S: Final = 2.0
JOIN_S: Final = 2.0
HOLD_NS: Final = 250_000_000
SAID_BYTES: Final = 60

log = logging.getLogger(__name__)


class LineLostError(Exception):
    """The far end of a line is gone; `what` says so in one clause."""

    def __init__(self, what: Said) -> None:
        super().__init__(what)
        self.what = what


class ThreadLine(Protocol):
    """An open line that blocks: three outcomes of a read are data, nothing yet and lost."""

    def read(self) -> bytes:
        """What arrived; empty for nothing yet, after a wait below half a second.

        Raises:
            LineLostError: the gauge, its cable or its server is gone.
        """
        ...

    def write(self, data: bytes) -> None:
        """Send bytes. Raises LineLostError as `read` does."""
        ...

    def close(self) -> None:
        """Give the line back; never raises, and may be called twice."""
        ...


class ThreadSource:
    """Opens a line, reads it in a thread, and opens it again when it was lost.

    Args:
        open_line: opens the line, blocking; raises UserError or OSError with the reason.
        clock: stamps what arrives.
        received: hears of bytes, in the loop.
        changed: hears of the line coming and going, in the loop.
        first: how long another program may hold the line before we refuse to start.
    """

    def __init__(
        self,
        open_line: Callable[[], ThreadLine],
        clock: Clock,
        received: Received,
        changed: Changed,
        first: FirstOpening | None = None,
    ) -> None:
        self._open_line = open_line
        self._clock = clock
        self._received = received
        self._changed = changed
        self._first = first or FirstOpening()
        self._line: ThreadLine | None = None

    async def run(self) -> None:
        """Open, read and re-open until cancelled.

        Raises:
            UserError: another program had the line from the start and does not let go of it.
        """
        wait_s = LOOK_AGAIN_S
        before = looked = NOTHING
        while True:
            try:
                line = await self._open()
            except (OSError, UserError) as error:
                reason = _in_words(error)
                sure = reason == looked or not isinstance(error, OtherAdapterError)
                looked = reason
                if sure and reason != before:
                    self._say(self._clock.monotonic_ns(), present=False, reason=reason)
                    before = reason
                self._first.failed(error, asyncio.get_running_loop().time())
                await asyncio.sleep(wait_s)
                wait_s = min(wait_s * 2, BACK_OFF_MAX_S)
                continue
            self._first.opened()
            held, reason = await self._read(line)
            if held or reason != before:
                self._say(self._clock.monotonic_ns(), present=False, reason=reason)
                before = reason
            wait_s = LOOK_AGAIN_S if held else min(wait_s * 2, BACK_OFF_MAX_S)
            await asyncio.sleep(wait_s)

    def write(self, data: bytes) -> bool:
        """Send bytes; False when the line is not open or was lost in the attempt."""
        if self._line is None:
            return False
        try:
            self._line.write(data)
        except LineLostError:
            return False  # the reader meets the same loss and tells of it
        return True

    async def _open(self) -> ThreadLine:
        """Open the line in a thread; when we are cancelled meanwhile it is closed again."""
        opening = asyncio.create_task(asyncio.to_thread(self._open_line))
        try:
            return await asyncio.shield(opening)
        except asyncio.CancelledError:
            opening.add_done_callback(_close_late)
            raise

    async def _read(self, line: ThreadLine) -> tuple[bool, Said]:
        """Read a line in a thread until it is lost: whether it held at all, and the reason."""
        loop = asyncio.get_running_loop()
        lost: asyncio.Future[Said] = loop.create_future()
        stop = threading.Event()
        thread = threading.Thread(
            target=self._pump, args=(line, loop, lost, stop), name="gauge reader", daemon=True
        )
        thread.start()
        try:
            reason = await lost
            return self._line is not None, reason
        finally:
            self._line = None
            stop.set()
            await asyncio.to_thread(_end, thread, line)

    def _pump(
        self,
        line: ThreadLine,
        loop: asyncio.AbstractEventLoop,
        lost: "asyncio.Future[Said]",
        stop: threading.Event,
    ) -> None:
        reason, pace = NOTHING, Pace()
        try:
            self._hold(line, loop, stop)
            while not stop.is_set():
                data = line.read()
                if data and not stop.is_set():
                    t_ns = self._clock.monotonic_ns()
                    loop.call_soon_threadsafe(self._received, t_ns, data)
                    if rest_s := pace.took(t_ns, len(data)):
                        stop.wait(rest_s)
        except LineLostError as error:
            reason = error.what
        except Exception as error:  # a reader that ends unseen would look like a silent gauge
            log.exception("gauge reader")
            reason = said("reader_failed", what=str(error))
        if not stop.is_set():
            loop.call_soon_threadsafe(_tell, lost, reason)

    def _hold(
        self, line: ThreadLine, loop: asyncio.AbstractEventLoop, stop: threading.Event
    ) -> None:
        """Read until the line has held for a moment, then tell of it and of what it brought."""
        opened_ns, held_from_ns = self._clock.monotonic_ns(), life_ns()
        early: list[tuple[int, bytes]] = []
        try:
            while life_ns() - held_from_ns < HOLD_NS and not stop.is_set():
                if data := line.read():
                    early.append((self._clock.monotonic_ns(), data))
        except LineLostError as error:
            words = b"".join(data for _, data in early)[:SAID_BYTES].decode("ascii", "replace")
            heard = words.strip()
            what = said("having_said", what=error.what, text=repr(heard)) if heard else error.what
            raise LineLostError(what) from None
        if not stop.is_set():
            loop.call_soon_threadsafe(self._held, line, opened_ns, early)

    def _held(self, line: ThreadLine, opened_ns: int, early: list[tuple[int, bytes]]) -> None:
        self._line = line
        self._say(opened_ns, present=True, reason=said("line_open"))
        for t_ns, data in early:
            self._received(t_ns, data)

    def _say(self, t_ns: int, *, present: bool, reason: Said) -> None:
        self._changed(t_ns, present, reason)


def _in_words(error: OSError | UserError) -> Said:
    if isinstance(error, UserError):
        return error.told if isinstance(error, BusyError) else error.problems[0]
    return written(error.strerror or str(error))


def _tell(lost: "asyncio.Future[Said]", reason: Said) -> None:
    if not lost.done():
        lost.set_result(reason)


def _close_late(opening: "asyncio.Task[ThreadLine]") -> None:
    if not opening.cancelled() and opening.exception() is None:
        opening.result().close()


def _end(thread: threading.Thread, line: ThreadLine) -> None:
    thread.join(JOIN_S)
    line.close()
