"""Starts the board as a child process and waits until it answers."""

import asyncio
import json
import os
import sys
from pathlib import Path
from typing import Final

from barrelfit.acquire.bus.broker import BrokerAddress
from barrelfit.acquire.errors import UserError

START_S: Final = 30.0
STOP_S: Final = 5.0
PASSWORD: Final = "BARRELFIT_BROKER_PASSWORD"  # noqa: S105  a variable's name


class BoardChild:
    """A running board; ends with us, because we hold its standard input."""

    def __init__(self, process: asyncio.subprocess.Process, url: str) -> None:
        self._process = process
        self.url = url

    @classmethod
    async def start(cls, address: BrokerAddress, port: int, sessions: Path) -> "BoardChild":
        """Start the board on 127.0.0.1:`port`, with the sessions kept in a folder.

        Raises:
            UserError: it did not start; its own words are on standard error.
        """
        process = await asyncio.create_subprocess_exec(
            sys.executable,
            *("-m", "barrelfit.dashboard", "--port", str(port), "--watch-stdin"),
            *("--broker-host", address.host, "--broker-port", str(address.port)),
            *("--user", address.user, "--sessions", str(sessions)),
            stdin=asyncio.subprocess.PIPE,
            stdout=asyncio.subprocess.PIPE,
            env={**os.environ, PASSWORD: address.password},
            start_new_session=True,  # Ctrl-C is for us, who end the board in its turn
        )
        child = cls(process, "")
        try:
            async with asyncio.timeout(START_S):
                child.url = await child._first_word()
        except TimeoutError:
            await child.stop()
            raise UserError([f"the board did not answer within {START_S:g} s"]) from None
        return child

    async def stop(self) -> None:
        """End the board."""
        if self._process.returncode is None:
            self._process.terminate()
            try:
                await asyncio.wait_for(self._process.wait(), STOP_S)
            except TimeoutError:
                self._process.kill()
                await self._process.wait()

    async def _first_word(self) -> str:
        """The address in the board's first line of JSON."""
        stream = self._process.stdout
        while stream is not None and (line := await stream.readline()):
            try:
                return str(json.loads(line)["board"])
            except (ValueError, KeyError, TypeError):
                continue
        await self._process.wait()
        raise UserError(["the board did not start"])
