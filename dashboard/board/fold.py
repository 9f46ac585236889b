"""Folds bus messages into a `Board`: every message once, in order, gaps noticed.

The journal topic is a copy of the bench's journal, at least once and in order. A repeat is
dropped on (session, seq); the same seq with other content is an alarm. The retained snapshot
brings a late board up to its seq; what came after is folded again on top of it. A retained
message never makes a reading, a sound or a "live".

This is the board's door: whatever the bus brings is decoded here into the types of `acquire`.
"""

from typing import Final

from barrelfit.acquire.bus.payloads import (
    BATCHES,
    HEARTBEATS,
    STATES,
    Heartbeat,
    JournalBatch,
    StateTold,
    decoded,
)
from barrelfit.acquire.bus.snapshot import SNAPSHOTS, Snapshot, state_of
from barrelfit.acquire.fold.following import Came
from barrelfit.acquire.journal.codec import CodecError
from barrelfit.acquire.journal.events import READINGS
from barrelfit.acquire.topics import HEARTBEAT, JOURNAL, SNAPSHOT, STATE
from barrelfit.dashboard.board.kinds import SHOWN
from barrelfit.dashboard.board.model import Board
from barrelfit.dashboard.board.record import BoardRecord

CUE_AGE_NS: Final = 3_000_000_000  # a sound for something older than this would mislead
OF_A_BENCH: Final = ("past", "daemon", "heard_at_ns", "cues", "cues_made", "slow", "points_taken",
                     "bad", "refused")  # fmt: skip
"""What a board keeps when a new session begins."""


def fold_message(board: Board, leaf: str, payload: bytes, now_ns: int) -> None:
    """Decode a message of one of the topics a board hears, and fold it; raises RefusedError."""
    if leaf == JOURNAL:
        fold_journal(board, decoded(payload, BATCHES), now_ns)
    elif leaf == SNAPSHOT:
        fold_snapshot(board, decoded(payload, SNAPSHOTS))
    elif leaf == STATE:
        fold_state(board, decoded(payload, STATES))
    elif leaf == HEARTBEAT:
        fold_heartbeat(board, decoded(payload, HEARTBEATS), now_ns)


def fold_journal(board: Board, batch: JournalBatch, now_ns: int) -> None:
    """Fold one batch of the journal topic."""
    if not _adopt(board, batch.session):
        return
    board.heard_at_ns = now_ns
    for told in batch.events:
        try:
            record = BoardRecord.of_bus(told)
        except CodecError:
            board.bad += 1
            board.slow += 1
            record = BoardRecord(told.seq, told.because, told.t_ns, told.utc, None, told.print)
        fold_record(board, record, now_ns)


def fold_record(board: Board, record: BoardRecord, now_ns: int) -> None:
    """Fold one record of the board's session."""
    missed = board.following.missed
    came = board.following.take(record)
    if came is Came.AGAIN:
        if board.prints.differ(record.seq, record.print):
            board.conflict = record.seq
            board.slow += 1
        return
    board.prints.note(record.seq, record.print)
    if type(record.event) not in READINGS or board.following.missed != missed:
        board.slow += 1
    if came is Came.NEXT:
        _show(board, record, now_ns)


def fold_snapshot(board: Board, snapshot: Snapshot) -> None:
    """Fold the retained snapshot: taken when the board is new to the session or missed events."""
    if not _adopt(board, snapshot.session):
        return
    board.features = snapshot.features
    board.parts, board.choices, board.jobs = snapshot.parts, snapshot.choices, snapshot.jobs
    board.facts_asked, board.cautions = snapshot.facts_asked, snapshot.cautions
    board.pedal = snapshot.pedal
    if board.following.take_snapshot(state_of(snapshot)):
        _take_gauges(board)
    board.slow += 1


def fold_state(board: Board, told: StateTold) -> None:
    """Fold the retained state: the bench's birth, goodbye or will (`online`, `offline`)."""
    if told.session:
        if told.state == "online":
            _adopt(board, told.session)
        elif told.session != board.session and board.session:
            return  # a late will of an earlier session says nothing about this one
    board.daemon = told.state if told.state in {"online", "offline"} else "unknown"
    board.slow += 1


def fold_heartbeat(board: Board, beat: Heartbeat, now_ns: int) -> None:
    """Fold a heartbeat: the bench lives, and each gauge's state with the age of its reading."""
    if beat.session and not _adopt(board, beat.session):
        return
    board.heard_at_ns = now_ns
    if board.daemon != "online":
        board.daemon = "online"
        board.slow += 1
    if beat.trouble != board.not_recording:
        board.not_recording = beat.trouble
        board.slow += 1
    if board.following.wait():
        board.slow += 1
    _take_helpers(board, beat, now_ns)
    for name, health in beat.gauges.items():
        gauge = board.gauge(name)
        if health.state != gauge.state:
            gauge.state, gauge.reason = health.state, health.reason
            board.slow += 1
        if health.age_ms is not None and gauge.readings == 0:
            gauge.seen_at_ns = now_ns - health.age_ms * 1_000_000


def _take_helpers(board: Board, beat: Heartbeat, now_ns: int) -> None:
    """How bus, rules and board stand, and what the bench's daemon has refused."""
    if not beat.rules_seq:  # they have not begun
        board.rules_moved_ns = None
    elif beat.rules_seq != board.rules_seq or beat.rules_seq == beat.seq:
        board.rules_seq, board.rules_moved_ns = beat.rules_seq, now_ns
    if (beat.services, beat.refused) != (board.services, board.bench_refused):
        board.services, board.bench_refused = beat.services, beat.refused
        board.slow += 1


def _adopt(board: Board, session: str) -> bool:
    """Whether a message of this session counts: the current one, or a new one that replaces it."""
    if session == board.session:
        return True
    if session in board.past:
        return False
    if board.session:
        board.past.append(board.session)
    fresh = Board(board.bench)
    for name in fresh.__dataclass_fields__:
        if name not in OF_A_BENCH:
            setattr(board, name, getattr(fresh, name))
    board.session = session
    board.slow += 1
    return True


def _show(board: Board, record: BoardRecord, now_ns: int) -> None:
    """Show and sound what a new record brings beside the state."""
    board.lag.note(now_ns, record.t_ns)
    handler = SHOWN.get(type(record.event)) if record.event is not None else None
    if handler is None:
        return
    before = board.cues_made
    handler(board, record, record.event)
    if board.cues_made != before and not _is_recent(board, record, now_ns):
        while board.cues and board.cues[-1].number > before:
            board.cues.pop()


def _is_recent(board: Board, record: BoardRecord, now_ns: int) -> bool:
    taken = board.lag.board_time(record.t_ns)
    return taken is None or now_ns - taken < CUE_AGE_NS


def _take_gauges(board: Board) -> None:
    """The gauges' states as the session knows them; how old their readings are, heartbeats say."""
    for name, changed in board.state.gauges.items():
        gauge = board.gauge(name)
        gauge.state, gauge.reason = changed.state, changed.reason
