"""The payloads on the bus as typed documents; `acquire.topics` says which is where."""

import re
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass
from typing import Annotated, Any, Final, TypeVar

import msgspec

from barrelfit.acquire.errors import BarrelfitError
from barrelfit.acquire.journal.codec import decode
from barrelfit.acquire.journal.events import Event
from barrelfit.acquire.topics import LEAVES
from barrelfit.rules.said import NOTHING, Said

Seq = Annotated[int, msgspec.Meta(ge=0)]
"""A record's number; the door lets no number in that 64 bits could not hold."""
Hash = Annotated[str, msgspec.Meta(pattern="^[0-9a-f]{64}\\Z")]
Name = Annotated[str, msgspec.Meta(max_length=200)]
"""A session, or a moment as text."""


class BusEvent(
    msgspec.Struct, frozen=True, rename={"version": "v", "t_ns": "t"}, forbid_unknown_fields=True
):
    """A journal record as the bus carries it: the record without its chain and checksum."""

    seq: Seq
    kind: str
    version: int
    because: Seq | None
    t_ns: int
    utc: Name
    data: msgspec.Raw

    def event(self) -> Event:
        """The record's document; raises CodecError."""
        return decode(self.kind, self.version, bytes(self.data))

    @property
    def print(self) -> int:
        """A number that differs where the record's content does."""
        return hash((self.kind, self.version, self.because, self.t_ns, bytes(self.data)))


class JournalBatch(msgspec.Struct, frozen=True):
    """`journal`: some records of a session, in order."""

    session: Name
    events: list[BusEvent]


class StateTold(msgspec.Struct, frozen=True):
    """`state`: whether the bench's daemon is there, and what it has on disk.

    `head` is the hash of record `seq`: kept by the broker, it is a witness against rewriting.
    """

    state: str
    session: Name
    seq: Seq
    utc: Name
    head: Hash


class GaugeHealth(msgspec.Struct, frozen=True, omit_defaults=True):
    """One gauge's state, and how long ago its last reading came, in ms."""

    state: str
    reason: Said = NOTHING
    age_ms: int | None = None


class ServiceHealth(msgspec.Struct, frozen=True, omit_defaults=True):
    """How a service stands (`bus`, `rules`, `board`): starting, running, or away and why."""

    state: str
    reason: Said = NOTHING


class Heartbeat(msgspec.Struct, frozen=True):
    """`heartbeat`: the daemon lives, has recorded up to `seq`, and sees its gauges so.

    `head` is the hash of the last record on disk; `trouble` says why nothing is being recorded,
    empty when all is well. `rules_seq` is how far the rules service has read; `refused` counts the
    messages that were not let in, by what they claimed to be.
    """

    session: Name
    seq: Seq
    head: Hash
    utc: Name
    trouble: str
    gauges: dict[str, GaugeHealth]
    services: dict[str, ServiceHealth] = {}
    rules_seq: Seq = 0
    refused: dict[str, Seq] = {}


class Answer(msgspec.Struct, frozen=True, omit_defaults=True):
    """`answer`: the daemon's reply to the command of that `id`.

    Where it is not `ok`, `code` and `sentence` say why. A challenge's answer has a `nonce`, and
    either what the passphrase is proved with or, of a sign-in, `who` is meant.
    """

    id: str
    ok: bool
    code: str = ""
    sentence: Said = NOTHING
    nonce: str = ""
    who: str = ""
    salt: str = ""
    time_cost: int = 0
    memory_kib: int = 0
    lanes: int = 0


ENCODE: Final = msgspec.json.Encoder().encode
BATCHES: Final = msgspec.json.Decoder(JournalBatch)
STATES: Final = msgspec.json.Decoder(StateTold)
HEARTBEATS: Final = msgspec.json.Decoder(Heartbeat)
ANSWERS: Final = msgspec.json.Decoder(Answer)
OBJECTS: Final = msgspec.json.Decoder(dict[str, Any])
"""An object whose parts its reader looks at one by one."""


# ---------------------------------------------------------------- the door

BYTES_MAX: Final = 1024 * 1024
DEPTH_MAX: Final = 32
WHOLE_DIGITS_MAX: Final = 18  # so that a whole number always fits 64 bits
DIGITS_MAX: Final = 40
START_BYTES: Final = 200

