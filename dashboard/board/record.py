"""A session's record as a board hears it: from the bus, or from a journal that is played."""

from dataclasses import dataclass

from barrelfit.acquire.bus.payloads import BusEvent
from barrelfit.acquire.journal.codec import NewerError, Record
from barrelfit.acquire.journal.events import Event


@dataclass(frozen=True, slots=True)
class BoardRecord:
    """One record; `event` is None where a newer barrelfit made it: its number counts all the same.

    `print` differs where the content of two records with one number does.
    """

    seq: int
    because: int | None
    t_ns: int
    utc: str
    event: Event | None
    print: int = 0

    @classmethod
    def of_bus(cls, told: BusEvent) -> "BoardRecord":
        """Read a record that the bus brought; raises CodecError."""
        try:
            event: Event | None = told.event()
        except NewerError:
            event = None
        return cls(told.seq, told.because, told.t_ns, told.utc, event, told.print)

    @classmethod
    def of_journal(cls, record: Record) -> "BoardRecord":
        """Take over a journal's record."""
        return cls(record.seq, record.because, record.t_ns, record.utc, record.event)
