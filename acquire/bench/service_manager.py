"""Tells a service manager how the bench stands: ready, alive, ending.

The manager (systemd, sd_notify(3)) names a datagram socket in `NOTIFY_SOCKET`; every message is a
few lines `NAME=value`. It starts a bench anew that has not said that it is alive for too long
(`WATCHDOG_USEC`). Where nobody listens, nothing is said.
"""

import asyncio
import contextlib
import os
import socket
from collections.abc import AsyncIterator, Mapping
from typing import Final

READY: Final = "READY=1"
ALIVE: Final = "WATCHDOG=1"
ENDING: Final = "STOPPING=1"


class ServiceManager:
    """The manager that started this process, if one did.

    Args:
        environment: where its address is; the process's own, but for a test.
    """

    def __init__(self, environment: Mapping[str, str] = os.environ) -> None:
        address = environment.get("NOTIFY_SOCKET", "")
        # A name that begins with @ is one of Linux's abstract sockets.
        self._address = "\0" + address[1:] if address.startswith("@") else address
        of_us = environment.get("WATCHDOG_PID", str(os.getpid())) == str(os.getpid())
        wait_us = environment.get("WATCHDOG_USEC", "") if of_us else ""
        self.alive_every_s = int(wait_us) / 2e6 if wait_us.isdecimal() and int(wait_us) else None

    def tell(self, *lines: str) -> None:
        """Send a message; a manager that does not hear it hinders nothing."""
        if not self._address:
            return
        with contextlib.suppress(OSError), socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM) as way:
            way.settimeout(0)  # a manager that is busy is not waited for
            way.connect(self._address)
            way.send("\n".join(lines).encode())

    @contextlib.asynccontextmanager
    async def watching(self, status: str) -> AsyncIterator[None]:
        """Be ready, and alive as long as the event loop turns; at the end, ending.

        Args:
            status: what is done, in one line.
        """
        self.tell(READY, f"STATUS={status}")
        alive = asyncio.create_task(self._stay_alive())
        try:
            yield
        finally:
            alive.cancel()
            self.tell(ENDING)

    async def _stay_alive(self) -> None:
        while self.alive_every_s is not None:
            self.tell(ALIVE)
            await asyncio.sleep(self.alive_every_s)
