"""A child process ends with its parent: the parent's end of our standard input closes."""

import asyncio
import os
import threading

STDIN = 0


async def until_parent_ends() -> None:
    """Wait until standard input is closed, reading away what still comes."""
    loop = asyncio.get_running_loop()
    ended = asyncio.Event()

    def watch() -> None:
        # os.read, not sys.stdin: a buffered reader held by a thread breaks the interpreter's end.
        while os.read(STDIN, 1024):
            pass
        loop.call_soon_threadsafe(ended.set)

    threading.Thread(target=watch, name="parent", daemon=True).start()
    await ended.wait()
