"""The rules service's own half of the way back: steps, numbers what is found, waits for its echo.

Pure: records in, messages out. What the rules find counts as said only when it comes back in the
journal; until then it is kept and sent again. What came back is told by its cause: findings come
back in the order of their causes, so those of earlier causes are said and done with. A session that
another version of the rules goes on with thus neither repeats nor swallows a finding, even where
that version would have found more or less in what is recorded already. Of a stretch that another
version recorded nothing is found at all: what stands in its record is taken over.
"""

from collections import deque

import msgspec

from barrelfit.acquire.bench.rules_pipe import ENCODE, Result, Results
from barrelfit.acquire.fold.other_versions import OtherVersions
from barrelfit.acquire.journal.events import (
    OUTPUT_TYPES,
    VERSION_OF,
    Event,
    ReadingTaken,
    kind_of,
    to_input,
)
from barrelfit.acquire.journal.recorder import JustRecorded
from barrelfit.rules.bench.set_anew import set_anew
from barrelfit.rules.bench.setup import Setup
from barrelfit.rules.bench.state import Bench
from barrelfit.rules.bench.step import begin, step
from barrelfit.rules.bench.taken_over import take_over
from barrelfit.rules.events import Output

MESSAGE_RESULTS = 20


class FindingsQueue:
    """One session's state in the rules service.

    Args:
        session: its id.
        setup: what it was opened with.
        code_version: of this program; a stretch by another one is taken over as it was recorded.
    """

    def __init__(self, session: str, setup: Setup, code_version: str) -> None:
        self._session = session
        self._setup = setup
        self._versions = OtherVersions(code_version)
        self._bench: Bench
        self._bench, first = begin(setup)
        self.first = 0  # number of the oldest finding that has not come back
        self._waiting: deque[tuple[int, Output]] = deque((1, found) for found in first)
        self.seq = 0

    def take(self, seq: int, event: Event, t_ns: int, because: int | None = None) -> None:
        """Take the session's next record; one that was taken before is passed over.

        Args:
            seq: its number.
            event: its document.
            t_ns: its monotonic time, in ns.
            because: the seq of the record that caused it; every finding has one.

        Raises:
            GapError: records before this one are missing.
        """
        if seq <= self.seq:
            return
        if seq > self.seq + 1:
            raise GapError(self.seq + 1)
        self.seq = seq
        if isinstance(event, OUTPUT_TYPES):
            self._came_back(because or 0)
        if type(event) is not ReadingTaken and self._other_version(seq, event, because):
            return
        known = None if self._versions.foreign else to_input(event, t_ns)
        if known is not None:
            self._bench, found = step(self._bench, known)
            self._waiting.extend((seq, output) for output in found)

    def set_anew(self, seq: int, setup: Setup) -> None:
        """The bench is set up otherwise from the record on that was taken last.

        Args:
            seq: its number.
            setup: what the session depends on from there on.
        """
        self._setup = setup
        if not self._versions.foreign:
            self._waiting.extend((seq, found) for found in set_anew(self._bench, setup))

    def _other_version(self, seq: int, event: Event, because: int | None) -> bool:
        """Hear whose record it is; tells whether what stands was taken over just now."""
        takes_over = self._versions.take(JustRecorded(seq, because, event))
        if takes_over:
            self._bench, found = take_over(self._setup, self._versions.standing(self._setup))
            self._waiting.extend((seq, output) for output in found)
        elif self._versions.foreign:
            self._waiting.clear()
        return takes_over

    def _came_back(self, because: int) -> None:
        """A finding is in the journal: it, and all of earlier causes, wait no more."""
        self.first += 1
        while self._waiting and self._waiting[0][0] < because:
            self._waiting.popleft()
        if self._waiting and self._waiting[0][0] == because:
            self._waiting.popleft()

    @property
    def bench(self) -> Bench:
        """The bench as far as its records have been taken."""
        return self._bench

    @property
    def waiting(self) -> int:
        """How many findings have not come back."""
        return len(self._waiting)

    def unsent(self, sent: int) -> tuple[bytes, int] | None:
        """The next message of findings from number `sent` on, and the number after its last.

        Args:
            sent: how many findings of the session have been sent already.
        """
        start = max(sent, self.first) - self.first
        chosen = list(self._waiting)[start : start + MESSAGE_RESULTS]
        if not chosen:
            return None
        first = self.first + start
        results = [_result(because, found) for because, found in chosen]
        return ENCODE(Results(self._session, first, results)), first + len(results)


class GapError(Exception):
    """Records from `seq` on are missing; they are in the journal."""

    def __init__(self, seq: int) -> None:
        super().__init__(f"records from {seq} on are missing")
        self.seq = seq


def _result(because: int, found: Output) -> Result:
    data = msgspec.Raw(ENCODE(found))
    return Result(because, kind_of(type(found)), VERSION_OF[type(found)], data)
