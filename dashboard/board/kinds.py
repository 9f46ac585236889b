"""What each kind of record makes a board show or sound beside the state: one function a kind.

What has happened is folded before these are called: `board.state` holds the record already.
"""

from collections.abc import Callable
from typing import Any, Final

from barrelfit.acquire.journal.events import Event, FaultSeen, MassTaken, ReadingTaken
from barrelfit.acquire.journal.record_events import RecordingResumed, RecordingStopped
from barrelfit.dashboard.board.model import TRACE_NS, Board, GaugeFault, GaugeSeen, Point
from barrelfit.dashboard.board.places import place_words
from barrelfit.dashboard.board.record import BoardRecord
from barrelfit.dashboard.shown import decimals_of
from barrelfit.dashboard.words import say
from barrelfit.rules.events import (
    Asked,
    Contact,
    GaugeChanged,
    NotCounted,
    Passed,
    PassLost,
    Refused,
    Sized,
    StartedAnew,
)
from barrelfit.rules.hints import Coached
from barrelfit.rules.told import FactHeld, FactTaken


def _reading(board: Board, record: BoardRecord, event: ReadingTaken) -> None:
    gauge, nm = board.gauge(event.gauge), event.length_nm
    gauge.nm = nm
    gauge.decimals = max(gauge.decimals, decimals_of(event.value))
    _read(board, record, gauge, event.unit)
    if gauge.name != board.gauge_shown:
        return
    if board.points_gauge != gauge.name:
        board.points_gauge = gauge.name
        board.points.clear()
    at_ns = event.at_ns or record.t_ns
    board.points.append(Point(at_ns, nm))
    board.points_taken += 1
    while board.points[0].t_ns < at_ns - TRACE_NS:
        board.points.popleft()


def _mass(board: Board, record: BoardRecord, event: MassTaken) -> None:
    gauge = board.gauge(event.gauge)
    gauge.mass = event.value
    _read(board, record, gauge, event.unit)


def _read(board: Board, record: BoardRecord, gauge: GaugeSeen, unit: str) -> None:
    """What any reading says of its gauge."""
    gauge.fault, gauge.unit = "", unit
    gauge.readings += 1
    gauge.seen_at_ns = board.lag.board_time(record.t_ns)
    if gauge.state != "answering":
        gauge.state = "answering"
        board.slow += 1


def _fault(board: Board, record: BoardRecord, event: FaultSeen) -> None:
    gauge = board.gauge(event.gauge)
    gauge.fault = event.fault
    gauge.faults.append(GaugeFault(record.utc, event.fault, event.raw))


def _gauge_changed(board: Board, _record: BoardRecord, event: GaugeChanged) -> None:
    gauge = board.gauge(event.gauge)
    if event.state == "lost" and gauge.state != "lost":
        board.cue("lost", gauge.name)
    gauge.state, gauge.reason = event.state, event.reason


def _contact(board: Board, _record: BoardRecord, event: Contact) -> None:
    board.cue("contact", place_words(event.at))


def _passed(board: Board, _record: BoardRecord, event: Passed) -> None:
    board.cue("passed", str(event.number))


def _pass_lost(board: Board, _record: BoardRecord, event: PassLost) -> None:
    board.cue("uncounted", place_words(event.at))


def _started_anew(board: Board, _record: BoardRecord, event: StartedAnew) -> None:
    board.cue("again", place_words(event.at))


def _coached(board: Board, _record: BoardRecord, event: Coached) -> None:
    board.cue("coached", place_words(event.at))


def _not_counted(board: Board, _record: BoardRecord, event: NotCounted) -> None:
    board.cue("uncounted", place_words(event.at))


def _answered(board: Board, record: BoardRecord) -> None:
    at_ns = board.lag.board_time(record.t_ns)
    board.answered = None if at_ns is None else (record.seq, at_ns)


def _sized(board: Board, record: BoardRecord, event: Sized) -> None:
    _answered(board, record)
    board.cue("sized", place_words(event.at))


def _refused(board: Board, record: BoardRecord, event: Refused) -> None:
    _answered(board, record)
    again = board.state.refused[event.at].times > 1
    board.cue("again" if again else "refused", place_words(event.at))


def _asked(board: Board, _record: BoardRecord, event: Asked) -> None:
    """The places of a groove are counted aloud, for a hand that looks at its leaf."""
    place, places = (event.sentence.values.get(name) for name in ("place", "places"))
    if place is not None:
        board.cue("place", say("place_of", place=place, places=places))


def _fact_taken(board: Board, _record: BoardRecord, event: FactTaken) -> None:
    board.cue("told", event.at.part)


def _fact_held(board: Board, _record: BoardRecord, event: FactHeld) -> None:
    board.cue("refused" if event.open else "uncounted", event.at.part)


def _not_recording(board: Board, _record: BoardRecord, event: RecordingStopped) -> None:
    board.not_recording = event.reason


def _recording(board: Board, _record: BoardRecord, _event: RecordingResumed) -> None:
    board.not_recording = ""


SHOWN: Final[dict[type[Event], Callable[[Board, BoardRecord, Any], None]]] = {
    ReadingTaken: _reading,
    MassTaken: _mass,
    FaultSeen: _fault,
    GaugeChanged: _gauge_changed,
    Contact: _contact,
    Passed: _passed,
    PassLost: _pass_lost,
    StartedAnew: _started_anew,
    Coached: _coached,
    NotCounted: _not_counted,
    Asked: _asked,
    FactTaken: _fact_taken,
    FactHeld: _fact_held,
    Sized: _sized,
    Refused: _refused,
    RecordingStopped: _not_recording,
    RecordingResumed: _recording,
}
