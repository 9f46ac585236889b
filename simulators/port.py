"""The far end of a cable: a pseudo-terminal with, on request, a name that outlives a replug."""

import asyncio
import fcntl
import os
import select
import sys
import termios
import tty
from pathlib import Path

POLL_S = 0.02


class Port:
    """One pseudo-terminal in raw mode; the reader opens `name` (or `link`) as it would a tty.

    The near side is kept open so that bytes sent while nobody listens do not end in an error; as
    on a line without flow control they pile up in the kernel's buffer and are then lost.
    """

    def __init__(self, link: Path | None = None) -> None:
        self.link = link
        self._master = -1
        self._slave = -1
        self.name = ""
        self.plug()

    @property
    def plugged(self) -> bool:
        """Whether there is a port at all now."""
        return self._master >= 0

    @property
    def shown_name(self) -> str:
        """The name to give to a reader."""
        return str(self.link) if self.link else self.name

    def plug(self) -> None:
        """Make a new pseudo-terminal and point the link at it."""
        self._master, self._slave = os.openpty()
        tty.setraw(self._slave)
        os.set_blocking(self._master, False)
        self.name = os.ttyname(self._slave)
        if self.link:
            fresh = self.link.with_name(f".{self.link.name}.new")
            fresh.unlink(missing_ok=True)
            fresh.symlink_to(self.name)
            fresh.replace(self.link)

    def unplug(self) -> None:
        """Take the port away: the reader's descriptor sees the line hang up."""
        if self.link:
            self.link.unlink(missing_ok=True)
        self._let_go()
        if self.plugged:
            os.close(self._master)
            self._master = -1

    def write(self, data: bytes) -> int:
        """Send bytes; returns how many the line took (fewer when nobody reads)."""
        if not self.plugged:
            return 0
        try:
            return os.write(self._master, data)
        except OSError:  # full, or the reader has just gone
            return 0

    def read(self) -> bytes:
        """Bytes the other side has sent since the last call."""
        if not self.plugged:
            return b""
        try:
            return os.read(self._master, 4096)
        except OSError:  # nothing there, or no reader
            return b""

    def _let_go(self) -> None:
        """Close our copy of the reader's side, so that `_has_reader` can tell."""
        if self._slave >= 0:
            os.close(self._slave)
            self._slave = -1

    async def wait_until_taken(self, seconds: float = 3.0) -> None:
        """Return when the reader has taken everything that was sent, or after `seconds`."""
        for _ in range(round(seconds / POLL_S)):
            await asyncio.sleep(POLL_S)  # the kernel takes a moment to hand bytes over
            if not self.plugged or not self._unread():
                return

    def _unread(self) -> int:
        """How many bytes lie on the reader's side."""
        answer = fcntl.ioctl(self._slave, termios.FIONREAD, bytes(4))
        return int.from_bytes(answer, sys.byteorder)

    async def wait_for_reader(self) -> None:
        """Return when somebody has the port open."""
        self._let_go()
        while not self._has_reader():  # noqa: ASYNC110  a pty tells nobody that it was opened
            await asyncio.sleep(POLL_S)
        self._hold()

    def _has_reader(self) -> bool:
        """Whether somebody else has the port open; can be told only after `_let_go`."""
        poll = select.poll()
        poll.register(self._master, select.POLLIN)
        return not any(event & select.POLLHUP for _, event in poll.poll(0))

    def _hold(self) -> None:
        """Open our copy of the reader's side again, after `_let_go`."""
        if self._slave < 0:
            self._slave = os.open(self.name, os.O_RDWR | os.O_NOCTTY)
