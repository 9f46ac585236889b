"""When to ask a gauge that answers only when asked, and whose answer an answer is.

One request in flight at a time; a second one is sent in spite of an overdue answer only by
somebody else. When an answer is later than the profile's slowest, the wire goes
into *resync*: nothing is asked until it has been quiet for one slowest-answer time, and whatever
arrives meanwhile is marked late and never belongs to the next part. The decisions are the table
`TABLE`; times are monotonic ns and come in as arguments.
"""

from collections.abc import Mapping
from dataclasses import replace
from enum import Enum
from typing import Final

from barrelfit.drivers.coded import said
from barrelfit.drivers.decode import Wire
from barrelfit.drivers.frame import INCOMPLETE, NS_PER_MS, OUT_OF_STEP, OVERRUN
from barrelfit.drivers.layout import UNREADABLE
from barrelfit.drivers.outcome import Note, Outcome, Shown, WireFault
from barrelfit.drivers.profile import PortSettings, Profile, ProfileAsk

_DAMAGED: Final = frozenset({UNREADABLE, INCOMPLETE, OVERRUN, OUT_OF_STEP})


class AskState(Enum):
    """Where one gauge's dialogue stands."""

    IDLE = "nothing asked"
    WAITING = "one request in flight"
    RESYNC = "an answer is overdue, waiting for quiet"
    CROWDED = "asked again while an answer was overdue"


class AskEvent(Enum):
    """What can happen to the dialogue."""

    SENT = "a request was sent"
    ANSWER = "a whole answer came"
    DAMAGED = "bytes came that are no answer"
    BYTES = "bytes came that complete nothing"
    LATE = "the slowest answer's time has passed"


class Action(Enum):
    """What to do about it."""

    NOTHING = "nothing"
    WAIT = "begin the slowest answer's time"
    TAKE = "the answer belongs to the request in flight"
    MARK = "mark the answer: it came late, or nobody asked"


_S, _E, _A = AskState, AskEvent, Action
TABLE: Final[dict[tuple[AskState, AskEvent], tuple[AskState, Action]]] = {
    (_S.IDLE, _E.SENT): (_S.WAITING, _A.WAIT),
    (_S.IDLE, _E.ANSWER): (_S.IDLE, _A.MARK),
    (_S.IDLE, _E.DAMAGED): (_S.RESYNC, _A.WAIT),  # the rest of it could look like an answer
    (_S.IDLE, _E.BYTES): (_S.IDLE, _A.NOTHING),
    (_S.IDLE, _E.LATE): (_S.IDLE, _A.NOTHING),
    (_S.WAITING, _E.SENT): (_S.CROWDED, _A.WAIT),
    (_S.WAITING, _E.ANSWER): (_S.IDLE, _A.TAKE),
    (_S.WAITING, _E.DAMAGED): (_S.RESYNC, _A.WAIT),  # the true answer may still follow
    (_S.WAITING, _E.BYTES): (_S.WAITING, _A.NOTHING),
    (_S.WAITING, _E.LATE): (_S.RESYNC, _A.WAIT),
    (_S.RESYNC, _E.SENT): (_S.CROWDED, _A.WAIT),
    (_S.RESYNC, _E.ANSWER): (_S.RESYNC, _A.MARK),
    (_S.RESYNC, _E.DAMAGED): (_S.RESYNC, _A.WAIT),
    (_S.RESYNC, _E.BYTES): (_S.RESYNC, _A.WAIT),
    (_S.RESYNC, _E.LATE): (_S.IDLE, _A.NOTHING),  # quiet for one slowest-answer time
    (_S.CROWDED, _E.SENT): (_S.CROWDED, _A.WAIT),
    (_S.CROWDED, _E.ANSWER): (_S.CROWDED, _A.MARK),  # whose answer can't be told
    (_S.CROWDED, _E.DAMAGED): (_S.RESYNC, _A.WAIT),
    (_S.CROWDED, _E.BYTES): (_S.CROWDED, _A.NOTHING),
    (_S.CROWDED, _E.LATE): (_S.RESYNC, _A.WAIT),
}


