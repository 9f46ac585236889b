"""What the daemon asks of the outside world, so that tests can stand in for it."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal, Protocol

from barrelfit.rules.said import Said

Received = Callable[[int, bytes], None]
"""Hears of bytes with the monotonic ns of their arrival."""

Changed = Callable[[int, bool, Said], None]
"""Hears, at a monotonic ns, whether a port is present and why."""


@dataclass(frozen=True, slots=True)
class LineSettings:
    """How a port is set: rate in baud, 7 or 8 data bits, parity N, E or O, 1 or 2 stop bits."""

    baud: int = 9600
    bits: Literal[7, 8] = 8
    parity: str = "N"
    stop: Literal[1, 2] = 1
    dtr: bool = True
    rts: bool = True


class ByteSource(Protocol):
    """A gauge's end of a cable, whatever carries it.

    A source is made with two callbacks: `received(t_ns, data)` for every chunk of bytes, stamped
    once on arrival, and `changed(t_ns, present, reason)` when the port comes or goes.
    """

    async def run(self) -> None:
        """Open, read and re-open until cancelled; a lost port never ends the task.

        Raises:
            UserError: another program had the port from the start and keeps it.
        """
        ...

    def write(self, data: bytes) -> bool:
        """Send bytes to the gauge; False when there is no port to send to."""
        ...
