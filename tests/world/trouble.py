"""What can go wrong at a bench, drawn from a seed: each trouble is data, so that a run can shrink.

`when_s` is when a trouble of the house strikes (virtual seconds); a trouble of the hand strikes at
its `attempt`-th taking of a part.
"""

import random
from dataclasses import dataclass
from typing import Final

HOUSE: Final = (
    "kill-daemon",  # and its children: what is not on disk is gone
    "stop-daemon",  # the system gives it no time; the terminal keeps 4095 bytes
    "kill-rules",
    "stop-rules",
    "cut-rules",  # the way between daemon and rules service is away
    "cut-board",  # the board shows what it knew
    "stop-board",  # the same, but the bus takes what it should show
    "unplug",  # the gauge in use
    "slow-disk",
    "doubled",  # messages of the rules come twice
)
HAND: Final = (
    "put-down",  # after two passes or a few more, and the same part again
    "repeat",  # the part just measured once more, taken for the next
    "swap",  # two parts in one sweep
    "wrong-part",  # one of another engine
    "zero",  # the gauge was zeroed on the part
    "inch",  # the gauge shows inches and does not say so
    "turn-short",  # the hand turns before the crest
    "back-soon",  # away for a moment only
    "undo",  # the pedal takes the last size back
    "again",
    "next",
    "back",  # the pedal goes back once or twice, and the hand goes on with what it holds
    "wrong-first",  # another part of the set, put down after some passes, and then the right one
)
KINDS: Final = (*HOUSE, *HAND)
LATER: Final = frozenset({"stop-board", "back", "wrong-first"})  # drawn apart: they came later
EACH: Final = 0.16  # of every kind in a session


@dataclass(frozen=True)
class Trouble:
    """One thing that goes wrong. `lasts_s` and `amount` mean what the kind makes of them."""

    kind: str
    when_s: float = 0.0
    lasts_s: float = 0.0
    attempt: int = 0
    amount: float = 0.0


def troubles_of(
    chance: random.Random, later: random.Random, *, until_s: float, attempts: int
) -> tuple[Trouble, ...]:
    """Draw a session's troubles.

    Args:
        chance: the session's.
        later: for the kinds of `LATER`.
        until_s: about how long a session lasts.
        attempts: about how often a part is taken in hand.
    """
    drawn = []
    for kind in KINDS:
        one = later if kind in LATER else chance
        drawn += [
            Trouble(
                kind,
                when_s=one.uniform(3.0, until_s),
                lasts_s=one.choice((0.05, 0.5, 2.0, 8.0, 30.0, 60.0)) * one.uniform(0.7, 1.3),
                attempt=one.randrange(attempts),
                amount=one.uniform(0.4, 3.0),
            )
            for _ in range(2)
            if one.random() < EACH / 2
        ]
    return tuple(sorted(drawn, key=lambda one: (one.when_s, one.kind)))
