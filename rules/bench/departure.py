"""Tells when a measured part, or the gauge, has come away, so that the next sweep may begin.

The last passes over one feature must never count for the next. A gauge is away when it reads far
from what was measured, or (in a bore, where it need not come out to be turned) when it stopped
rocking, for longer than anyone stops between two passes. Of a gauge that sends only on its button
nothing but a pause tells it.
"""

from collections import deque

from barrelfit.rules.sweep import GaugeTraits
from barrelfit.rules.sweep.movements import entry_of
from barrelfit.rules.sweep.stillness import Stillness

FAR_NM = 200_000  # from the size; a sweep's flanks come as far, but do not stay there
GONE_NS = 1_200_000_000
SILENT_NS = 3_000_000_000
TOLD_NS = 400_000_000  # so long off, it is told how long it takes
SOON_SHARE = 0.8  # of that time: what comes back then was brought back too soon
SWINGS_KEPT = 16  # since the pass before: of hills that don't count
BACK_TIMES = 2  # back at the size so often, or rocked for so long in a bore: a pass or two more
ROCKED_NS = 4_000_000_000


class Swings:
    """For how long the hand took its part far away between two passes, and came back with it."""

    def __init__(self) -> None:
        self._far_since_ns: int | None = None
        self._swings: deque[tuple[int, int]] = deque(maxlen=SWINGS_KEPT)

    def push(self, t_ns: int, length_nm: int, crest_nm: int) -> None:
        """Take one reading; `crest_nm` is about what the gauge reads with its part in it."""
        if abs(length_nm - crest_nm) > FAR_NM:
            if self._far_since_ns is None:
                self._far_since_ns = t_ns
        elif self._far_since_ns is not None:
            self._swings.append((self._far_since_ns, t_ns))
            self._far_since_ns = None

    def longest_ns(self, begin_ns: int, end_ns: int) -> int:
        """The longest of them between two times."""
        return max((b - a for a, b in self._swings if begin_ns <= a and b <= end_ns), default=0)


class Departure:
    """Watches the readings after a sweep's end, or where it may end at any time."""

    def __init__(
        self,
        about_nm: int,
        traits: GaugeTraits,
        gone_ns: int = GONE_NS,
        last_ns: int | None = None,
        *,
        another_ns: int = GONE_NS,
        is_sure: bool = True,
    ) -> None:
        """Begin to watch.

        Args:
            about_nm: what was measured, or was read when the sweep ended, in nm.
            traits: the gauge.
            gone_ns: far away for so long is gone, in ns: longer than the hand swings away.
            last_ns: when the gauge sent last, in ns, where only a pause tells that a part left.
            another_ns: back after so long it may be another part, in ns.
            is_sure: whether the gauge still reads `about_nm` there; one that nobody saw for a while
                may have been set otherwise, so that in a bore only rest tells.
        """
        self._about_nm = about_nm
        self._is_sure = is_sure
        self._gone_ns = gone_ns
        self._another_ns = another_ns
        self._held = entry_of(traits.movement).by_press
        self._in_bore = entry_of(traits.movement).rests_away
        self._stillness = Stillness(traits.digit_nm)
        self._far_since_ns: int | None = None
        self._last_ns = last_ns
        self._begin_ns: int | None = None
        self._back = 0
        self._told = False
        self._is_away = False
        self.was_away = False
        """It came back after it was away as long as a hand needs to take another part."""

    def is_from(self, about_nm: int) -> None:
        """What is to leave is known better now: it reads `about_nm`."""
        self._about_nm = about_nm

    @property
    def came_back(self) -> bool:
        """Whether it was away and back meanwhile: a hand that sweeps on."""
        return self._back > 0

    def begins_to_linger(self) -> bool:
        """Whether passes are made meanwhile that nobody counts; True once."""
        if self._told or self._last_ns is None or self._begin_ns is None:
            return False
        if self._held:
            self._told = True
            return True
        rocked = self._in_bore and self._last_ns - self._begin_ns >= ROCKED_NS
        self._told = rocked or self._back >= BACK_TIMES
        return self._told

    def turned(self, t_ns: int) -> tuple[int, int] | None:
        """Whether the part is away, or back, each once: since when (ns), and how long is gone (ns).

        The time that it takes is 0 where it came back before.
        """
        since_ns = self._far_since_ns
        is_away = since_ns is not None and t_ns - since_ns >= TOLD_NS
        if is_away == self._is_away:
            return None
        self._is_away = is_away
        return (t_ns, 0) if since_ns is None else (since_ns, self._gone_ns)

    def gone(self, t_ns: int, length_nm: int) -> bool:
        """Take one reading; True once the part or the gauge has come away."""
        last_ns, self._last_ns = self._last_ns, t_ns
        if self._begin_ns is None:
            self._begin_ns = t_ns
        if last_ns is not None and t_ns - last_ns > SILENT_NS:
            return True
        if self._held:
            return False
        if self._in_bore and self._stillness.for_ns(t_ns, length_nm) >= GONE_NS:
            return True
        far_ns = self._far_for(t_ns, length_nm)
        return far_ns >= self._gone_ns and (self._is_sure or not self._in_bore)

    def _far_for(self, t_ns: int, length_nm: int) -> int:
        if abs(length_nm - self._about_nm) <= FAR_NM:
            if self._far_since_ns is not None:
                self.was_away = self.was_away or t_ns - self._far_since_ns >= self._another_ns
                is_soon = t_ns - self._far_since_ns >= SOON_SHARE * self._gone_ns
                self._back += BACK_TIMES if is_soon else 1
            self._far_since_ns = None
            return 0
        if self._far_since_ns is None:
            self._far_since_ns = t_ns
        return t_ns - self._far_since_ns
