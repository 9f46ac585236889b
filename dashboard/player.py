"""Plays a recorded session again, as the bench page showed it. Pure: records and time come in.

The session's own time is the clock: a `Board` is folded with the records up to it, so a replayed
page is worked out by the very code of the live one. Records are read as they are needed; a step
leads to the next pass, size or refusal.
"""

from collections.abc import Callable, Iterator, Sequence
from typing import Any, Final

from dashboard.fold import fold_journal
from dashboard.model import Board, Event, Place

STEPS: Final = frozenset({"passed", "sized", "refused", "set_done", "session_closed"})
SPEEDS: Final = (1, 4, 16, 64)
EVENTS_A_TICK: Final = 2_000  # a tick never takes longer than the page's frame
SILENT_NS: Final = 1_900_000_000


class Player:
    """A session being played.

    Args:
        session: its id, for the board.
        open_records: gives the records from the first, each time it is called.
        plan: every feature of the session's plan (with its gauge's name, or none), in order.
    """

    def __init__(
        self,
        session: str,
        open_records: Callable[[], Iterator[Event]],
        plan: Sequence[tuple[Place, str]] = (),
    ) -> None:
        self._session = session
        self._plan = plan
        self._open = open_records
        self.speed = 1
        self.playing = True
        self.restart()

    def restart(self) -> None:
        """Begin again with the first record."""
        self._records = self._open()
        self._next: Event | None = next(self._records, None)
        opening = self._next["data"] if self._next else {}
        self.board = Board(str(opening.get("bench", "")))
        self.board.session = self._session
        self.board.daemon = "online"
        self.board.features = list(self._plan)
        self._at_ns = int(self._next["t"]) if self._next else 0
        self._told_ns: int | None = None
        self.utc = ""

    @property
    def ended(self) -> bool:
        """Whether the last record has been shown."""
        return self._next is None

    @property
    def now_ns(self) -> int:
        """The session's time that is shown."""
        return self._at_ns

    def command(self, name: str, value: Any = None) -> None:  # noqa: ANN401  from a browser
        """Do what a button asks: `play`, `pause`, `restart`, `step`, `speed`; else nothing."""
        if name == "play":
            self.playing = True
        elif name == "pause":
            self.playing = False
        elif name == "restart":
            self.restart()
        elif name == "speed" and value in SPEEDS:
            self.speed = int(value)
        elif name == "step":
            self.playing = False
            self._step()

    def tick(self, now_ns: int) -> None:
        """Let the session's time follow the wall's, `speed` times as fast, while playing."""
        elapsed = 0 if self._told_ns is None else now_ns - self._told_ns
        self._told_ns = now_ns
        if not self.playing or self._next is None:
            return
        until, taken = self._at_ns + elapsed * self.speed, 0
        while self._next is not None and int(self._next["t"]) <= until and taken < EVENTS_A_TICK:
            self._take()
            taken += 1
        if taken < EVENTS_A_TICK:
            self._at_ns = until
        self.board.heard_at_ns = self._at_ns

    def _step(self) -> None:
        while self._next is not None:
            kind = self._next.get("kind")
            self._take()
            if kind in STEPS:
                break
        self.board.heard_at_ns = self._at_ns

    def _take(self) -> None:
        record = self._next
        if record is None:
            return
        self._at_ns = max(self._at_ns, int(record["t"]))
        self.utc = str(record.get("utc", ""))
        fold_journal(self.board, {"session": self._session, "events": [record]}, self._at_ns)
        self._next = next(self._records, None)
