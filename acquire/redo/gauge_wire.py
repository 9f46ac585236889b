"""One port's bytes in a redo, decoded again, beside the records that were made of them. Pure."""

from collections import deque
from collections.abc import Callable, Iterable, Sequence

from barrelfit.acquire.journal.events import Event, ReadingTaken, of_outcome
from barrelfit.acquire.redo.differences import Difference, difference_of, is_reworded
from barrelfit.drivers.channels import of_gauges
from barrelfit.drivers.decode import Wire
from barrelfit.drivers.outcome import Outcome, WireReading


class GaugeWire:
    """The bytes of one port's gauges, decoded again beside what the journal says they were.

    Args:
        gauge: the first of them.
        make: makes their wire as the session had it.
    """

    def __init__(self, gauge: str, make: Callable[[], Wire]) -> None:
        self._gauge = gauge
        self._make = make
        self.wire = make()
        self.written: deque[tuple[int, Event]] = deque()
        self._decoded: deque[tuple[str, Outcome]] = deque()

    def start_anew(self) -> None:
        """The daemon was started again: what its wire had half heard is gone.

        What the gauge called itself is known from the journal, by the daemon as well.
        """
        identity = self.wire.identity
        self.wire = self._make()
        self.wire.identity = identity
        self.written.clear()
        self._decoded.clear()

    def take(self, outcomes: Iterable[Outcome]) -> None:
        """Take what the bytes have come to by today's code."""
        for outcome in outcomes:
            self._decoded.extend(of_gauges(outcome, self._gauge, self.wire.behind))

    def is_plain(self, gauge: str, decoded: Sequence[Outcome]) -> bool:
        """Whether nothing waits, and there is one outcome, of that gauge."""
        waits = self.written or self._decoded
        if waits or len(decoded) != 1 or not isinstance(decoded[0], WireReading):
            return False
        return self.wire.behind.get(decoded[0].channel, self._gauge) == gauge

    def compare(self) -> tuple[Difference | None, int]:
        """Compare as far as both sides reach; gives the difference and how many were reworded."""
        reworded = 0
        while self.written and self._decoded:
            seq, was = self.written.popleft()
            at_ns = was.at_ns if isinstance(was, ReadingTaken) else 0
            gauge, outcome = self._decoded.popleft()
            now = of_outcome(gauge, outcome, at_ns)
            if was != now:
                found = difference_of(seq, was, now)
                if found is not None:
                    return found, reworded
                reworded += is_reworded(was, now)
        return None, reworded
