"""Which of its screens a bench shows: one at a time, worked out from what has happened. Pure.

What is asked for stands there until the part touches the gauge; then its passes; then the size and
verdict of this very part, long enough to be read; at last what became of the set.
"""

from typing import Final, Literal

from barrelfit.dashboard.board.model import Board

Stage = Literal["rest", "ask", "sweep", "answer", "set"]

READ_MS: Final = 7_000
"""For how long an answer stands while nothing else happens."""
SEEN_MS: Final = 3_000
"""For how long it stands at least, whatever the hand does next."""
TO_TELL_MS: Final = 1_500
"""For how long it stands before a fact that is asked for: from then on a press of the pedal
answers, and what it means must be there to be read."""


def stage_of(board: Board, now_ns: int) -> Stage:
    """The screen a bench shows now."""
    state = board.state
    sweeping = is_sweeping(board)
    age_ms = answer_age_ms(board, now_ns)
    to_tell = any(fact.at == board.place for fact in board.facts_asked)
    stands_ms = TO_TELL_MS if to_tell else SEEN_MS if sweeping else READ_MS
    if age_ms is not None and age_ms < stands_ms:
        return "answer"
    if state.done is not None:
        return "set"
    if state.at is None:
        return "rest"
    return "sweep" if sweeping else "ask"


def is_sweeping(board: Board) -> bool:
    """Whether the sweep of what is asked for is under way."""
    sweep = board.state.sweep
    return sweep is not None and not sweep.over and sweep.at == board.place


def answer_age_ms(board: Board, now_ns: int) -> int | None:
    """How long ago the last size or refusal came, None where none stands or nobody saw it come."""
    latest = board.state.latest
    if latest is None or board.answered is None or board.answered[0] != latest.seq:
        return None
    return max(now_ns - board.answered[1], 0) // 1_000_000
