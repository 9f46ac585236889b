"""Puts events into the session's journal and tells when they are on disk.

`record` is called from the event loop and only seals the record in memory; a thread writes all
that waits in one go and asks the disk to keep it, at once where the last go was some milliseconds
ago; what comes meanwhile is gathered for the next go. Nothing leaves for the bus before that.
"""

import asyncio
import contextlib
import logging
import threading
from collections import deque
from collections.abc import Callable
from dataclasses import dataclass
from queue import SimpleQueue
from typing import Final

from barrelfit.acquire.clock import Clock, utc_text
from barrelfit.acquire.gathered import Gathered
from barrelfit.acquire.journal.clock_watch import ClockWatch
from barrelfit.acquire.journal.events import Event, SessionClosed, SessionSigned
from barrelfit.acquire.journal.job_events import JobPaused
from barrelfit.acquire.journal.lines import Stamp
from barrelfit.acquire.journal.writer import JournalFile, JournalRefusedError

RETRY_S: Final = 0.25
LOOK_S: Final = 0.5
LAST_WORDS: Final = 5  # a disk that fails at each of them is not to be trusted with an end
APART_S: Final = 0.0034
LATE_S: Final = 0.0044
"""Between the starts of two goes (`Gathered`). Each costs some 0.4 ms of a core, down to the bus
and the rules."""

GO: Final = "go"
END: Final = "end"

log = logging.getLogger("barrelfit")

Signer = Callable[[str], SessionSigned]
"""Signs a head hash."""


def stamp_of(clock: Clock) -> Stamp:
    """The present moment as a journal stamps it."""
    return Stamp(clock.monotonic_ns(), utc_text(clock.utc()))


@dataclass(frozen=True, slots=True)
class JustRecorded:
    """A record as it was sealed: its number, the number of its cause, its document."""

    seq: int
    because: int | None
    event: Event


class _Goes:
    """Has a thread write the journal, one go at a time; what one came to is told in the loop."""

    def __init__(
        self, flush: Callable[[], object], told: Callable[[BaseException | None], None]
    ) -> None:
        self._flush = flush
        self._told = told
        self._loop = asyncio.get_running_loop()
        self._gathered = Gathered(self._begin, APART_S, LATE_S)
        self._is_under_way = False
        self._orders: SimpleQueue[str] = SimpleQueue()
        threading.Thread(target=self._work, name="journal", daemon=True).start()

    def want(self) -> None:
        """Have it write soon; `told` hears that it did, or what it raised.

        A go that is under way may be too far for the newest: who hears of its end wants another.
        """
        if not self._is_under_way:
            self._gathered.want()

    def end(self) -> None:
        """Nothing more is to be written; a go under way is not waited for."""
        self._gathered.end()
        self._orders.put(END)

    def _begin(self) -> None:
        self._is_under_way = True
        self._orders.put(GO)

    def _went(self, raised: BaseException | None) -> None:
        self._is_under_way = False
        self._told(raised)

    def _work(self) -> None:
        while self._orders.get() == GO:
            raised: BaseException | None = None
            try:
                self._flush()
            except BaseException as error:  # noqa: BLE001  raised where the recording runs
                raised = error
            with contextlib.suppress(RuntimeError):  # the loop has ended meanwhile
                self._loop.call_soon_threadsafe(self._went, raised)


