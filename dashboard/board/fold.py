"""Folds bus messages into a `Board`: every message once, in order, gaps noticed.

The journal topic is a copy of the bench's journal, at least once and in order. A repeat is
dropped on (session, seq); the same seq with other content is an alarm. The retained snapshot
brings a late board up to its seq; what came after is folded again on top of it. A retained
message never makes a reading, a sound or a "live".
"""

from collections.abc import Mapping, Sequence
from typing import Final

from barrelfit.acquire.topics import JOURNAL, SNAPSHOT
from barrelfit.dashboard.board.kinds import HANDLERS, ask
from barrelfit.dashboard.board.model import Board, Event, place_of

MISSING_MAX: Final = 4_096
CUE_AGE_NS: Final = 3_000_000_000  # a sound for something older than this would mislead
NEVER_KEPT: Final = frozenset({"reading_taken"})


class MalformedError(ValueError):
    """A bus message of ours lacks what its topic promises; the argument names the topic."""


def fold_journal(board: Board, payload: Event, now_ns: int) -> None:
    """Fold one batch `{"session":…,"events":[…]}` of the journal topic; ValueError if malformed."""
    session, events = payload.get("session"), payload.get("events")
    if not isinstance(session, str) or not isinstance(events, list):
        raise MalformedError(JOURNAL)
    if not _adopt(board, session):
        return
    board.heard_at_ns = now_ns
    for event in events:
        _fold_once(board, event, now_ns)


def fold_snapshot(board: Board, payload: Event, now_ns: int) -> None:
    """Fold the retained snapshot: taken when the board is new to the session or missed events."""
    session, seq = payload.get("session"), payload.get("seq")
    if not isinstance(session, str) or not isinstance(seq, int):
        raise MalformedError(SNAPSHOT)
    if not _adopt(board, session):
        return
    _note_frame(board, payload)
    if board.whole and seq < board.gap_end:
        return
    if board.whole and not board.missed:
        return
    _take_snapshot(board, payload)
    later = [event for event in board.kept if event["seq"] > seq]
    for event in later:
        _apply(board, event, now_ns, live=False)
    board.seq = max(board.seq, seq)
    board.missing.clear()
    board.lost_count = 0
    board.whole = True
    board.slow += 1


def fold_state(board: Board, payload: Event) -> None:
    """Fold the retained state: the bench's birth, goodbye or will (`online`, `offline`)."""
    session = payload.get("session")
    state = str(payload.get("state", "unknown"))
    if isinstance(session, str) and session:
        if state == "online":
            _adopt(board, session)
        elif session != board.session and board.session:
            return  # a late will of an earlier session says nothing about this one
    board.daemon = state if state in {"online", "offline"} else "unknown"
    board.slow += 1


def fold_heartbeat(board: Board, payload: Event, now_ns: int) -> None:
    """Fold a heartbeat: the bench lives, and each gauge's state with the age of its reading."""
    session = payload.get("session")
    if isinstance(session, str) and session and not _adopt(board, session):
        return
    board.heard_at_ns = now_ns
    if board.daemon != "online":
        board.daemon = "online"
        board.slow += 1
    trouble = str(payload.get("trouble", "") or "")
    if trouble != board.not_recording:
        board.not_recording = trouble
        board.slow += 1
    gauges = payload.get("gauges")
    for name, health in (gauges if isinstance(gauges, Mapping) else {}).items():
        gauge = board.gauge(str(name))
        state, age = str(health.get("state", "unknown")), health.get("age_ms")
        if state != gauge.state:
            gauge.state, gauge.reason = state, str(health.get("reason", "") or "")
            board.slow += 1
        if isinstance(age, int | float) and gauge.readings == 0:
            gauge.seen_at_ns = now_ns - int(age * 1_000_000)


def _adopt(board: Board, session: str) -> bool:
    """Whether a message of this session counts: the current one, or a new one that replaces it."""
    if session == board.session:
        return True
    if session in board.past:
        return False
    if board.session:
        board.past.append(board.session)
    fresh = Board(board.bench)
    kept = ("past", "daemon", "heard_at_ns", "cues", "cues_made", "slow", "points_taken", "bad")
    for name in fresh.__dataclass_fields__:
        if name not in kept:
            setattr(board, name, getattr(fresh, name))
    board.session = session
    board.slow += 1
    return True


def _fold_once(board: Board, event: object, now_ns: int) -> None:
    if not isinstance(event, Mapping) or not isinstance(event.get("seq"), int):
        board.bad += 1
        return
    seq, print_ = int(event["seq"]), hash(repr(event))
    if seq in board.missing:
        _fold_late(board, event, now_ns)
    elif seq <= board.seq:
        if board.prints.differ(seq, print_):
            board.conflict = seq
            board.slow += 1
        return
    else:
        _note_gap(board, seq)
        board.whole = board.whole or seq == 1
        board.seq = seq
        if event.get("kind") not in NEVER_KEPT:
            board.kept.append(event)
        _apply(board, event, now_ns, live=True)
    board.prints.note(seq, print_)


