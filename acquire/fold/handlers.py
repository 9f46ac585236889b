"""What each kind of record does to a session's state: one small function a kind, in one table.

What the rules find stands in the record after what happened meanwhile, in the order of its causes
(`because`). So a pedal's `undo` acts when the rules answer it, not when it is pressed: what they
had found until then they take back one by one. Sessions recorded before the rules said which size
an undo took back tell it by that order alone: the last size of those found for earlier causes.
"""

from collections.abc import Callable
from typing import Any, Final

from barrelfit.acquire.fold.noted import Noted
from barrelfit.acquire.fold.state import (
    NoSize,
    Opened,
    SessionState,
    Stood,
    Undone,
)
from barrelfit.acquire.fold.sweeps import ON_THE_WAY, swept, unswept
from barrelfit.acquire.journal.events import (
    OUTPUT_TYPES,
    Event,
    FaultSeen,
    HeadSeen,
    MassTaken,
    ReadingTaken,
    SessionClosed,
    SessionOpened,
    SessionResumed,
    SessionSigned,
    UnitChanged,
    WireNote,
    WireOpened,
    WireSent,
)
from barrelfit.acquire.journal.job_events import BenchChanged, JobOrdered, JobPaused, SignedOn
from barrelfit.acquire.journal.override_events import Overridden, OverrideAsked, OverrideRefused
from barrelfit.acquire.journal.port_events import (
    AdapterChosen,
    AdapterTaken,
    BytesLeftOut,
    GaugeStalled,
    NameShared,
)
from barrelfit.acquire.journal.record_events import (
    ClockNotSet,
    ClockStepped,
    EndUnsaved,
    LimitReached,
    MessageRefused,
    RecordGone,
    RecordingResumed,
    RecordingStopped,
    RecordPutBack,
    ReserveUsed,
    ServiceChanged,
    SessionFollows,
    VersionChanged,
)
from barrelfit.rules.events import (
    Asked,
    EntryMade,
    GaugeChanged,
    Judged,
    Matched,
    MeasuredTwice,
    PedalPressed,
    Refused,
    SetDone,
    Sized,
    TakenBack,
    TemperatureTaken,
    TwoPartsAsked,
    TwoPartsSettled,
    Wanted,
)
from barrelfit.rules.telling import AskShown, BoardAwaited
from barrelfit.rules.told import FactHeld, FactSettled, FactTaken, FactTold

PAUSED: Final = "paused"
"""How a session ended that may be taken up again."""


def take(state: SessionState, noted: Noted) -> bool:
    """Fold the session's next record; tells whether it is of a kind that bears on the state."""
    known = type(noted.event)
    state.seq = noted.seq
    if known in _TAKES_BACK and noted.because in state.undos:
        state.undos.remove(noted.because)  # the rules say themselves what it took back
    if known in _FOUND_BY_RULES and (state.undos or state.entries):
        answer(state, noted)
    handler = HANDLERS.get(known)
    if handler is None:
        return False
    handler(state, noted, noted.event)
    return True


def answer(state: SessionState, noted: Noted) -> None:
    """The rules have come as far as this finding's cause: what was pressed before it has acted."""
    cause = noted.because or noted.seq
    while state.undos and state.undos[0] <= cause:
        _take_back_last(state, state.undos.pop(0), noted.seq)
    state.entries = [entry for entry in state.entries if entry.seq >= cause]


def _take_back_last(state: SessionState, pressed_seq: int, seq: int) -> None:
    """Take back the size that the rules took last; of none there is nothing to take back."""
    if not state.history:
        return
    at = state.history.pop()
    unswept(state, at)
    stood = state.sizes.pop(at, None)
    if stood is not None:
        state.undone.append(Undone(at, stood.seq, pressed_seq, seq))


def _taken_back(state: SessionState, noted: Noted, event: TakenBack) -> None:
    stood = state.sizes.pop(event.at, None)
    unswept(state, event.at)
    state.firsts.pop(event.at, None)
    state.history = [at for at in state.history if at != event.at]
    if stood is not None:
        cause = noted.because or noted.seq
        state.undone.append(Undone(event.at, stood.seq, cause, noted.seq))


# ---------------------------------------------------------------- the session


def _opened(state: SessionState, _noted: Noted, event: SessionOpened) -> None:
    state.opened = Opened.of(event)


def _closed(state: SessionState, _noted: Noted, event: SessionClosed) -> None:
    state.closed = event.how


def _paused(state: SessionState, _noted: Noted, _event: JobPaused) -> None:
    state.closed = PAUSED


def _signed_on(state: SessionState, _noted: Noted, event: SignedOn) -> None:
    state.people = [*(name for name in state.people if name != event.who), event.who]
    state.proven = event.who if event.proven else ""


def _resumed(state: SessionState, _noted: Noted, _event: SessionResumed) -> None:
    state.closed = state.proven = ""  # who is there now, nobody has said


def _signed(state: SessionState, _noted: Noted, event: SessionSigned) -> None:
    state.signed_by = event.who


def _gauge(state: SessionState, _noted: Noted, event: GaugeChanged) -> None:
    state.gauges[event.gauge] = event


def _temperature(state: SessionState, _noted: Noted, event: TemperatureTaken) -> None:
    state.milli_celsius[event.of] = event.milli_celsius


def _pedal(state: SessionState, noted: Noted, event: PedalPressed) -> None:
    if event.action == "undo":
        state.undos.append(noted.seq)


def _entry(state: SessionState, noted: Noted, event: EntryMade) -> None:
    state.entries.append(Stood(noted.seq, event))


# ---------------------------------------------------------------- what the rules find