class Recorder:
    """The daemon's way into the journal."""

    def __init__(self, journal: JournalFile, clock: Clock, signer: Signer | None = None) -> None:
        """Record into an open journal.

        Args:
            journal: the session's.
            clock: for the records' times.
            signer: signs a closed session's head hash, None where nobody does.
        """
        self._signer = signer
        self.journal = journal
        self._clock = clock
        self._watch = ClockWatch()
        self._goes: _Goes | None = None
        self._rests = False  # for a moment: the disk has just refused
        self._trouble = ""
        self._failed: asyncio.Future[None] | None = None
        self._listeners: list[Callable[[], None]] = []
        self._hearers: list[Callable[[JustRecorded], None]] = []
        self._tellers: list[Callable[[int, Event], None]] = []
        self._untold: deque[tuple[int, Event]] = deque()

    def record(
        self, event: Event, *, because: int | None = None, t_ns: int | None = None
    ) -> int | None:
        """Seal one event; gives its seq, or None when nothing more can even wait.

        Args:
            event: what happened.
            because: seq of its cause.
            t_ns: monotonic time at which it happened, now when left out.
        """
        at_ns = self._clock.monotonic_ns() if t_ns is None else t_ns
        stamp = Stamp(at_ns, utc_text(self._clock.utc()))
        try:
            seq = self.journal.append(event, because, stamp)
        except JournalRefusedError:
            seq = None  # the journal counts it and says so once it writes again
        self._want()
        if seq is not None:
            recorded = JustRecorded(seq, because, event)
            for hear in self._hearers:
                hear(recorded)
            if self._tellers:
                self._untold.append((seq, event))
        return seq

    def watch_clock(self) -> None:
        """Journal a step of the wall clock against the monotonic one, or a clock never set."""
        for event in self._watch.look(self._clock.monotonic_ns(), self._clock.utc()):
            self.record(event)

    def hear(self, hearer: Callable[[JustRecorded], None]) -> None:
        """Have `hearer` called with every record, before it is on disk."""
        self._hearers.append(hearer)

    def tell(self, teller: Callable[[int, Event], None]) -> None:
        """Have `teller` called with the seq and event of every record once it is on disk."""
        self._tellers.append(teller)

    def close(self, last: SessionClosed | JobPaused | None = None) -> None:
        """Bring what waits to disk, tell of it, and let the journal go.

        Args:
            last: the session's last word, or its last for now; None when it is to be gone on with.
        """
        complete = self.journal.settle()
        if last is not None:
            complete = self._say_last(last)
            if complete and isinstance(last, SessionClosed) and self._signer is not None:
                complete = self._say_last(self._signer(self.journal.head_hash))
        self._tell_durable()
        self.journal.let_go(complete=complete)

    def _say_last(self, last: Event) -> bool:
        """Have an event on disk as the record's last; False when not everything is on disk.

        Where the disk fails and comes back meanwhile, the record says so behind the event, which
        is said again then: by its last record it is known how a session ends.
        """
        for _ in range(LAST_WORDS):
            seq = self.record(last)
            if not self.journal.settle():
                return False
            if self.journal.last_seq == seq:
                return True
        return False

    @property
    def missing(self) -> str:
        """What of the session is not on disk and never will be, as a sentence; empty for nothing.

        Known once `close` has been called.
        """
        said: list[str] = []
        if unsaved := self.journal.unsaved:
            what = f"{unsaved.records} records, {unsaved.readings} readings among them"
            said.append(f"{what}, were not saved: {unsaved.reason}")
        if lost := self.journal.lost:
            said.append(f"{lost} records were lost while nothing could be written")
        return "; ".join(said)

    def on_more(self, listener: Callable[[], None]) -> None:
        """Have `listener` called whenever more records may be on disk."""
        self._listeners.append(listener)

    def forget(self, listener: Callable[[], None]) -> None:
        """Let one of `on_more` go."""
        self._listeners.remove(listener)

    async def until_durable(self, seq: int) -> None:
        """Wait until record `seq` is on disk."""
        news = asyncio.Event()
        self.on_more(news.set)
        try:
            while self.journal.durable_seq < seq:
                news.clear()
                await news.wait()
        finally:
            self.forget(news.set)

    async def run(self) -> None:
        """Write what waits, until cancelled; what a go, or who was told of it, raises is raised."""
        self._failed = asyncio.get_running_loop().create_future()
        self._goes = _Goes(self.journal.flush, self._went)
        self._trouble = self.journal.trouble
        self._rests = False
        looking = asyncio.create_task(self._look())
        try:
            await self._failed
        finally:
            self._goes.end()
            self._goes = None
            looking.cancel()

    async def _look(self) -> None:
        """Where nothing is written, have the file looked after."""
        while True:
            self._want()
            await asyncio.sleep(LOOK_S)

    def _want(self) -> None:
        """Have what waits written, unless that is to be done in any case."""
        if self._goes is not None and not self._rests:
            self._goes.want()

    def _want_again(self) -> None:
        self._rests = False
        self._want()

    def _went(self, raised: BaseException | None) -> None:
        """A go is over."""
        if self._goes is None or self._failed is None or self._failed.done():
            return  # the recording has ended meanwhile
        if raised is None:
            try:
                self._tell_of_go()
            except Exception as error:  # noqa: BLE001  raised where the recording runs
                raised = error
        if raised is not None:
            self._failed.set_exception(raised)

    def _tell_of_go(self) -> None:
        if self.journal.trouble != self._trouble:
            self._trouble = self.journal.trouble
            self._log_trouble()
        self._tell_durable()
        for listener in tuple(self._listeners):
            listener()
        if self.journal.durable_seq == self.journal.last_seq:
            return
        if self.journal.trouble:
            self._rests = True
            asyncio.get_running_loop().call_later(RETRY_S, self._want_again)
        else:
            self._want()

    def _log_trouble(self) -> None:
        if self.journal.trouble:
            log.error("not recording: %s: %s", self.journal.path, self.journal.trouble)
        else:
            log.warning("recording again: %s", self.journal.path)

    def _tell_durable(self) -> None:
        while self._untold and self._untold[0][0] <= self.journal.durable_seq:
            seq, event = self._untold.popleft()
            for teller in self._tellers:
                teller(seq, event)