_TEXTS: Final = re.compile(rb'"[^"\\]*+(?:\\.[^"\\]*+)*+(?:"|\\?\Z)', re.DOTALL)
"""A JSON text, or one that never ends: either way it is read once."""
_LONG_NUMBER: Final = re.compile(
    rb"\d{%d}|(?<![\d.eE+])\d{%d,}+(?![.eE])" % (DIGITS_MAX + 1, WHOLE_DIGITS_MAX + 1)
)
_ALL_BUT_BRACKETS: Final = bytes(set(range(256)) - set(b"[]{}"))

T = TypeVar("T")


class RefusedError(BarrelfitError):
    """A message that is not let in: `problem` says what is wrong with it, and where in it."""

    def __init__(self, problem: str) -> None:
        super().__init__(problem)
        self.problem = problem


def decoded(payload: bytes, decoder: msgspec.json.Decoder[T], bytes_max: int = BYTES_MAX) -> T:
    """Read a payload that anybody may have sent; the one way in for whatever the bus brings.

    Time and memory are bounded by the payload's length, which is bounded too.

    Args:
        payload: the message as it came.
        decoder: of what it should be.
        bytes_max: how long such a message may be.

    Raises:
        RefusedError: it is too long, nested too deep, holds a number of too many digits or text
            that is not UTF-8, or is not such a document.
    """
    if len(payload) > bytes_max:
        msg = f"{len(payload)} bytes; at most {bytes_max} are taken"
        raise RefusedError(msg)
    try:
        payload.decode()
        _check_form(payload)
        return decoder.decode(payload)
    except UnicodeDecodeError as error:
        msg = f"byte {error.start} is not UTF-8"
        raise RefusedError(msg) from None
    except (msgspec.MsgspecError, ValueError, OverflowError, RecursionError) as error:
        raise RefusedError(str(error)) from None


def _check_form(payload: bytes) -> None:
    """Refuse what is dear to decode, before it is decoded."""
    bare = _TEXTS.sub(b"", payload)
    if found := _LONG_NUMBER.search(bare):
        msg = f"a number of {found.end() - found.start()} digits or more"
        raise RefusedError(msg)
    brackets = bare.translate(None, _ALL_BUT_BRACKETS)
    depth = 0
    for bracket in brackets:
        depth += 1 if bracket in b"[{" else -1
        if depth > DEPTH_MAX:
            msg = f"nested deeper than {DEPTH_MAX}"
            raise RefusedError(msg)


@dataclass(frozen=True, slots=True)
class Refusal:
    """A message that was not let in: from which topic, what is wrong, and how it begins.

    `start` is at most 200 bytes of it, as text; `count` is how many of its kind were refused.
    """

    place: str
    problem: str
    start: str
    count: int

    @property
    def worth_telling(self) -> bool:
        """Whether to tell of it: of the first, the tenth, the hundredth, so that none floods."""
        return str(self.count).strip("0") == "1"


class Door:
    """One program's door to the bus: lets in what can be read and counts the rest by kind.

    Args:
        tell: hears of every refusal.
    """

    def __init__(self, tell: Callable[[Refusal], None]) -> None:
        self._tell = tell
        self.refused: Counter[str] = Counter()

    def take(
        self,
        place: str,
        payload: bytes,
        decoder: msgspec.json.Decoder[T],
        bytes_max: int = BYTES_MAX,
    ) -> T | None:
        """Read a message; None when it is refused.

        Args:
            place: its topic.
            payload: the message as it came.
            decoder: of what it should be.
            bytes_max: how long such a message may be.
        """
        try:
            return decoded(payload, decoder, bytes_max)
        except RefusedError as error:
            self.refuse(place, payload, error.problem)
            return None

    def refuse(self, place: str, payload: bytes, problem: str) -> None:
        """Count a message that can be read and is still none that is to be believed."""
        kind = place.rpartition("/")[2]
        self.refused[kind if kind in LEAVES else ""] += 1
        start = payload[:START_BYTES].decode(errors="backslashreplace")
        count = self.refused[kind if kind in LEAVES else ""]
        self._tell(Refusal(_short(place), _short(problem), start[:START_BYTES], count))


def _short(text: str) -> str:
    """A text of the sender's at a bounded length."""
    return text.encode(errors="backslashreplace")[:START_BYTES].decode(errors="ignore")
