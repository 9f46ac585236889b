"""What each kind of journal event does to a `Board`: one small function a kind."""

from collections.abc import Callable
from typing import Final

from barrelfit.dashboard.board.model import (
    TRACE_NS,
    Board,
    Event,
    Fault,
    Pass,
    Place,
    Point,
    Sweep,
    place_of,
)
from barrelfit.dashboard.board.places import place_words
from barrelfit.dashboard.shown import decimals_of


def _reading(board: Board, event: Event, data: Event) -> None:
    gauge = board.gauge(data["gauge"])
    nm, t_ns = data["length_nm"], event["t"]
    if not isinstance(nm, int):
        raise TypeError(nm)
    gauge.nm, gauge.fault = nm, ""
    gauge.readings += 1
    gauge.decimals = max(gauge.decimals, decimals_of(str(data.get("value", ""))))
    gauge.unit = str(data.get("unit", ""))
    gauge.seen_at_ns = board.lag.board_time(t_ns)
    if gauge.state != "answering":
        gauge.state = "answering"
        board.slow += 1
    if gauge.name != board.gauge_shown:
        return
    if board.points_gauge != gauge.name:
        board.points_gauge = gauge.name
        board.points.clear()
    at_ns = int(data.get("at_ns", 0)) or t_ns
    board.points.append(Point(at_ns, nm))
    board.points_taken += 1
    while board.points[0].t_ns < at_ns - TRACE_NS:
        board.points.popleft()


def _fault(board: Board, event: Event, data: Event) -> None:
    gauge = board.gauge(data["gauge"])
    gauge.fault = str(data["fault"])
    gauge.faults.append(Fault(str(event.get("utc", "")), gauge.fault, str(data.get("raw", ""))))


def _gauge_changed(board: Board, _event: Event, data: Event) -> None:
    gauge = board.gauge(data["gauge"])
    if data["state"] == "lost" and gauge.state != "lost":
        board.cue("lost", gauge.name)
    gauge.state, gauge.reason = str(data["state"]), str(data.get("reason", ""))


def ask(board: Board, event: Event, data: Event) -> None:
    """Take what the bench asks for now; asked for because of an undo, its size was taken back."""
    board.asked = data
    board.not_counted = False
    place = place_of(data.get("at"))
    if place is not None:
        board.set_done = None  # what is asked for is not finished
        if board.undo_seq and event.get("because") == board.undo_seq:
            board.sizes.pop(place, None)
            board.last_result = None
    board.done, board.total = int(data.get("done", 0)), int(data.get("total", 0))


def _pedal(board: Board, event: Event, data: Event) -> None:
    if data["action"] == "undo":
        board.undo_seq = event["seq"]


def _place(data: Event) -> Place:
    """Where an event is that must be somewhere."""
    place = place_of(data["at"])
    if place is None:
        raise ValueError(data)
    return place


def _contact(board: Board, event: Event, data: Event) -> None:
    place = _place(data)
    if board.sweep is not None and board.sweep.place == place and board.sweep.least:
        board.sweep.least = 0  # it goes on with its passes so far
    else:
        board.sweep = Sweep(place, int(data.get("t_ns", event["t"])))
    board.not_counted = False
    board.cue("contact", place_words(place))


def _passed(board: Board, _event: Event, data: Event) -> None:
    place = _place(data)
    if board.sweep is None or board.sweep.place != place:
        board.sweep = Sweep(place, int(data["start_ns"]))
    board.sweep.passes.append(
        Pass(data["number"], data["size_nm"], data["start_ns"], data["end_ns"])
    )
    board.cue("passed", str(data["number"]))


def _interrupted(board: Board, _event: Event, data: Event) -> None:
    if board.sweep is not None and board.sweep.place == _place(data):
        board.sweep.least = int(data["least"])


def _started_anew(board: Board, _event: Event, data: Event) -> None:
    if board.sweep is not None and board.sweep.place == _place(data):
        del board.sweep.passes[: -int(data["passes"])]
    board.cue("again", place_words(_place(data)))


def _still_doubtful(board: Board, _event: Event, data: Event) -> None:
    if board.sweep is not None and board.sweep.place == _place(data):
        board.sweep.doubt_nm = (data["high_nm"] - data["low_nm"] + 1) // 2


def _not_counted(board: Board, _event: Event, data: Event) -> None:
    board.cue("uncounted", place_words(_place(data)))
    board.not_counted = True


def _swept(board: Board) -> None:
    """The sweep came to an end, with a size or without one."""
    if board.sweep is not None:
        board.sweep.doubt_nm = None


def _sized(board: Board, event: Event, data: Event) -> None:
    place = _place(data)
    _swept(board)
    board.sizes[place], board.sizes_seq[place] = data, event["seq"]
    board.last_result = ("sized", data)
    board.cue("sized", place_words(place))


def _refused(board: Board, _event: Event, data: Event) -> None:
    place = _place(data)
    _swept(board)
    again = board.refusals.get(place, 0)
    board.refusals[place] = again + 1
    board.last_result = ("refused", data)
    board.cue("again" if again else "refused", place_words(place))


def _taken_back(board: Board, _event: Event, data: Event) -> None:
    board.sizes.pop(_place(data), None)
    board.last_result = None


def _judged(board: Board, event: Event, data: Event) -> None:
    about = str(data["about"])
    board.judged[about] = data
    board.judged_seq[about] = event["seq"]
    board.last_judged = about
    board.requests.pop(about, None)
    board.overrides.pop(about, None)  # an override is of one verdict; a new verdict stands alone


def _overridden(board: Board, _event: Event, data: Event) -> None:
    board.overrides[str(data["about"])] = data
    board.requests.pop(str(data["about"]), None)


def _override_asked(board: Board, _event: Event, data: Event) -> None:
    board.requests[str(data["about"])] = data


def _matched(board: Board, _event: Event, data: Event) -> None:
    board.matched = data


def _set_done(board: Board, _event: Event, data: Event) -> None:
    board.set_done = data


def _not_recording(board: Board, _event: Event, data: Event) -> None:
    board.not_recording = str(data["reason"])


def _recording(board: Board, _event: Event, _data: Event) -> None:
    board.not_recording = ""


def _opened(board: Board, _event: Event, data: Event) -> None:
    board.job = str(data.get("job", "") or board.job)
    board.who = str(data.get("who", "") or board.who)


HANDLERS: Final[dict[str, Callable[[Board, Event, Event], None]]] = {
    "reading_taken": _reading,
    "fault_seen": _fault,
    "gauge_changed": _gauge_changed,
    "asked": ask,
    "pedal_pressed": _pedal,
    "contact": _contact,
    "passed": _passed,
    "interrupted": _interrupted,
    "started_anew": _started_anew,
    "still_doubtful": _still_doubtful,
    "not_counted": _not_counted,
    "sized": _sized,
    "refused": _refused,
    "taken_back": _taken_back,
    "judged": _judged,
    "overridden": _overridden,
    "override_asked": _override_asked,
    "matched": _matched,
    "set_done": _set_done,
    "recording_stopped": _not_recording,
    "recording_resumed": _recording,
    "session_opened": _opened,
}
