"""When to ask a gauge that answers only when asked, and whose answer an answer is.

One request in flight at a time. When an answer is later than the profile's slowest, the wire goes
into *resync*: nothing is asked until it has been quiet for one slowest-answer time, and whatever
arrives meanwhile is marked late and never belongs to the next part. The decisions are the table
`TABLE`; times are monotonic ns and come in as arguments.
"""

from dataclasses import replace
from enum import Enum
from typing import Final

from drivers.frame import INCOMPLETE, NS_PER_MS, OUT_OF_STEP, OVERRUN
from drivers.layout import UNREADABLE
from drivers.outcome import Fault, Note, Outcome, Reading
from drivers.profile import Ask

_DAMAGED: Final = frozenset({UNREADABLE, INCOMPLETE, OVERRUN, OUT_OF_STEP})


class State(Enum):
    """Where one gauge's dialogue stands."""

    IDLE = "nothing asked"
    WAITING = "one request in flight"
    RESYNC = "an answer is overdue, waiting for quiet"
    CROWDED = "asked again while an answer was overdue"


class Event(Enum):
    """What can happen to the dialogue."""

    WANT = "a reading is wanted"
    INSIST = "a person asks again, whatever is overdue"
    ANSWER = "a whole answer came"
    DAMAGED = "bytes came that are no answer"
    BYTES = "bytes came that complete nothing"
    LATE = "the slowest answer's time has passed"


class Action(Enum):
    """What to do about it."""

    NOTHING = "nothing"
    SEND = "send the request"
    TAKE = "the answer belongs to the request in flight"
    MARK_LATE = "mark the answer late, by its request's number"
    MARK_UNASKED = "mark the answer as not asked for"
    EXTEND = "begin the quiet time again"


_S, _E, _A = State, Event, Action
TABLE: Final[dict[tuple[State, Event], tuple[State, Action]]] = {
    (_S.IDLE, _E.WANT): (_S.WAITING, _A.SEND),
    (_S.IDLE, _E.INSIST): (_S.WAITING, _A.SEND),
    (_S.IDLE, _E.ANSWER): (_S.IDLE, _A.MARK_UNASKED),
    (_S.IDLE, _E.DAMAGED): (_S.RESYNC, _A.EXTEND),  # the rest of it could look like an answer
    (_S.IDLE, _E.BYTES): (_S.IDLE, _A.NOTHING),
    (_S.IDLE, _E.LATE): (_S.IDLE, _A.NOTHING),
    (_S.WAITING, _E.WANT): (_S.WAITING, _A.NOTHING),  # one in flight; the wish is kept
    (_S.WAITING, _E.INSIST): (_S.WAITING, _A.NOTHING),
    (_S.WAITING, _E.ANSWER): (_S.IDLE, _A.TAKE),
    (_S.WAITING, _E.DAMAGED): (_S.RESYNC, _A.EXTEND),  # the true answer may still follow
    (_S.WAITING, _E.BYTES): (_S.WAITING, _A.NOTHING),
    (_S.WAITING, _E.LATE): (_S.RESYNC, _A.EXTEND),
    (_S.RESYNC, _E.WANT): (_S.RESYNC, _A.NOTHING),
    (_S.RESYNC, _E.INSIST): (_S.CROWDED, _A.SEND),
    (_S.RESYNC, _E.ANSWER): (_S.RESYNC, _A.MARK_LATE),
    (_S.RESYNC, _E.DAMAGED): (_S.RESYNC, _A.EXTEND),
    (_S.RESYNC, _E.BYTES): (_S.RESYNC, _A.EXTEND),
    (_S.RESYNC, _E.LATE): (_S.IDLE, _A.NOTHING),  # quiet for one slowest-answer time
    (_S.CROWDED, _E.WANT): (_S.CROWDED, _A.NOTHING),
    (_S.CROWDED, _E.INSIST): (_S.CROWDED, _A.NOTHING),
    (_S.CROWDED, _E.ANSWER): (_S.CROWDED, _A.MARK_LATE),
    (_S.CROWDED, _E.DAMAGED): (_S.RESYNC, _A.EXTEND),
    (_S.CROWDED, _E.BYTES): (_S.CROWDED, _A.NOTHING),
    (_S.CROWDED, _E.LATE): (_S.RESYNC, _A.EXTEND),
}


