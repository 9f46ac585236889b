"""Sees to it that what is asked for is known to have reached the bus, where the hand's board is.

A bus that hangs or can't be reached is found out by its silence, which takes seconds. Until then
the rules would go on to what nobody has been told of, and a hand that sweeps on would be measured
under another part's name. So the bus's word for each ask is awaited for half a second; without it
the bus counts as away, and nothing new is begun until it has taken the ask.

The bus's word is not the board's, which comes back later to a new broker, and may hang. So where
the bench has a board of its own, that says through its pipe which ask it shows; its word goes into
the record, and only then the rules begin anything by that ask.
"""

from collections.abc import Callable
from typing import Final

from barrelfit.acquire.bench.supervisor import Supervisor
from barrelfit.acquire.journal.events import Event
from barrelfit.rules.events import Asked
from barrelfit.rules.said import said
from barrelfit.rules.telling import AskShown, BoardAwaited

LOOKS: Final = 10
"""How many looks an ask may take; looks, so that a daemon held up blames nobody else for it."""
BUS: Final = "bus"


class AsksShown:
    """Watches one bus, and the bench's own board where it has one, for the asks of a session.

    Args:
        session: its id.
        taken: the seq up to which the bus has taken the record.
        supervisor: hears that the bus is away, and that it is there again.
        record: takes what the board shows.
        now_ns: the session's monotonic time.
    """

    def __init__(
        self,
        session: str,
        taken: Callable[[], int],
        supervisor: Supervisor,
        record: Callable[[Event], object],
        now_ns: Callable[[], int],
    ) -> None:
        self._session = session
        self._taken = taken
        self._supervisor = supervisor
        self._record = record
        self._now_ns = now_ns
        self._shown = 0
        self._asked = 0
        self._looks = 0
        self._late = False

    def on_disk(self, seq: int, event: Event) -> None:
        """Hear of a record that is on disk: from now on the rules may act on it."""
        if isinstance(event, Asked):
            self._asked, self._looks = seq, 0

    def await_board(self) -> None:
        """The bench has a board of its own: call before anything is asked for."""
        self._record(BoardAwaited(self._now_ns()))

    def shown(self, session: str, ask: int) -> None:
        """Hear from the bench's own board which ask of which session it shows."""
        if session == self._session and ask > self._shown:
            self._shown = ask
            self._record(AskShown(self._now_ns(), ask))

    def look(self) -> None:
        """Call about every 50 ms."""
        away = self._supervisor.is_away(BUS)
        if self._taken() >= self._asked:
            if self._late and away:
                self._supervisor.say_up(BUS)
            self._late = False
            return
        self._looks += 1
        if self._looks >= LOOKS and not away:
            self._late = True
            self._supervisor.say_away(BUS, said("does_not_answer"), tried=False)
