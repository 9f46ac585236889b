"""Listens to a local serial port at changing rates: the real `acquire.wires.identifying.Ear`."""

import os
import select
import termios
from types import TracebackType
from typing import Final, Self

from barrelfit.acquire.wires.byte_source import LineSettings
from barrelfit.acquire.wires.serial_source import open_port

CHUNK_BYTES: Final = 4096


class SerialEar:
    """A port opened for us alone at eight bits and no parity; a context manager.

    Raises:
        UserError: another program has the port.
        OSError: it can't be opened.
    """

    def __init__(self, port: str, baud: int) -> None:
        self._handle = open_port(port, LineSettings(baud=baud))
        self._fd = self._handle.fileno()

    def __enter__(self) -> Self:
        """Give the opened port."""
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        """Close the port."""
        self._handle.close()

    def set_rate(self, baud: int) -> None:
        """Listen at this rate from now on; what was waiting is thrown away."""
        self._handle.baudrate = baud
        termios.tcflush(self._fd, termios.TCIFLUSH)

    def listen(self, timeout_s: float) -> bytes:
        """What arrives next; empty when nothing does in time.

        Raises:
            OSError: the gauge or its cable is gone.
        """
        ready, _, _ = select.select([self._fd], [], [], max(timeout_s, 0))
        if not ready:
            return b""
        data = os.read(self._fd, CHUNK_BYTES)
        if not data:
            msg = "the gauge or its cable is gone"
            raise OSError(msg)
        return data

    def say(self, data: bytes) -> None:
        """Send a request."""
        os.write(self._fd, data)
