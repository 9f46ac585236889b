"""A foot pedal's presses become next, again, back and undo. Pure: times are monotonic ns arguments.

    press           down and up again before `long_ms`, and no second press within `double_ms`
    long press      held for `long_ms`
    double press    down again within `double_ms` of the first release

What each means is configured. A bounce shorter than `BOUNCE_NS` is no press and no release.
"""

from collections.abc import Mapping
from enum import Enum
from typing import Final

from barrelfit.drivers.frame import NS_PER_MS

BOUNCE_NS: Final = 20 * NS_PER_MS
ACTIONS: Final = ("next", "again", "back", "undo", "nothing")


class PedalState(Enum):
    """Where the foot is."""

    UP = "up"
    DOWN = "down, perhaps for long"
    HELD = "down, the long press is told"
    UP_ONCE = "up after one press, perhaps of two"
    DOWN_TWICE = "down again, the double press is told"


class PedalEvent(Enum):
    """What the pedal or the clock did."""

    DOWN = "down"
    UP = "up"
    LATE = "the time for it is over"


_S, _E = PedalState, PedalEvent
TABLE: Final[dict[tuple[PedalState, PedalEvent], tuple[PedalState, str]]] = {
    (_S.UP, _E.DOWN): (_S.DOWN, ""),
    (_S.UP, _E.UP): (_S.UP, ""),
    (_S.UP, _E.LATE): (_S.UP, ""),
    (_S.DOWN, _E.DOWN): (_S.DOWN, ""),  # the system's key repeat
    (_S.DOWN, _E.UP): (_S.UP_ONCE, ""),
    (_S.DOWN, _E.LATE): (_S.HELD, "long"),
    (_S.HELD, _E.DOWN): (_S.HELD, ""),
    (_S.HELD, _E.UP): (_S.UP, ""),
    (_S.HELD, _E.LATE): (_S.HELD, ""),
    (_S.UP_ONCE, _E.DOWN): (_S.DOWN_TWICE, "double"),
    (_S.UP_ONCE, _E.UP): (_S.UP_ONCE, ""),
    (_S.UP_ONCE, _E.LATE): (_S.UP, "press"),
    (_S.DOWN_TWICE, _E.DOWN): (_S.DOWN_TWICE, ""),
    (_S.DOWN_TWICE, _E.UP): (_S.UP, ""),
    (_S.DOWN_TWICE, _E.LATE): (_S.DOWN_TWICE, ""),
}


class Pedal:
    """One pedal.

    Args:
        actions: `press`, `long` and `double` to one of `ACTIONS`.
        long_ms: from when on a press is long.
        double_ms: within which a second press makes a double one.
    """

    def __init__(self, actions: Mapping[str, str], long_ms: int, double_ms: int) -> None:
        self._actions = actions
        self._long_ns = long_ms * NS_PER_MS
        self._double_ns = double_ms * NS_PER_MS
        self._state = PedalState.UP
        self._since_ns: int | None = None
        self._changed_ns: int | None = None
        self._down = False
        self._seen_down = False

    def report(self, report: bytes, t_ns: int) -> list[str]:
        """Take a keyboard report: any key down is the pedal down. Gives the actions it makes."""
        return self.moved(down=any(report[2:]) or bool(report[:1].strip(b"\0")), t_ns=t_ns)

    def moved(self, *, down: bool, t_ns: int) -> list[str]:
        """Take the pedal's position at a time; gives the actions it makes, mostly none or one."""
        self._seen_down = down
        return self.idle(t_ns)

    def idle(self, t_ns: int) -> list[str]:
        """Call now and then: a long press and a single press show only when time has passed."""
        return self._late(t_ns) + self._settled(t_ns)

    def _settled(self, t_ns: int) -> list[str]:
        """Take the position seen last, once the one before has stood long enough."""
        bounces = self._changed_ns is not None and t_ns - self._changed_ns < BOUNCE_NS
        if self._seen_down == self._down or bounces:
            return []
        self._down = self._seen_down
        self._changed_ns = t_ns
        return self._step(PedalEvent.DOWN if self._down else PedalEvent.UP, t_ns)

    def _late(self, t_ns: int) -> list[str]:
        limit_ns = {PedalState.DOWN: self._long_ns, PedalState.UP_ONCE: self._double_ns}.get(
            self._state
        )
        if limit_ns is None or self._since_ns is None or t_ns - self._since_ns < limit_ns:
            return []
        return self._step(PedalEvent.LATE, t_ns)

    def lost(self) -> None:
        """The pedal was unplugged: a press that was not finished is none."""
        self._state = PedalState.UP
        self._down = self._seen_down = False
        self._since_ns = None

    def _step(self, event: PedalEvent, t_ns: int) -> list[str]:
        self._state, made = TABLE[self._state, event]
        self._since_ns = t_ns
        action = self._actions.get(made, "nothing")
        return [] if action == "nothing" else [action]
