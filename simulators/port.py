"""The far end of a cable: a pseudo-terminal with, on request, a name that outlives a replug."""

import os
import tty
from pathlib import Path


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
        if self.plugged:
            os.close(self._slave)
            os.close(self._master)
        self._master = self._slave = -1

    def write(self, data: bytes) -> int:
        """Send bytes; returns how many the line took (fewer when nobody reads)."""
        if not self.plugged:
            return 0
        try:
            return os.write(self._master, data)
        except BlockingIOError:
            return 0

    def read(self) -> bytes:
        """Bytes the other side has sent since the last call."""
        if not self.plugged:
            return b""
        try:
            return os.read(self._master, 4096)
        except BlockingIOError:
            return b""

    def let_go(self) -> None:
        """Close our copy of the reader's side, so that `has_reader` can tell."""
        if self._slave >= 0:
            os.close(self._slave)
            self._slave = -1

    def fileno(self) -> int:
        """Descriptor of the far side."""
        return self._master
