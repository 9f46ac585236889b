"""What is known of whether anybody can see what is asked for; see `rules.events`."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class BoardAwaited:
    """The bench has a board of its own: from now on an ask counts only once that has shown it."""

    t_ns: int


@dataclass(frozen=True, slots=True)
class AskShown:
    """The bench's own board shows the session's ask number `ask`."""

    t_ns: int
    ask: int


@dataclass(frozen=True, slots=True)
class TellingChanged:
    """What is asked for can't be shown any more, or again: `service` (bus, board) came or went."""

    t_ns: int
    service: str
    there: bool
