"""A session's numbered document, wherever it comes from."""

from typing import Any, Protocol


class Noted(Protocol):
    """A session's numbered document, from its journal or from the bus's copy of it."""

    @property
    def seq(self) -> int:
        """Its number in the session, from 1."""
        ...

    @property
    def because(self) -> int | None:
        """The number of the record that led to it."""
        ...

    @property
    def event(self) -> Any:  # noqa: ANN401  one of acquire.journal.events.Event
        """The document."""
        ...
