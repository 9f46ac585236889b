"""The present sweep's passes: how many of how many, how near to one another, how sure. Pure."""

from dataclasses import dataclass
from typing import Final

from barrelfit.acquire.fold.state import Sweeping
from barrelfit.dashboard.board.model import Board
from barrelfit.dashboard.board.places import place_words
from barrelfit.dashboard.shown import Shown
from barrelfit.dashboard.words import say
from barrelfit.rules.events import FarOff
from barrelfit.rules.manner import told
from barrelfit.rules.said import Said

RULERS_NM: Final = (2_000, 5_000, 10_000, 20_000, 50_000, 100_000, 500_000, 2_000_000)
FAR_DIGITS: Final = {"mm": 0, "inch": 1}
HALVES_NM: Final = (30_000, 60_000, 120_000, 300_000, 1_000_000, 3_000_000)
"""Half the trace's height: it only grows within a sweep, by whole steps."""
BAR_IS: Final = 3.0  # the bar of the doubt is so many times as long as the aim


@dataclass(frozen=True, slots=True)
class PassMarks:
    """Passes so far, of `least` (0: not known), in `text`, and what they are called in `word`.

    `marks` are places 0…1 on a ruler whose whole width is `ruler` long; `doubt` says how open the
    size is and when it is sure enough, `share` and `aim` draw the same on a bar, 0…1 (aim 0: none).
    """

    text: str
    word: str
    least: int
    count: int
    spread: str
    marks: tuple[float, ...]
    ruler: str
    doubt: str
    share: float
    aim: float


def pass_marks(board: Board, shown: Shown) -> PassMarks:
    """Passes of the present sweep; their ruler has the smallest at its left."""
    sweep = board.state.sweep
    planned = board.planned(board.place)
    least = planned.passes if planned else 0
    sizes = [p.size_nm for p in sweep.passes] if sweep and sweep.at == board.place else []
    count = len(sizes)
    over = least and count > least  # there are enough, and the size is not sure: they go on
    text = say("passes_of", count=count, least=least) if least and not over else str(count)
    word = say("presses_word" if planned and planned.by_press else "passes_word")
    doubt, share, aim = _doubt(board, shown)
    if not sizes:
        return PassMarks(text, word, least, 0, "", (), "", doubt, share, aim)
    spread = max(sizes) - min(sizes)
    ruler_nm = next(nm for nm in RULERS_NM if nm >= spread or nm == RULERS_NM[-1])
    left = min(sizes) - (ruler_nm - min(spread, ruler_nm)) / 2
    marks = tuple(min(max((size - left) / ruler_nm, 0.0), 1.0) for size in sizes)
    within = say("within", spread=shown.small(spread)) if count > 1 else ""
    return PassMarks(
        text, word, least, count, within, marks, shown.small(ruler_nm), doubt, share, aim
    )


def _doubt(board: Board, shown: Shown) -> tuple[str, float, float]:
    """How open the size is so far, against what is sure enough: in words and on a bar."""
    sweep, planned = board.state.sweep, board.planned(board.place)
    if sweep is None or sweep.doubt is None or sweep.at != board.place:
        return "", 0.0, 0.0
    half_nm = (sweep.doubt.high_nm - sweep.doubt.low_nm + 1) // 2
    half = shown.small(half_nm)
    aim_nm = planned.aim_nm if planned else None
    if not aim_nm:
        return say("doubt_so_far", half=half), 0.0, 0.0
    share = min(half_nm / (BAR_IS * aim_nm), 1.0)
    return say("doubt_and_aim", half=half, aim=shown.small(aim_nm)), share, 1 / BAR_IS


def caution(board: Board, shown: Shown, now_ns: int) -> str:
    """What the hand should know now: that what it does does not count, and what to do about it."""
    state, sweep = board.state, board.state.sweep
    if any(fact.at == board.place for fact in board.facts_asked):
        return say("swept_for_nothing") if state.not_counted else taken_back(board)
    away = away_more(board, now_ns)
    if away or state.not_counted:
        planned = board.planned(board.place)
        by_press = planned is not None and planned.by_press
        return away or say("press_not_counted" if by_press else "not_counted")
    if state.far_off is not None:
        return far_words(state.far_off, shown)
    if sweep is None or sweep.over:
        return taken_back(board)
    return _of_sweep(sweep, state.coached, shown) if sweep.at == board.place else ""


def taken_back(board: Board) -> str:
    """The sizes that the last undo took back, until another size, refusal or fact has come."""
    state = board.state
    came = [size.seq for size in state.sizes.values()] + [no.seq for no in state.refused.values()]
    came += [fact.seq for fact in state.facts[-1:]]
    if not state.undone or state.undone[-1].seq < max(came, default=0):
        return ""
    pressed = state.undone[-1].pressed_seq
    places = dict.fromkeys(place_words(u.at) for u in state.undone if u.pressed_seq == pressed)
    return say("taken_back", places=", ".join(places))


def _of_sweep(sweep: Sweeping, coached: Said | None, shown: Shown) -> str:
    """What is to be known of the sweep under way, and what would help it."""
    if sweep.interrupted is not None:
        return say("put_down")
    if sweep.anew:
        return say("started_anew", part=sweep.at.part)
    if sweep.lost:
        return say("pass_lost")
    return told(coached, shown) if coached is not None else ""


def away_more(board: Board, now_ns: int) -> str:
    """For how long more a part must be away; empty once it is gone, or while it is not away."""
    away = board.state.away
    if away is None:
        return ""
    gone_ns = board.lag.board_time(away.since_ns + away.gone_ns)
    more_s = 0 if gone_ns is None else -((now_ns - gone_ns) // 1_000_000_000)
    return say("away_more", seconds=more_s) if more_s > 0 else ""


def far_words(event: FarOff, shown: Shown) -> str:
    """What is told of a gauge that reads far from what is asked for."""
    return say(
        f"far_{event.code}",
        at=place_words(event.at),
        like=place_words(event.like) if event.like else "",
        gauge=event.gauge,
        read=shown.length(event.read_nm),
        away=shown.length(abs(event.read_nm - event.expected_nm), FAR_DIGITS[shown.unit]),
    )


def window_nm(board: Board) -> tuple[int, int] | None:
    """The trace's lowest and highest length: about the first pass, so that the scale stays."""
    sweep = board.state.sweep
    sizes = [p.size_nm for p in sweep.passes] if sweep else []
    if not sizes:
        return None
    far = max(abs(size - sizes[0]) for size in sizes) * 3 // 2
    half = next((nm for nm in HALVES_NM if nm >= far), far)
    return sizes[0] - half, sizes[0] + half
