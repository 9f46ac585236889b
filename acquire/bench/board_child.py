"""The board as a service: a child process that learns of its bench through its standard input."""

import asyncio
import json
import sys
from collections.abc import AsyncIterator, Callable
from pathlib import Path
from typing import Final

from barrelfit.acquire.bench.child import end_child
from barrelfit.acquire.bench.supervisor import Standing

LINE_BYTES: Final = 65_536


class BoardChild:
    """The board under a supervisor; each ends with us, because we hold its standard input.

    Args:
        port: where it is to serve, on 127.0.0.1.
        sessions: folder of recorded sessions, where it finds other benches too.
        announce: hears of its address each time it serves.
    """

    name = "board"

    def __init__(self, port: int, sessions: Path, announce: Callable[[str], None]) -> None:
        self._port = port
        self._sessions = sessions
        self._announce = announce
        self._link = b""
        self._child: asyncio.subprocess.Process | None = None

    def tell(self, link: bytes) -> None:
        """Tell it of its bench, one line of JSON (`acquire.bus.link_file`), now and each start."""
        self._link = link
        child = self._child
        if child is not None and child.stdin is not None and not child.stdin.is_closing():
            child.stdin.write(link + b"\n")

    async def live(self, standing: Standing) -> str:
        """Run one board until it ends; gives why. Its own words are on standard error."""
        child = self._child = await asyncio.create_subprocess_exec(
            *(sys.executable, "-m", "barrelfit.dashboard", "--port", str(self._port)),
            *("--watch-stdin", "--sessions", str(self._sessions)),
            stdin=asyncio.subprocess.PIPE,
            stdout=asyncio.subprocess.PIPE,
            limit=LINE_BYTES,
            start_new_session=True,  # Ctrl-C is for us, who end the board in its turn
        )
        try:
            if self._link:
                self.tell(self._link)
            async for line in _lines(child.stdout):
                if url := _url_in(line):
                    self._announce(url)
                    standing.up()
            return f"it ended ({await child.wait()}); its own words are on standard error"
        finally:
            self._child = None
            await end_child(child)


async def _lines(stream: asyncio.StreamReader | None) -> AsyncIterator[bytes]:
    """Lines until the stream ends; one that is too long ends it too."""
    while stream is not None:
        try:
            line = await stream.readline()
        except ValueError:
            return
        if not line:
            return
        yield line


def _url_in(line: bytes) -> str:
    """The address in a board's first line of JSON, else empty."""
    try:
        return str(json.loads(line)["board"])
    except (ValueError, KeyError, TypeError, RecursionError):
        return ""
