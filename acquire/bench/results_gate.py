"""Takes what the rules service found into the journal: each finding once, in order."""

from collections.abc import Callable

from barrelfit.acquire.bench.rules_pipe import Results
from barrelfit.acquire.journal.codec import CodecError, decode
from barrelfit.acquire.journal.events import OUTPUT_TYPES, Event


class ResultsGate:
    """Findings are numbered from 0 within the session; the next one, and only that, is let in."""

    def __init__(
        self, session: str, journaled: int, record: Callable[[Event, int], int | None]
    ) -> None:
        """Begin with what the journal holds.

        Args:
            session: the session's id.
            journaled: how many findings its journal has.
            record: takes a finding and the seq of the record that led to it; gives the finding's
                own seq, None when it could not be recorded.
        """
        self._session = session
        self._next = journaled
        self._record = record

    def take(self, message: Results) -> str:
        """Let the new findings of a message in; says what is wrong with the message, else ""."""
        if message.session != self._session:
            return f"findings of another session, {message.session}"
        skip = self._next - message.first
        if skip < 0:
            return f"findings {self._next} to {message.first - 1} are missing"
        for result in message.results[skip:]:
            try:
                event = decode(result.kind, result.version, bytes(result.data))
            except CodecError as error:
                return f"a finding that is none: {error}"
            if not isinstance(event, OUTPUT_TYPES):
                return f"a {result.kind} is no finding"
            if self._record(event, result.because) is None:
                return "nothing more can be recorded"
            self._next += 1
        return ""