def _note_gap(board: Board, seq: int) -> None:
    if not board.whole or seq == board.seq + 1:
        return
    gap = range(board.seq + 1, seq)
    if len(gap) + len(board.missing) <= MISSING_MAX:
        board.missing.update(gap)
    else:
        board.lost_count += len(gap)
    board.gap_end = seq - 1
    board.slow += 1


def _fold_late(board: Board, event: Event, now_ns: int) -> None:
    """Take what fills a gap, but let it overwrite nothing that came after it."""
    board.missing.discard(event["seq"])
    board.slow += 1
    data = event.get("data")
    if not isinstance(data, Mapping):
        return
    known = _known_seq(board, event, data)
    if known is not None and known < event["seq"]:
        shown = board.last_judged, board.last_result
        _apply(board, event, now_ns, live=False)
        board.last_judged, board.last_result = shown[0] or board.last_judged, shown[1]


def _known_seq(board: Board, event: Event, data: Event) -> int | None:
    """Seq of what the board has about the same thing; None for kinds that must come in order."""
    kind = event.get("kind")
    if kind == "judged":
        return board.judged_seq.get(str(data.get("about")), 0)
    if kind == "sized":
        place = place_of(data.get("at"))
        return board.sizes_seq.get(place, 0) if place else None
    return 0 if kind == "overridden" else None


def _apply(board: Board, event: Event, now_ns: int, *, live: bool) -> None:
    t_ns = event.get("t")
    if live and isinstance(t_ns, int):
        board.lag.note(now_ns, t_ns)
    handler = HANDLERS.get(str(event.get("kind")))
    data = event.get("data")
    if handler is None or not isinstance(data, Mapping):
        return
    before = board.cues_made
    try:
        handler(board, event, data)
    except (KeyError, TypeError, ValueError):
        board.bad += 1
        return
    if board.cues_made != before and not (live and _is_recent(board, event, now_ns)):
        while board.cues and board.cues[-1].number > before:
            board.cues.pop()
    if event.get("kind") != "reading_taken":
        board.slow += 1


def _is_recent(board: Board, event: Event, now_ns: int) -> bool:
    t_ns = event.get("t")
    taken = board.lag.board_time(t_ns) if isinstance(t_ns, int) else None
    return taken is None or now_ns - taken < CUE_AGE_NS


# ---------------------------------------------------------------- the snapshot


def _note_frame(board: Board, payload: Event) -> None:
    """What only the snapshot carries: the plan's features, the limits, the job."""
    board.job = str(payload.get("job", "") or board.job)
    board.limits = payload.get("limits", board.limits)
    features = payload.get("features")
    if isinstance(features, list):
        take_plan(board, features)


def take_plan(board: Board, features: Sequence[Event]) -> None:
    """Take the plan: what is to be measured, in order, with which gauge and where on the part."""
    placed = [(place_of(f.get("at")), f) for f in features]
    board.features = [(place, str(f.get("gauge", ""))) for place, f in placed if place]
    heights = {place: f.get("from_edge_nm") for place, f in placed if place}
    board.from_edge_nm = {place: nm for place, nm in heights.items() if isinstance(nm, int)}
    board.slow += 1


def _take_snapshot(board: Board, payload: Event) -> None:
    if isinstance(payload.get("asked"), Mapping):
        ask(board, payload, payload["asked"])
    _take_findings(board, payload)
    for name, health in (payload.get("gauges") or {}).items():
        gauge = board.gauge(str(name))
        gauge.state = str(health.get("state", "unknown"))
        gauge.reason = str(health.get("reason", "") or "")
    if isinstance(payload.get("refused"), Mapping):
        board.last_result = ("refused", payload["refused"])
    if isinstance(payload.get("matched"), Mapping):
        board.matched = payload["matched"]
    if isinstance(payload.get("set_done"), Mapping):
        board.set_done = payload["set_done"]


def _take_findings(board: Board, payload: Event) -> None:
    """Sizes, verdicts and overrides as the snapshot lists them; what it leaves out is gone."""
    for known in (board.sizes, board.sizes_seq, board.judged, board.overrides, board.requests):
        known.clear()
    for data in payload.get("sizes") or []:
        place = place_of(data.get("at"))
        if place is not None:
            board.sizes[place], board.sizes_seq[place] = data, int(payload["seq"])
    for data in payload.get("judged") or []:
        about = str(data["about"])
        board.judged[about] = data
        board.judged_seq[about] = int(data.get("seq", payload["seq"]))
        board.last_judged = about
    for data in payload.get("overridden") or []:
        board.overrides[str(data["about"])] = data
    for data in payload.get("override_asked") or []:
        board.requests[str(data["about"])] = data
