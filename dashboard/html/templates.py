"""The board's templates, with what each of them may call."""

from math import cos, pi, sin
from typing import Final

from markupsafe import escape

from barrelfit.acquire.markup import Templates
from barrelfit.dashboard.words import say, say_or_raw

VERDICTS: Final = ("serviceable", "rework", "discard", "undecided", "none")
STATES: Final = ("online", "answering", "present", "offline", "lost")
_SPOTS: Final = tuple((50 + 38 * cos(i * pi / 4), 50 + 38 * sin(i * pi / 4)) for i in range(8))


def tone(verdict: str) -> str:
    """The verdict's style class; a word this board doesn't know has no tone."""
    return verdict if verdict in VERDICTS else "none"


def state_class(state: str) -> str:
    """A state's style class; a word this board doesn't know is "unknown"."""
    return state if state in STATES else "unknown"


def plain(text: str) -> str:
    """A text as HTML: without any markup."""
    return str(escape(text))


made: Final = Templates(
    "barrelfit.dashboard",
    "html/templates",
    {
        "say": say,
        "say_or_raw": say_or_raw,
        "tone": tone,
        "state_class": state_class,
        "spots": _SPOTS,
    },
)
