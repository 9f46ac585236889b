"""The bench's own MQTT broker: a child process on 127.0.0.1, ended with its parent.

A bench needs no server to be set up: its daemon starts this broker itself. It listens on the
loopback address only and asks for a password, because it has no access lists; whoever has the
password can still not speak for the bench (`acquire.bus.proof`).
"""

import asyncio
import contextlib
import errno
import socket
import sys
from collections.abc import Callable
from dataclasses import replace
from importlib.util import find_spec
from pathlib import Path
from typing import Final

from barrelfit.acquire.bench.child import end_child, started
from barrelfit.acquire.bench.supervisor import Standing
from barrelfit.acquire.bus.broker import (
    BrokerAddress,
    config_text,
    free_port,
    is_free,
)
from barrelfit.acquire.private_files import write_private
from barrelfit.rules.said import NOTHING, Said, said

START_S: Final = 10.0
LOOK_S: Final = 0.05
SILENT_S: Final = 6.0
"""How long a broker may run without letting its own daemon in before it counts as hung."""
TAKEN_S: Final = 2.0
"""How long a port may still be held by the broker of a daemon that was killed a moment ago."""


class BrokerChild:
    """The bus of one bench as a service under a supervisor (`acquire.bench.supervisor`).

    Args:
        address: where it is to listen; port 0 is any free one.
        folder: where its configuration is kept while it runs (it holds the password).
        moved: hears of the address whenever it is another than before.
    """

    name = "bus"

    def __init__(
        self, address: BrokerAddress, folder: Path, moved: Callable[[BrokerAddress], None]
    ) -> None:
        self._wanted = address
        self._folder = folder
        self._moved = moved
        self._address: BrokerAddress | None = None
        self.serving: BrokerAddress | None = None
        self.heard: Callable[[], bool] = lambda: True

    async def live(self, standing: Standing) -> Said:
        """Run one broker until it ends or hangs; gives why it ended."""
        if find_spec("iotcore") is None:
            return said("no_embedded_broker")
        address, word = await self._choose()
        config = self._folder / f"broker-{address.port}.toml"
        write_private(config, config_text(address))
        child = await started(
            asyncio.create_subprocess_exec(
                *(sys.executable, "-m", "barrelfit.acquire.bus.iotcore_child", str(config)),
                stdin=asyncio.subprocess.PIPE,  # its end is the child's
                start_new_session=True,  # Ctrl-C is for us: the goodbye needs a broker
            )
        )
        try:
            if not await _until_open(child, address):
                return _why_not(address)
            self.serving = address
            standing.up(word)
            return await self._until_end(child)
        finally:
            self.serving = None
            await end_child(child)
            config.unlink(missing_ok=True)

    async def _choose(self) -> tuple[BrokerAddress, Said]:
        """The address to listen at, and what is to be said of it."""
        wanted, word = self._address or self._wanted, NOTHING
        loop = asyncio.get_running_loop()
        end = loop.time() + TAKEN_S
        while wanted.port and not is_free(wanted.port) and loop.time() < end:  # noqa: ASYNC110
            await asyncio.sleep(LOOK_S)
        if not wanted.port or not is_free(wanted.port):
            address = replace(wanted, port=free_port())
            if wanted.port:
                word = said("port_taken", wanted=wanted.port, port=address.port)
        else:
            address = wanted
        if address != self._address:
            self._address = address
            self._moved(address)
        return address, word

    async def _until_end(self, child: asyncio.subprocess.Process) -> Said:
        """Wait until the child ends, or has let nobody in for too long."""
        loop = asyncio.get_running_loop()
        heard_at = loop.time()
        while child.returncode is None:
            if self.heard():
                heard_at = loop.time()
            if loop.time() - heard_at > SILENT_S:
                return said("does_not_answer")
            with contextlib.suppress(TimeoutError):
                async with asyncio.timeout(SILENT_S / 12):
                    await child.wait()
        return said("it_ended", code=str(child.returncode))


def _why_not(address: BrokerAddress) -> Said:
    """What keeps anyone from reaching the broker's place; that it never answered, where nothing."""
    try:
        with socket.create_connection((address.host, address.port), timeout=1.0):
            return said("does_not_answer")
    except OSError as error:
        place = f"{address.host}:{address.port}"
        return said("cant_reach_broker", place=place, why=str(error.strerror))


async def _until_open(child: asyncio.subprocess.Process, address: BrokerAddress) -> bool:
    """Wait until a starting broker takes connections; False when it ended or took too long."""
    loop = asyncio.get_running_loop()
    end = loop.time() + START_S
    while child.returncode is None and loop.time() < end:
        try:
            _, writer = await asyncio.open_connection(address.host, address.port)
        except OSError as error:
            if error.errno == errno.ENETUNREACH:
                return False
            await asyncio.sleep(LOOK_S)
            continue
        writer.close()
        with contextlib.suppress(OSError):
            await writer.wait_closed()
        return True
    return False
