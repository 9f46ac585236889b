"""Plays a recorded session again, as the bench page showed it. Pure: records and time come in.

The session's own time is the clock: a `Board` is folded with the records up to it, so a replayed
page is worked out by the very code of the live one. Records are read as they are needed; a step
leads to the next pass, size or refusal. A step back folds the session anew up to the one before:
the same records give the same board. No tick takes more than a page's frame: a long way is gone
in several, and `seeking` says so.
"""

from collections.abc import Callable, Iterator, Sequence
from typing import Any, Final

from barrelfit.acquire.bus.plan_told import Planned
from barrelfit.acquire.journal.codec import Record
from barrelfit.acquire.journal.events import SessionClosed, SessionOpened
from barrelfit.dashboard.board.fold import fold_record
from barrelfit.dashboard.board.model import Board
from barrelfit.dashboard.board.record import BoardRecord
from barrelfit.rules.events import Passed, Refused, SetDone, Sized

STEPS: Final = (Passed, Sized, Refused, SetDone, SessionClosed)
SPEEDS: Final = (1, 4, 16, 64)
EVENTS_A_TICK: Final = 2_000  # a tick never takes longer than the page's frame


class SessionPlayer:
    """A session being played.

    Args:
        session: its id, for the board.
        open_records: gives its journal's records from the first, each time it is called.
        plan: every feature of the session's plan, in order, as the snapshot lists them.
    """

    def __init__(
        self,
        session: str,
        open_records: Callable[[], Iterator[Record]],
        plan: Sequence[Planned] = (),
    ) -> None:
        self._session = session
        self._plan = plan
        self._open = open_records
        self.speed = 1
        self.playing = True
        self.restarts = 0
        self._steps: list[int] = []  # seq of each step that was passed
        self.restart()

    def restart(self) -> None:
        """Begin again with the first record."""
        self.restarts += 1
        self._records = self._open()
        self._next: Record | None = next(self._records, None)
        opening = self._next.event if self._next else None
        self.board = Board(opening.bench if isinstance(opening, SessionOpened) else "")
        self.board.session = self._session
        self.board.daemon = "online"
        self.board.features = self._plan
        self._at_ns = self._next.t_ns if self._next else 0
        self._told_ns: int | None = None
        self._steps.clear()
        self._stop_seq: int | None = None
        self.utc = ""

    @property
    def ended(self) -> bool:
        """Whether the last record has been shown."""
        return self._next is None

    @property
    def seeking(self) -> bool:
        """Whether it is on its way to a step and not there yet."""
        return self._stop_seq is not None and not self.ended

    @property
    def now_ns(self) -> int:
        """The session's time that is shown."""
        return self._at_ns

    def command(self, name: str, value: Any = None) -> None:  # noqa: ANN401  from a browser
        """Do what a button asks: `play`, `pause`, `restart`, `step`, `back`, `speed`; or nothing.

        A step, forward or back, leaves the session at rest.
        """
        if name == "play":
            self.playing, self._stop_seq = True, None
        elif name == "pause":
            self.playing, self._stop_seq = False, None
        elif name == "restart":
            self.restart()
        elif name == "speed" and value in SPEEDS:
            self.speed = int(value)
        elif name == "step":
            self.playing, self._stop_seq = False, 0
            self._seek()
        elif name == "back":
            self._back()

    def tick(self, now_ns: int) -> None:
        """Let the session's time follow the wall's, `speed` times as fast, while playing."""
        elapsed = 0 if self._told_ns is None else now_ns - self._told_ns
        self._told_ns = now_ns
        if self.seeking:
            self._seek()
            return
        if not self.playing or self._next is None:
            return
        until, taken = self._at_ns + elapsed * self.speed, 0
        while self._next is not None and self._next.t_ns <= until and taken < EVENTS_A_TICK:
            self._take()
            taken += 1
        if taken < EVENTS_A_TICK:
            self._at_ns = until
        self.board.heard_at_ns = self._at_ns

    def _back(self) -> None:
        """Set out for the last step before what is shown; without one, for the beginning."""
        before = [seq for seq in self._steps if seq < self.board.seq]
        told_ns = self._told_ns
        self.restart()
        self._told_ns = told_ns
        self.playing = False
        if before:
            self._stop_seq = before[-1]
            self._seek()

    def _seek(self) -> None:
        """Go on towards the step at or after `_stop_seq`, as far as one tick allows."""
        for _ in range(EVENTS_A_TICK):
            if self._next is None or self._stop_seq is None:
                break
            record = self._next
            self._take()
            if isinstance(record.event, STEPS) and record.seq >= self._stop_seq:
                self._stop_seq = None
        self.board.heard_at_ns = self._at_ns

    def _take(self) -> None:
        record = self._next
        if record is None:
            return
        self._at_ns = max(self._at_ns, record.t_ns)
        self.utc = record.utc
        if isinstance(record.event, STEPS):
            self._steps.append(record.seq)
        self.board.heard_at_ns = self._at_ns
        fold_record(self.board, BoardRecord.of_journal(record), self._at_ns)
        self._next = next(self._records, None)
