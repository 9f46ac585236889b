"""What a sweep came to: the size and the verdict of this part, and of no other. Pure."""

from dataclasses import dataclass

from barrelfit.acquire.fold.state import NoSize
from barrelfit.dashboard.board.model import Board
from barrelfit.dashboard.board.places import place_words
from barrelfit.dashboard.shown import Shown
from barrelfit.dashboard.view.verdicts import VerdictView, verdict_view
from barrelfit.dashboard.words import say, say_or_raw
from barrelfit.rules.manner import told, told_all


@dataclass(frozen=True, slots=True)
class AnswerView:
    """The last size or refusal.

    Attributes:
        kind: `sized` or `refused`.
        about: the feature in words.
        size: the size with its unit; empty for a refusal.
        doubt: half its 95 % interval.
        verdict: of its part, once every feature of that part has a size; else None.
        lines: why there is no size and what to do, or what is still open of its part.
        notes: what had to be assumed.
        pairs: what became of the pairs of its part, one line each.
    """

    kind: str
    about: str
    size: str
    doubt: str
    verdict: VerdictView | None
    lines: tuple[str, ...]
    notes: tuple[str, ...] = ()
    pairs: tuple[str, ...] = ()


def answer_view(board: Board, shown: Shown) -> AnswerView | None:
    """What the last sweep or entry came to; None before there is one, or once it is taken back."""
    latest = board.state.latest
    if latest is None:
        return None
    if isinstance(latest, NoSize):
        refused = latest.event
        lines = (told(refused.sentence, shown), told(refused.advice, shown))
        return AnswerView("refused", place_words(refused.at), "", "", None, lines)
    sized = latest.event
    part = sized.at.part
    whole = board.measured(part)
    return AnswerView(
        kind="sized",
        about=place_words(sized.at),
        size=shown.length(sized.size_nm),
        doubt=say("plus_minus", half=shown.small((sized.high_nm - sized.low_nm) / 2)),
        verdict=verdict_view(board, part, shown) if whole and part in board.state.judged else None,
        lines=() if whole else (_so_far(board, part),),
        notes=told_all(sized.notes, shown),
        pairs=_pairs(board, part),
    )


def _so_far(board: Board, part: str) -> str:
    places = [f.at for f in board.features if f.at.part == part]
    done = sum(at in board.state.sizes for at in places)
    return say("part_so_far", part=part, done=done, total=len(places))


def _pairs(board: Board, part: str) -> tuple[str, ...]:
    """The verdicts on pairs that this part is one of."""
    judged = board.state.judged
    pairs = [name for name in judged if "+" in name and part in name.split("+")]
    return tuple(
        say(
            "pair_is", pair=name.replace("+", " + "), verdict=say_or_raw(judged[name].event.verdict)
        )
        for name in sorted(pairs)
        if board.measured(name)
    )
