"""How often a port is read that never stops sending: rests keep one port from taking all the time.

A gauge sends some hundred bytes a second. A port that brings many times more is read fewer times:
after each `WINDOW_NS` worth it rests, while its bytes wait in the system. Pure.
"""

from typing import Final

WINDOW_NS: Final = 100_000_000
READS_MAX: Final = 200
BYTES_MAX: Final = 32_768
REST_S: Final = 0.02


class Pace:
    """Counts one port's reads."""

    def __init__(self) -> None:
        self._from_ns = 0
        self._reads = 0
        self._bytes = 0

    def took(self, t_ns: int, size: int) -> float:
        """Take a read of `size` bytes at `t_ns`; gives how long to rest before the next, in s."""
        if t_ns - self._from_ns >= WINDOW_NS:
            self._from_ns, self._reads, self._bytes = t_ns, 0, 0
        self._reads += 1
        self._bytes += size
        if self._reads <= READS_MAX and self._bytes <= BYTES_MAX:
            return 0.0
        self._reads = self._bytes = 0
        return REST_S