class Asker:
    """Keeps one gauge's dialogue: what to send when, and what an answer is worth.

    What an answer is worth follows from the times of requests and answers alone, so that a replay
    comes to the same marks.

    Args:
        ask: the profile's request and slowest answer.
        period_ms: ask again this long after the last request.
    """

    def __init__(self, ask: ProfileAsk, period_ms: int) -> None:
        self._request = ask.request
        self._slowest_ns = ask.slowest_ms * NS_PER_MS
        self._period_ns = period_ms * NS_PER_MS
        self._deadline_ns: int | None = None
        self._sent_ns: int | None = None
        self._unanswered: list[int] = []
        self._number = 0
        self.state = AskState.IDLE

    def opened(self) -> None:
        """The port was opened anew: nothing is in flight any more."""
        self.state = AskState.IDLE
        self._deadline_ns = None
        self._sent_ns = None
        self._unanswered = []

    def poll(self, t_ns: int) -> bytes:
        """The request if it may be sent now, else empty; `sent` tells that it was."""
        self._time_out(t_ns)
        due = self._sent_ns is None or t_ns - self._sent_ns >= self._period_ns
        return self._request if due and self.state is AskState.IDLE else b""

    def sent(self, t_ns: int) -> None:
        """The request was sent; while an answer is overdue both answers will be marked."""
        self._time_out(t_ns)
        if self.state is AskState.IDLE:
            self._unanswered = []  # the wire was quiet: what is still missing will not come
        self._number += 1
        self._unanswered.append(self._number)
        self._sent_ns = t_ns
        self._step(AskEvent.SENT, t_ns)

    def heard(self, outcomes: list[Outcome], t_ns: int) -> list[Outcome]:
        """Mark what a feed gave; call it with an empty list where bytes completed nothing."""
        marked: list[Outcome] = []
        mark = ""
        for outcome in outcomes:
            if isinstance(outcome, Note):
                marked.append(outcome)
                continue
            if not outcome.index:  # further values of one line share the first one's mark
                mark = self._mark_of(outcome)
            marked.append(_marked(outcome, mark))
        if all(isinstance(outcome, Note) for outcome in outcomes):
            self._time_out(t_ns)
            self._step(AskEvent.BYTES, t_ns)
        return marked

    def _mark_of(self, outcome: Shown | WireFault) -> str:
        self._time_out(outcome.t_ns)
        damaged = isinstance(outcome, WireFault) and outcome.fault in _DAMAGED
        action = self._step(AskEvent.DAMAGED if damaged else AskEvent.ANSWER, outcome.t_ns)
        if action is Action.TAKE:
            self._unanswered = []
        if action is not Action.MARK:
            return ""
        return f"late, request {self._unanswered.pop(0)}" if self._unanswered else "not asked for"

    def _time_out(self, t_ns: int) -> None:
        while self._deadline_ns is not None and t_ns >= self._deadline_ns:
            self._step(AskEvent.LATE, self._deadline_ns)

    def _step(self, event: AskEvent, t_ns: int) -> Action:
        self.state, action = TABLE[self.state, event]
        if self.state is AskState.IDLE:
            self._deadline_ns = None
        elif action in {Action.WAIT, Action.MARK}:
            self._deadline_ns = t_ns + self._slowest_ns
        return action


def _marked(outcome: Shown | WireFault, mark: str) -> Outcome:
    if not mark:
        return outcome
    if isinstance(outcome, Shown):
        return replace(outcome, suspect=mark)
    return replace(outcome, hint=said("in_brackets", what=outcome.hint, more=mark))


class AskedWire(Wire):
    """The wire of a gauge that is asked: its answers are marked by the dialogue."""

    def __init__(
        self,
        profile: Profile,
        ask: ProfileAsk,
        period_ms: int,
        *,
        port: PortSettings,
        channel: str | None = None,
        behind: Mapping[str, str] | None = None,
    ) -> None:
        super().__init__(profile, port=port, channel=channel, behind=behind)
        self._ask = ask
        self._asker = Asker(ask, period_ms)

    def poll(self, t_ns: int) -> bytes:
        """The bytes to send now, empty for none; call `sent` when they were sent."""
        return self._asker.poll(t_ns)

    def opened(self, t_ns: int) -> list[Outcome]:
        """The port was opened: nothing is in flight."""
        outcomes = super().opened(t_ns)
        self._asker.opened()
        return outcomes

    def sent(self, data: bytes, t_ns: int) -> None:
        """We sent these bytes; the request itself begins a wait for its answer."""
        super().sent(data, t_ns)
        if data == self._ask.request:
            self._asker.sent(t_ns)

    def feed(self, data: bytes, t_ns: int) -> list[Outcome]:
        """Take bytes that arrived at `t_ns`; give what they complete, late answers marked."""
        return self._asker.heard(super().feed(data, t_ns), t_ns)

    def idle(self, t_ns: int) -> list[Outcome]:
        """Call now and then: drops a frame that has waited for its rest too long."""
        outcomes = super().idle(t_ns)
        return self._asker.heard(outcomes, t_ns) if outcomes else []
