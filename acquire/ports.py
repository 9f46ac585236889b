"""What the daemon asks of the outside world, so that tests can stand in for it."""

from typing import Protocol


class ByteSource(Protocol):
    """A gauge's end of a cable, whatever carries it.

    A source is made with two callbacks: `received(t_ns, data)` for every chunk of bytes, stamped
    once on arrival, and `changed(t_ns, present, reason)` when the port comes or goes.
    """

    async def run(self) -> None:
        """Open, read and re-open until cancelled; a lost port never ends the task."""
        ...

    def write(self, data: bytes) -> bool:
        """Send bytes to the gauge; False when there is no port to send to."""
        ...
