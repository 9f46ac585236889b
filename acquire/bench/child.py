"""What every child process of a bench needs: an end that comes for certain."""

import asyncio
import contextlib
from collections.abc import Coroutine
from typing import Any, Final

from barrelfit.rules.said import Said

STOP_S: Final = 2.0


async def started(
    starting: Coroutine[Any, Any, asyncio.subprocess.Process],
) -> asyncio.subprocess.Process:
    """A child that is being started; told to end meanwhile, it is started, ended, and done with.

    A start that is broken off in its middle would leave pipes that nobody closes.
    """
    task = asyncio.create_task(starting)
    try:
        return await asyncio.shield(task)
    except asyncio.CancelledError:
        await end_child(await task)
        raise


async def end_child(child: asyncio.subprocess.Process) -> None:
    """End a child that may be stopped or hung, and wait for its end."""
    if child.returncode is None:
        with contextlib.suppress(ProcessLookupError):
            child.terminate()
        with contextlib.suppress(TimeoutError):
            async with asyncio.timeout(STOP_S):
                await child.wait()
    if child.returncode is None:
        with contextlib.suppress(ProcessLookupError):
            child.kill()
        await child.wait()
    if child.stdin is not None:
        child.stdin.close()


async def first_of(*works: Coroutine[Any, Any, Said]) -> Said:
    """What the first of several works to end gives; the others are cancelled."""
    tasks = [asyncio.create_task(work) for work in works]
    try:
        done, _ = await asyncio.wait(tasks, return_when=asyncio.FIRST_COMPLETED)
        return done.pop().result()
    finally:
        for task in tasks:
            task.cancel()
        await asyncio.gather(*tasks, return_exceptions=True)
