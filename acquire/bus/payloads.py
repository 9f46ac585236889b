"""The payloads on the bus as typed documents; `acquire.topics` says which is where."""

from typing import Final

import msgspec

from barrelfit.acquire.journal.codec import decode
from barrelfit.acquire.journal.events import Event


class BusEvent(
    msgspec.Struct, frozen=True, rename={"version": "v", "t_ns": "t"}, forbid_unknown_fields=True
):
    """A journal record as the bus carries it: the record without its chain and checksum."""

    seq: int
    kind: str
    version: int
    because: int | None
    t_ns: int
    utc: str
    data: msgspec.Raw

    def event(self) -> Event:
        """The record's document; raises CodecError."""
        return decode(self.kind, self.version, bytes(self.data))


class JournalBatch(msgspec.Struct, frozen=True):
    """`journal`: some records of a session, in order."""

    session: str
    events: list[BusEvent]


class State(msgspec.Struct, frozen=True):
    """`state`: whether the bench's daemon is there, and what it has on disk.

    `head` is the hash of record `seq`: kept by the broker, it is a witness against rewriting.
    """

    state: str
    session: str
    seq: int
    utc: str
    head: str


class GaugeHealth(msgspec.Struct, frozen=True, omit_defaults=True):
    """One gauge's state, and how long ago its last reading came, in ms."""

    state: str
    reason: str = ""
    age_ms: int | None = None


class Heartbeat(msgspec.Struct, frozen=True):
    """`heartbeat`: the daemon lives, has recorded up to `seq`, and sees its gauges so.

    `head` is the hash of the last record on disk; `trouble` says why nothing is being recorded,
    empty when all is well.
    """

    session: str
    seq: int
    head: str
    utc: str
    trouble: str
    gauges: dict[str, GaugeHealth]


class Result(msgspec.Struct, frozen=True):
    """One thing the rules found: `because` is the seq of the record that led to it."""

    because: int
    kind: str
    version: int
    data: msgspec.Raw


class Results(msgspec.Struct, frozen=True):
    """`results`: the rules' findings numbered `first`, `first` + 1, … within the session."""

    session: str
    first: int
    results: list[Result]


class Cursor(msgspec.Struct, frozen=True):
    """`cursor`: the rules service has taken every record up to `seq`."""

    session: str
    seq: int


ENCODE: Final = msgspec.json.Encoder().encode
BATCHES: Final = msgspec.json.Decoder(JournalBatch)
HEARTBEATS: Final = msgspec.json.Decoder(Heartbeat)
RESULTS: Final = msgspec.json.Decoder(Results)
CURSORS: Final = msgspec.json.Decoder(Cursor)
