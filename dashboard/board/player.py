"""Plays a recorded session again, as the bench page showed it. Pure: records and time come in.

The session's own time is the clock: a `Board` is folded with the records up to it, so a replayed
page is worked out by the very code of the live one. Records are read as they are needed; a step
leads to the next pass, size or refusal. A step back folds the session anew up to the one before:
the same records give the same board. No tick takes more than a page's frame: a long way is gone
in several, and `seeking` says so.
"""

from collections.abc import Callable, Iterator, Sequence
from typing import Any, Final

from barrelfit.dashboard.board.fold import fold_journal, take_plan
from barrelfit.dashboard.board.model import Board, Event

STEPS: Final = frozenset({"passed", "sized", "refused", "set_done", "session_closed"})
SPEEDS: Final = (1, 4, 16, 64)
EVENTS_A_TICK: Final = 2_000  # a tick never takes longer than the page's frame


class Player:
    """A session being played.

    Args:
        session: its id, for the board.
        open_records: gives the records from the first, each time it is called.
        plan: every feature of the session's plan, in order, as the snapshot lists them.
    """

    def __init__(
        self,
        session: str,
        open_records: Callable[[], Iterator[Event]],
        plan: Sequence[Event] = (),
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
        self._next: Event | None = next(self._records, None)
        opening = self._next["data"] if self._next else {}
        self.board = Board(str(opening.get("bench", "")))
        self.board.session = self._session
        self.board.daemon = "online"
        take_plan(self.board, self._plan)
        self._at_ns = int(self._next["t"]) if self._next else 0
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
        while self._next is not None and int(self._next["t"]) <= until and taken < EVENTS_A_TICK:
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
            kind, seq = self._next.get("kind"), int(self._next.get("seq", 0))
            self._take()
            if kind in STEPS and seq >= self._stop_seq:
                self._stop_seq = None
        self.board.heard_at_ns = self._at_ns

    def _take(self) -> None:
        record = self._next
        if record is None:
            return
        self._at_ns = max(self._at_ns, int(record["t"]))
        self.utc = str(record.get("utc", ""))
        if record.get("kind") in STEPS:
            self._steps.append(int(record.get("seq", 0)))
        fold_journal(self.board, {"session": self._session, "events": [record]}, self._at_ns)
        self._next = next(self._records, None)
