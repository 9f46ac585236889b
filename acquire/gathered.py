"""One thing done for many: at once for one who comes alone, together for those who come close."""

import asyncio
import math
from collections.abc import Callable


class Gathered:
    """Has `work` done in the event loop whenever it is wanted, but not for each wish.

    It is done as the wish comes, unless the last time was within `apart_s`: then the first wish
    after that has it done for all of them, and where none comes, the time does, `late_s` after the
    last time. Under load hardly any time has to be waited for, which costs a turn of the event loop
    of its own, and whoever comes last of some does not wait at all.
    """

    def __init__(self, work: Callable[[], object], apart_s: float, late_s: float) -> None:
        self._work = work
        self._apart_s = apart_s
        self._late_s = late_s
        self._loop = asyncio.get_running_loop()
        self._last_s = -math.inf
        self._due: asyncio.TimerHandle | None = None

    def want(self) -> None:
        """Have it done, now or soon."""
        now_s = self._loop.time()
        if now_s - self._last_s >= self._apart_s:
            self._do()
        elif self._due is None:
            self._due = self._loop.call_at(self._last_s + self._late_s, self._do)

    def end(self) -> None:
        """Leave undone what is still to be done."""
        if self._due is not None:
            self._due.cancel()
            self._due = None

    def _do(self) -> None:
        self.end()
        self._last_s = self._loop.time()
        self._work()
