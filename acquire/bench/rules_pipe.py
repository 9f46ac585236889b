"""What goes through the pipes between the daemon and its rules service.

To the service, on its standard input: one line with the order, then the session's journal as it
stands on disk, line by line, from where the service says it has read to; `PING` between lines asks
how far it has come. From it, on its standard output: one JSON object a line: `Read`,
`CaughtUp` or `Results`.
Nobody else has an end of these pipes: what comes through them proves its origin by that.
"""

from typing import Final

import msgspec

PING: Final = b"?\n"
LINE_BYTES_MAX: Final = 4_194_304


class Order(msgspec.Struct, frozen=True):
    """What the daemon tells the service at its start: the path of the session's journal."""

    journal: str


class Read(msgspec.Struct, tag_field="say", tag="read", frozen=True):
    """The service has taken every record up to `seq`."""

    seq: int


class CaughtUp(msgspec.Struct, tag_field="say", tag="caught_up", frozen=True):
    """The service has read the journal, up to `seq`: it wants to be shown what follows."""

    seq: int


class Result(msgspec.Struct, frozen=True):
    """One thing the rules found: `because` is the seq of the record that led to it."""

    because: int
    kind: str
    version: int
    data: msgspec.Raw


class Results(msgspec.Struct, tag_field="say", tag="results", frozen=True):
    """The rules' findings numbered `first`, `first` + 1, … within the session."""

    session: str
    first: int
    results: list[Result]


ORDERS: Final = msgspec.json.Decoder(Order)
SAID: Final = msgspec.json.Decoder(Read | CaughtUp | Results)
ENCODE: Final = msgspec.json.Encoder().encode
