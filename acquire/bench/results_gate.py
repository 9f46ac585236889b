"""Takes what the rules service found into the journal: each finding once, in order."""

from collections.abc import Callable

from barrelfit.acquire.bus.payloads import RESULTS, RefusedError, decoded
from barrelfit.acquire.journal.codec import CodecError, decode
from barrelfit.acquire.journal.events import OUTPUT_TYPES, Event


class ResultsGate:
    """Findings are numbered from 0 within the session; the next one, and only that, is let in."""

    def __init__(self, session: str, journaled: int, record: Callable[[Event, int], None]) -> None:
        """Begin with what the journal holds.

        Args:
            session: the session's id.
            journaled: how many findings its journal has.
            record: takes a finding and the seq of the record that led to it.
        """
        self._session = session
        self._next = journaled
        self._record = record

    def take(self, payload: bytes) -> str:
        """Let the new findings of a message in; says what is wrong with the message, else ""."""
        try:
            message = decoded(payload, RESULTS)
        except RefusedError as error:
            return f"results that are none: {error}"
        if message.session != self._session:
            return ""  # an earlier session's findings, sent again by a broker
        skip = self._next - message.first
        if skip < 0:
            return ""  # a message before this one was lost; both will be sent again
        for result in message.results[skip:]:
            try:
                event = decode(result.kind, result.version, bytes(result.data))
            except CodecError as error:
                return f"a result that is none: {error}"
            if not isinstance(event, OUTPUT_TYPES):
                return f"a {result.kind} is no result"
            self._record(event, result.because)
            self._next += 1
        return ""
