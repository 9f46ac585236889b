"""Which browser tabs run the board's pages, and which of them have been closed.

Streamlit keeps what it holds for a closed tab (three descriptors, some memory) for minutes and
until another tab closes; a screen that is loaded anew all day would pile that up.
"""

import threading
from collections.abc import Callable
from typing import Final

ROUNDS_MAX: Final = 2
"""So many rounds a tab may be without a connection: a network may stumble."""


class Tabs:
    """Hears of every tab from the pages' threads, and is asked now and then which are gone."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._rounds: dict[str, int] = {}

    def __len__(self) -> int:
        """How many tabs are known."""
        return len(self._rounds)

    def ran(self, tab: str) -> None:
        """A tab ran a page."""
        with self._lock:
            self._rounds[tab] = 0

    def gone(self, is_open: Callable[[str], bool]) -> list[str]:
        """One round: gives the tabs that were not open in several rounds, and forgets them.

        Args:
            is_open: tells whether a tab has a connection now.
        """
        with self._lock:
            for tab in self._rounds:
                self._rounds[tab] = 0 if is_open(tab) else self._rounds[tab] + 1
            found = [tab for tab, rounds in self._rounds.items() if rounds >= ROUNDS_MAX]
            for tab in found:
                del self._rounds[tab]
        return found