def _asked(state: SessionState, noted: Noted, event: Asked) -> None:
    state.asked = Stood(noted.seq, event)
    state.not_counted, state.far_off, state.away = False, None, None
    if event.at is not None:  # what is asked for is not finished, and no pairing rests on it
        state.done = state.matched = None


def _sized(state: SessionState, noted: Noted, event: Sized) -> None:
    swept(state, event.at)
    if state.firsts.get(event.at) != state.sizes.get(event.at):
        state.firsts.pop(event.at, None)  # it was taken by itself, whatever was before
    state.sizes[event.at] = Stood(noted.seq, event)
    state.history.append(event.at)
    state.refused.pop(event.at, None)
    entry = _entry_behind(state, noted)
    if entry is not None:
        state.held.pop((entry.event.at, entry.event.who), None)


def _measured_twice(state: SessionState, _noted: Noted, event: MeasuredTwice) -> None:
    first = state.sizes.get(event.at)  # the second comes with the next record
    if first is not None:
        state.firsts[event.at] = first


def _refused(state: SessionState, noted: Noted, event: Refused) -> None:
    swept(state, event.at)
    before = state.refused.get(event.at)
    state.refused[event.at] = NoSize(noted.seq, event, before.times + 1 if before else 1)
    entry = _entry_behind(state, noted)
    if entry is not None:
        state.held[entry.event.at, entry.event.who] = entry


def _entry_behind(state: SessionState, noted: Noted) -> Stood[EntryMade] | None:
    """The typed value that a finding answers, None where it answers something else."""
    return next((entry for entry in state.entries if entry.seq == noted.because), None)


def _judged(state: SessionState, noted: Noted, event: Judged) -> None:
    state.judged[event.about] = Stood(noted.seq, event)
    state.override_asked.pop(event.about, None)
    _outdate(state, event.about)


def _outdate(state: SessionState, about: str) -> None:
    was = state.overridden.pop(about, None)
    if was is not None:
        state.outdated.append(was)


def _matched(state: SessionState, noted: Noted, event: Matched) -> None:
    state.matched = Stood(noted.seq, event)


def _done(state: SessionState, noted: Noted, event: SetDone) -> None:
    state.done = Stood(noted.seq, event)


def _fact_taken(state: SessionState, noted: Noted, event: FactTaken) -> None:
    state.facts.append(Stood(noted.seq, event))
    if event.who and event.who == state.proven and event.by != "phone":
        state.by_proven.append(noted.seq)
    state.fact_refused = None


def _fact_held(state: SessionState, noted: Noted, event: FactHeld) -> None:
    if event.open:
        state.facts_held[event.at] = Stood(noted.seq, event)
        state.fact_refused = None
    else:  # what can't stand there waits for nothing
        state.fact_refused = Stood(noted.seq, event)


def _fact_settled(state: SessionState, _noted: Noted, event: FactSettled) -> None:
    state.facts_held.pop(event.at, None)


# ---------------------------------------------------------------- overrides


def _override_asked(state: SessionState, noted: Noted, event: OverrideAsked) -> None:
    state.override_asked[event.about] = Stood(noted.seq, event)


def _overridden(state: SessionState, noted: Noted, event: Overridden) -> None:
    state.override_asked.pop(event.about, None)
    _outdate(state, event.about)
    state.overridden[event.about] = Stood(noted.seq, event)


# ---------------------------------------------------------------- the table

Handler = Callable[[SessionState, Noted, Any], None]

HANDLERS: Final[dict[type[Event], Handler]] = {
    SessionOpened: _opened,
    SessionClosed: _closed,
    SessionResumed: _resumed,
    JobPaused: _paused,
    SignedOn: _signed_on,
    SessionSigned: _signed,
    GaugeChanged: _gauge,
    TemperatureTaken: _temperature,
    PedalPressed: _pedal,
    EntryMade: _entry,
    Asked: _asked,
    **ON_THE_WAY,
    Sized: _sized,
    MeasuredTwice: _measured_twice,
    Refused: _refused,
    TakenBack: _taken_back,
    Judged: _judged,
    Matched: _matched,
    SetDone: _done,
    FactTaken: _fact_taken,
    FactHeld: _fact_held,
    FactSettled: _fact_settled,
    OverrideAsked: _override_asked,
    Overridden: _overridden,
}

BEARS_ON_NOTHING: Final[frozenset[type[Event]]] = frozenset(
    {
        # the wire: what was read is shown as it comes, and is no state of the session
        ReadingTaken,
        MassTaken,
        FaultSeen,
        WireNote,
        WireOpened,
        AdapterChosen,
        AdapterTaken,
        BytesLeftOut,
        GaugeStalled,
        NameShared,
        WireSent,
        UnitChanged,
        # the recorder's own: how it is now, its heartbeat says
        ClockStepped,
        ClockNotSet,
        RecordingStopped,
        RecordingResumed,
        ReserveUsed,
        LimitReached,
        MessageRefused,
        RecordGone,
        RecordPutBack,
        EndUnsaved,
        VersionChanged,
        SessionFollows,
        ServiceChanged,
        # of another bench
        HeadSeen,
        # of another session, or of how this one ends
        JobOrdered,
        # gauges are others; what was measured stands
        BenchChanged,
        # a wish, a question, its answer: what is asked, judged and taken back because of it counts
        Wanted,
        FactTold,
        BoardAwaited,
        AskShown,
        TwoPartsAsked,
        TwoPartsSettled,
        # a request that was turned down
        OverrideRefused,
    }
)
"""Kinds that leave the state as it is. Every kind stands here or in `HANDLERS`: a test says so."""

_TAKES_BACK: Final = frozenset({TakenBack, FactTaken, FactSettled})
"""What the rules answer an undo with: a size, a fact or a question that stands no more."""

_FOUND_BY_RULES: Final = frozenset(OUTPUT_TYPES)
