"""Ctrl-C and SIGTERM as a wish that is kept in mind, at any moment: never an error on the way."""

import asyncio
import signal
from types import FrameType
from typing import Final

WATCHED: Final = (signal.SIGINT, signal.SIGTERM)


class Stopping:
    """Hears from its making on whether this process has been told to end.

    Make it in the main thread, before anything takes time.
    """

    def __init__(self) -> None:
        self._told = False
        self._waiting: tuple[asyncio.AbstractEventLoop, asyncio.Event] | None = None
        for number in WATCHED:
            signal.signal(number, self._hear)

    def _hear(self, _number: int, _frame: FrameType | None) -> None:
        self.tell()

    def tell(self) -> None:
        """End, as Ctrl-C would."""
        self._told = True
        if self._waiting is not None:
            loop, event = self._waiting
            if not loop.is_closed():
                loop.call_soon_threadsafe(event.set)

    async def wait(self) -> None:
        """Wait until told to end; at once where that was before."""
        event = asyncio.Event()
        self._waiting = (asyncio.get_running_loop(), event)
        if not self._told:
            await event.wait()
