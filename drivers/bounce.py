"""Tells a bouncing button from two honest equal readings.

A press is a reading that comes after a rest. Identical bytes within the profile's shortest repeat
time of a press are suspect. A gauge that streams never rests, so a steady value in a stream is
not suspect; equality alone never is.
"""

from typing import Final

from barrelfit.drivers.frame import NS_PER_MS

BOUNCE: Final = "suspected bounce"


class BounceWatch:
    """Remembers the last press of one gauge. `min_repeat_ms` is 0 where nothing can bounce."""

    def __init__(self, min_repeat_ms: int) -> None:
        self._min_ns = min_repeat_ms * NS_PER_MS
        self._press = b""
        self._press_ns = 0
        self._last_ns = 0
        self._any = False

    def judge(self, payload: bytes, t_ns: int) -> str:
        """Say `suspected bounce` for a reading that is probably the last press again, else ``."""
        if not self._min_ns:
            return ""
        rested = not self._any or t_ns - self._last_ns >= 2 * self._min_ns
        self._last_ns = t_ns
        if rested:
            self._any = True
            self._press = payload
            self._press_ns = t_ns
            return ""
        if payload == self._press and t_ns - self._press_ns < self._min_ns:
            return BOUNCE
        return ""
