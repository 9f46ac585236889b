"""What became of a set, in the set's own word; and which piston runs in which barrel. Pure.

A count of sound parts says nothing of an engine: one without a piston for its third cylinder is not
ready, however many parts are serviceable. So the word is worked out from the seats.
"""

from collections.abc import Iterable
from dataclasses import dataclass

from barrelfit.dashboard.board.model import Board
from barrelfit.dashboard.shown import Shown
from barrelfit.dashboard.view.verdicts import verdict_key
from barrelfit.dashboard.words import say
from barrelfit.rules.events import Matched, MatchedPair, SetDone
from barrelfit.rules.manner import told_all

OPEN: tuple[str, ...] = ("undecided", "none")
ANSWERED = {
    "matched": ("ready", "serviceable"),
    "after rework": ("after_rework", "rework"),
    "impossible": ("no_pairing", "discard"),
    "waiting": ("sizes_missing", "undecided"),
    "provisional": ("still_open", "undecided"),
}
"""The set's word by what came of the pairing, with the verdict whose tone and shape it has."""


@dataclass(frozen=True, slots=True)
class SeatPart:
    """A part in its cylinder, with its verdict's key; without a name where there is none."""

    name: str
    verdict: str


@dataclass(frozen=True, slots=True)
class SeatView:
    """One cylinder: its parts, their clearance, and the verdict's key that counts for it.

    `verdict` is `lost` where a part is missing, else the worst of both parts' and the pair's.
    """

    cylinder: str
    bank: str
    piston: SeatPart
    barrel: SeatPart
    clearance: str
    verdict: str


@dataclass(frozen=True, slots=True)
class SetResult:
    """What became of the set: its word, whose tone it has, further lines, its cylinders.

    `count` says how many parts have which verdict, `spread` how far the clearances lie apart.
    """

    word: str
    verdict: str
    count: str
    spread: str
    lines: tuple[str, ...]
    seats: tuple[SeatView, ...]


def seats_of(board: Board, matched: Matched | None, shown: Shown) -> tuple[SeatView, ...]:
    """The cylinders with what is to run in them."""
    return tuple(_seat(board, pair, shown) for pair in matched.pairs) if matched else ()


def _seat(board: Board, pair: MatchedPair, shown: Shown) -> SeatView:
    piston, barrel = (
        SeatPart(name, verdict_key(board, name) if name else "none")
        for name in (pair.piston, pair.barrel)
    )
    clearance = ""
    if pair.tight_nm is not None and pair.loose_nm is not None:
        clearance = f"{shown.number(pair.tight_nm)} … {shown.length(pair.loose_nm)}"
    about = f"{pair.piston}+{pair.barrel}"
    fit = (verdict_key(board, about),) if about in board.state.judged else ()
    worst = _worst((piston.verdict, barrel.verdict, *fit))
    return SeatView(
        str(pair.cylinder),
        pair.bank,
        piston,
        barrel,
        clearance,
        worst if piston.name and barrel.name else "lost",
    )


def _worst(verdicts: Iterable[str]) -> str:
    order = ("discard", "undecided", "none", "rework", "serviceable")
    return min(verdicts, key=lambda one: order.index(one) if one in order else 0)


def set_result(board: Board, shown: Shown) -> SetResult | None:
    """What became of the set, None while it is not finished."""
    state = board.state
    if state.done is None and state.matched is None:
        return None
    matched = state.matched.event if state.matched else None
    seats = seats_of(board, matched, shown)
    word, verdict = _word(board, matched, seats)
    spread_nm = matched.spread_nm if matched else None
    return SetResult(
        word=word,
        verdict=verdict,
        count=_count(state.done.event) if state.done else "",
        spread=say("spread_is", spread=shown.small(spread_nm)) if spread_nm is not None else "",
        lines=told_all(matched.sentences, shown) if matched else (),
        seats=seats,
    )


def _count(done: SetDone) -> str:
    return say(
        "all_done",
        serviceable=done.serviceable,
        rework=done.rework,
        discard=done.discard,
        undecided=done.undecided,
    )


def _word(board: Board, matched: Matched | None, seats: tuple[SeatView, ...]) -> tuple[str, str]:
    empty = [seat.cylinder for seat in seats if seat.verdict == "lost"]
    if empty:
        key = "cylinder_empty" if len(empty) == 1 else "cylinders_empty"
        return say(key, cylinders=", ".join(empty)), "discard"
    waits = _waits_for(board, seats)
    outcome = matched.outcome if matched else ""
    if waits and outcome not in {"impossible", "after rework"}:
        return say("waits_for", what=", ".join(waits)), "undecided"
    key, verdict = ANSWERED.get(outcome, ("set_finished", "none"))
    return say(key), verdict


def _waits_for(board: Board, seats: tuple[SeatView, ...]) -> list[str]:
    """What is undecided of those that are to run; without seats, of all."""
    if not seats:
        judged = board.state.judged
        return sorted(a for a in judged if judged[a].event.verdict == "undecided")
    parts = [p.name for seat in seats for p in (seat.piston, seat.barrel) if p.verdict in OPEN]
    pairs = [
        f"{seat.piston.name} + {seat.barrel.name}"
        for seat in seats
        if seat.verdict in OPEN and not {seat.piston.verdict, seat.barrel.verdict} & set(OPEN)
    ]
    return parts + pairs
