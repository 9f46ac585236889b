"""A gauge's byte source that goes to another port when a person says that the gauge is there."""

import asyncio
from collections.abc import Callable

from barrelfit.acquire.clock import Clock
from barrelfit.acquire.wires.byte_source import ByteSource, Changed
from barrelfit.rules.said import NOTHING, Said


class ChosenSource:
    """Runs one source at a time, each made for the port that the gauge has by then.

    Args:
        make: makes the source; told whether it is the first.
        clock: the session's.
        changed: hears that the gauge's port went, when another one is gone to.
    """

    def __init__(self, make: Callable[[bool], ByteSource], clock: Clock, changed: Changed) -> None:
        self._make = make
        self._clock = clock
        self._changed = changed
        self._source = make(True)  # noqa: FBT003  the first
        self._anew = asyncio.Event()
        self._why = NOTHING

    def begin_anew(self, why: Said) -> None:
        """Leave the present port for the one that the gauge has now."""
        self._why = why
        self._anew.set()

    async def run(self) -> None:
        """Read whichever port is the gauge's until cancelled; see `ByteSource`."""
        while True:
            reading = asyncio.create_task(self._source.run())
            anew = asyncio.create_task(self._anew.wait())
            try:
                await asyncio.wait({reading, anew}, return_when=asyncio.FIRST_COMPLETED)
                if reading.done():
                    return reading.result()
            finally:
                for task in (reading, anew):
                    task.cancel()
                await asyncio.gather(reading, anew, return_exceptions=True)
            self._anew.clear()
            self._changed(self._clock.monotonic_ns(), False, self._why)  # noqa: FBT003
            self._source = self._make(False)  # noqa: FBT003  a later one

    def write(self, data: bytes) -> bool:
        """Send bytes to the gauge; see `ByteSource`."""
        return self._source.write(data)