class Asker:
    """Keeps one gauge's dialogue: what to send when, and what an answer is worth.

    Args:
        ask: the profile's request and slowest answer.
        period_ms: ask again this long after the last request; 0 to ask only when wanted.
    """

    def __init__(self, ask: Ask, period_ms: int = 0) -> None:
        self._request = ask.request
        self._slowest_ns = ask.slowest_ms * NS_PER_MS
        self._period_ns = period_ms * NS_PER_MS
        self._wanted = False
        self._deadline_ns: int | None = None
        self._sent_ns: int | None = None
        self._overdue = 0
        self.number = 0
        self.state = State.IDLE

    def opened(self) -> None:
        """The port was opened anew: nothing is in flight any more."""
        self.state = State.IDLE
        self._deadline_ns = None
        self._sent_ns = None

    def want(self) -> None:
        """Somebody wants one reading; `poll` sends the request when it may."""
        self._wanted = True

    def insist(self, t_ns: int) -> bytes:
        """A person asks although an answer is overdue; both answers are then marked late."""
        return self._request if self._step(Event.INSIST, t_ns) is Action.SEND else b""

    def poll(self, t_ns: int) -> bytes:
        """The bytes to send now, empty for none. Call it at `next_ns` and after every event."""
        self._time_out(t_ns)
        due = self._sent_ns is None or t_ns - self._sent_ns >= self._period_ns
        self._wanted = self._wanted or bool(self._period_ns and due)
        if self._wanted and self._step(Event.WANT, t_ns) is Action.SEND:
            self._wanted = False
            return self._request
        return b""

    @property
    def next_ns(self) -> int | None:
        """When `poll` next has something to do; None while nothing is awaited or wanted."""
        if self._deadline_ns is not None:
            return self._deadline_ns
        if self._period_ns and self._sent_ns is not None:
            return self._sent_ns + self._period_ns
        return None

    def heard(self, outcomes: list[Outcome], t_ns: int) -> list[Outcome]:
        """Mark what a feed gave; call it with an empty list where bytes completed nothing."""
        self._time_out(t_ns)
        marked: list[Outcome] = []
        mark = ""
        for outcome in outcomes:
            if isinstance(outcome, Note):
                marked.append(outcome)
                continue
            if not outcome.index:  # further values of one line share the first one's mark
                damaged = isinstance(outcome, Fault) and outcome.fault in _DAMAGED
                mark = self._mark(self._step(Event.DAMAGED if damaged else Event.ANSWER, t_ns))
            marked.append(_marked(outcome, mark))
        if all(isinstance(outcome, Note) for outcome in outcomes):
            self._step(Event.BYTES, t_ns)
        return marked

    def _time_out(self, t_ns: int) -> None:
        while self._deadline_ns is not None and t_ns >= self._deadline_ns:
            self._step(Event.LATE, self._deadline_ns)

    def _step(self, event: Event, t_ns: int) -> Action:
        before = self.state
        self.state, action = TABLE[before, event]
        if action is Action.SEND:
            self._overdue = self.number if before is State.RESYNC else 0
            self.number += 1
            self._sent_ns = t_ns
        if self.state is State.IDLE:
            self._deadline_ns = None
        elif action in {Action.SEND, Action.EXTEND, Action.MARK_LATE}:
            self._deadline_ns = t_ns + self._slowest_ns
        return action

    def _mark(self, action: Action) -> str:
        if action is Action.MARK_UNASKED:
            return "not asked for"
        if action is not Action.MARK_LATE:
            return ""
        number, self._overdue = self._overdue or self.number, 0
        return f"late, request {number}"


def _marked(outcome: Reading | Fault, mark: str) -> Outcome:
    if not mark:
        return outcome
    if isinstance(outcome, Reading):
        return replace(outcome, suspect=mark)
    return replace(outcome, hint=f"{outcome.hint} ({mark})")
