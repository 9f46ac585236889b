"""The present sweep's passes: how many, how near to one another, and whether they count."""

from dataclasses import dataclass
from typing import Final

from barrelfit.dashboard.board.model import Board
from barrelfit.dashboard.board.places import place_words
from barrelfit.dashboard.shown import Shown
from barrelfit.dashboard.words import say
from barrelfit.rules.events import FarOff

RULERS_NM: Final = (2_000, 5_000, 10_000, 20_000, 50_000, 100_000, 500_000, 2_000_000)
FAR_DIGITS: Final = {"mm": 0, "inch": 1}
WINDOW_LEAST_NM: Final = 30_000  # the trace never zooms closer than ± 30 μm


@dataclass(frozen=True, slots=True)
class PassMarks:
    """Passes so far: `marks` are places 0…1 on a ruler whose whole width is `ruler` long."""

    text: str
    marks: tuple[float, ...]
    ruler: str


def pass_marks(board: Board, shown: Shown) -> PassMarks:
    """Passes of the present sweep on a ruler, smallest at its left."""
    if board.state.not_counted:
        return PassMarks(say("not_counted"), (), "")
    if board.state.far_off is not None:
        return PassMarks(far_words(board.state.far_off, shown), (), "")
    sweep = board.state.sweep
    sizes = [p.size_nm for p in sweep.passes] if sweep else []
    if sweep is None or not sizes:
        return PassMarks(say("pass_lost" if sweep and sweep.lost else "no_pass"), (), "")
    spread = max(sizes) - min(sizes)
    ruler_nm = next(nm for nm in RULERS_NM if nm >= spread or nm == RULERS_NM[-1])
    left = min(sizes) - (ruler_nm - min(spread, ruler_nm)) / 2
    marks = tuple(min(max((size - left) / ruler_nm, 0.0), 1.0) for size in sizes)
    if sweep.interrupted is not None:
        text = say("put_down", count=len(sizes), least=sweep.interrupted.least)
        return PassMarks(text, marks, "")
    text = say("passes", count=len(sizes), spread=shown.small(spread))
    if len(sizes) == 1:
        text = say("one_pass")
    if sweep.doubt is not None:
        half_nm = (sweep.doubt.high_nm - sweep.doubt.low_nm + 1) // 2
        text = say("doubtful", count=len(sizes), half=shown.small(half_nm))
    if sweep.lost:
        text = say("pass_lost")
    return PassMarks(text, marks, shown.small(ruler_nm))


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
    """The trace's lowest and highest length: about the passes once there are any."""
    sweep = board.state.sweep
    sizes = [p.size_nm for p in sweep.passes] if sweep else []
    if not sizes:
        return None
    spread = max(sizes) - min(sizes)
    middle, half = (min(sizes) + max(sizes)) // 2, max(2 * spread, WINDOW_LEAST_NM)
    return middle - half, middle + half
