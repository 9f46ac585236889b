"""Sees to it that what is asked for is known to have reached the bus, where the hand's board is.

A bus that hangs or can't be reached is found out by its silence, which takes seconds. Until then
the rules would go on to what nobody has been told of, and a hand that sweeps on would be measured
under another part's name. So the bus's word for each ask is awaited for half a second; without it
the bus counts as away, and nothing new is begun until it has taken the ask.
"""

from collections.abc import Callable
from typing import Final

from barrelfit.acquire.bench.supervisor import Supervisor
from barrelfit.acquire.journal.events import Event
from barrelfit.rules.events import Asked

LOOKS: Final = 10
"""How many looks an ask may take; looks, so that a daemon held up blames nobody else for it."""
BUS: Final = "bus"


class AsksShown:
    """Watches one bus for the asks of a session.

    Args:
        taken: the seq up to which the bus has taken the record.
        supervisor: hears that the bus is away, and that it is there again.
    """

    def __init__(self, taken: Callable[[], int], supervisor: Supervisor) -> None:
        self._taken = taken
        self._supervisor = supervisor
        self._asked = 0
        self._looks = 0
        self._late = False

    def on_disk(self, seq: int, event: Event) -> None:
        """Hear of a record that is on disk: from now on the rules may act on it."""
        if isinstance(event, Asked):
            self._asked, self._looks = seq, 0

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
            self._supervisor.say_away(BUS, "it does not answer", tried=False)
