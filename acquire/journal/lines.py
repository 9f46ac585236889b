r"""The journal's lines: sealing, and a scanner that believes nothing. Pure: bytes in, records out.

A line is one JSON object and a newline:

    {"seq":7,"kind":"reading_taken","v":1,"because":null,"t":81250000000,
     "utc":"2026-11-25T01:02:03.123456Z","data":{...},"prev":"<64 hex>","sum":"<8 hex>"}

(without the line breaks shown here). `sum` is the CRC-32C of everything before `,"sum"`, so head
and document are both guarded; `prev` is the SHA-256 of the whole line before, its newline
included, so that a line can't be changed, added or taken out without every later line changing:
the last line's hash, the *head hash*, stands for the whole session. The first line's `prev` is
the SHA-256 of nothing.

**Torn is not corrupt.** A file that ends inside a line was cut by a crash or a power cut (which
may also leave NUL bytes behind): that tail was never confirmed and may be cut away. Anything else
that does not fit (a terminated line that is wrong, a tail that no cut can leave) is corruption:
nothing is read past it.
"""

import hashlib
import re
from dataclasses import dataclass
from typing import Final, NamedTuple

import google_crc32c
import msgspec

from barrelfit.acquire.errors import BarrelfitError
from barrelfit.acquire.journal.codec import (
    ENVELOPES,
    HASH_CHARS,
    LINES,
    SUM_CHARS,
    CodecError,
    Envelope,
    Record,
    encode,
    record_of,
)
from barrelfit.acquire.journal.events import VERSION_OF, Event, kind_of

GENESIS: Final = hashlib.sha256(b"").hexdigest()
LINE_BYTES_MAX: Final = 8 * 1024 * 1024

HEAD_HASH: Final = re.compile(r"[0-9a-f]{64}")
_SEAL_BYTES: Final = len(',"sum":""}\n') + SUM_CHARS
_CHAIN_BYTES: Final = len(',"prev":""') + HASH_CHARS + _SEAL_BYTES
_SEALED: Final = re.compile(rb'"prev":"[0-9a-f]{64}","sum":"[0-9a-f]{8}"\}')
_UTC: Final = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{6}Z")
_KIND_NAMES: Final = {known: kind_of(known) for known in VERSION_OF}


class CorruptError(BarrelfitError):
    """A journal's line is not what was written; nothing after it can be trusted either."""

    def __init__(self, line: int, problem: str) -> None:
        super().__init__(f"line {line}: {problem}")
        self.line = line
        self.problem = problem


class UnreadableError(BarrelfitError):
    """A line is whole and in the chain, but this version can't read its document."""

    def __init__(self, line: int, problem: str) -> None:
        super().__init__(f"line {line}: {problem}")
        self.line = line
        self.problem = problem


class Stamp(NamedTuple):
    """When: monotonic ns, and UTC as RFC 3339 text with six decimals and `Z`."""

    t_ns: int
    utc: str


@dataclass(frozen=True, slots=True)
class Head:
    """How far a journal reaches: last seq (0: nothing yet), head hash, length in bytes."""

    seq: int = 0
    hash: str = GENESIS
    length: int = 0


def seal(head: Head, event: Event, stamp: Stamp, because: int | None = None) -> bytes:
    """Write the record after `head` as a line, newline included.

    Raises:
        CodecError: the document can't be written (NaN, infinity) or is too long, or the stamp's
            text is no UTC with six decimals.
    """
    if not _UTC.fullmatch(stamp.utc):
        message = f"'{stamp.utc}' is no UTC time with six decimals and Z"
        raise CodecError(message)
    known = type(event)
    body = (
        f'{{"seq":{head.seq + 1},"kind":"{_KIND_NAMES[known]}","v":{VERSION_OF[known]},'
        f'"because":{"null" if because is None else because},"t":{stamp.t_ns},'
        f'"utc":"{stamp.utc}","data":'
    ).encode()
    body += encode(event) + b',"prev":"' + head.hash.encode() + b'"'
    line = body + b',"sum":"%08x"}\n' % google_crc32c.value(body)
    if len(line) > LINE_BYTES_MAX:
        message = f"a record of {len(line)} bytes is too long (at most {LINE_BYTES_MAX})"
        raise CodecError(message)
    return line


def after(head: Head, line: bytes) -> Head:
    """Head of a journal once `line` (newline included) stands behind `head`."""
    return Head(head.seq + 1, line_hash(line), head.length + len(line))


def line_hash(line: bytes) -> str:
    """SHA-256 of a line, newline included, in lower-case hex."""
    return hashlib.sha256(line).hexdigest()


def bus_copy(line: bytes) -> bytes:
    """What the bus carries of a sealed line: the same object without `prev` and `sum`."""
    return line[:-_CHAIN_BYTES] + b"}"


class Scanner:
    """Reads a journal in chunks of any size; every record it gives has passed every check.

    Args:
        head: where reading starts; a later file of the same session goes on from the one before.
        stop_seq: the first seq that is not read any more (a later file holds it), None: read all.
    """

    def __init__(self, head: Head | None = None, stop_seq: int | None = None) -> None:
        self._head = head or Head()
        self._lines_before = self._head.seq
        self._stop_seq = stop_seq
        self._rest = b""

    @property
    def head(self) -> Head:
        """How far the journal has been read; `length` counts from where reading started."""
        return self._head

    @property
    def stopped(self) -> bool:
        """Whether `stop_seq` has been met."""
        return self._stop_seq is not None and self._head.seq + 1 >= self._stop_seq

    def feed(self, chunk: bytes) -> list[Record]:
        """Take the next bytes and give the records they complete.

        Raises:
            CorruptError: a terminated line is not what was written.
            UnreadableError: a line was written by a newer version.
        """
        if self.stopped:
            return []
        data = self._rest + chunk
        cut = data.rfind(b"\n") + 1
        self._rest = data[cut:]
        if len(self._rest) > LINE_BYTES_MAX:
            raise CorruptError(self._head.seq + 1, "longer than a line can be")
        return self._read(data[:cut]) if cut else []

    def end(self) -> int:
        """Say that the file ends here; gives the bytes of a torn tail, 0 when there is none.

        Raises:
            CorruptError: the tail is none that a cut can leave.
        """
        if self.stopped or not self._rest:
            return 0
        number = self._head.seq + 1
        check_tail(self._rest, number, b"%d" % number)
        return len(self._rest)

    def _read(self, block: bytes) -> list[Record]:
        """Check and decode whole lines: the quick way, and line by line where that fails."""
        lines = block.splitlines(keepends=True)
        try:
            records = LINES.decode_lines(block)
        except (msgspec.MsgspecError, UnicodeDecodeError):
            return self._read_slowly(block)
        if len(records) != len(lines):
            return self._read_slowly(block)
        taken: list[Record] = []
        seq, prev, length = self._head.seq, self._head.hash, self._head.length
        stop_seq = self._stop_seq
        crc32c, sha256 = google_crc32c.value, hashlib.sha256
        for line, record in zip(lines, records, strict=True):
            seq += 1
            if seq == stop_seq:
                seq -= 1
                break
            if (
                line[-_SEAL_BYTES:] != b',"sum":"%08x"}\n' % crc32c(line[:-_SEAL_BYTES])
                or record.prev != prev
                or record.seq != seq
                or record.version != VERSION_OF[type(record.event)]
                or len(record.utc) != 27  # noqa: PLR2004  "2026-11-25T01:02:03.123456Z"
            ):
                self._head = Head(seq - 1, prev, length)
                rest = b"".join(lines[len(taken) :])
                return taken + self._read_slowly(rest)
            prev = sha256(line).hexdigest()
            length += len(line)
            taken.append(record)
        self._head = Head(seq, prev, length)
        return taken

    def _read_slowly(self, block: bytes) -> list[Record]:
        """Check and decode line by line, saying exactly what is wrong."""
        taken: list[Record] = []
        for line in block.split(b"\n")[:-1]:
            if self.stopped:
                break
            envelope = check_line(self._head, line + b"\n")
            try:
                taken.append(record_of(envelope))
            except CodecError as error:
                raise UnreadableError(self._head.seq + 1, str(error)) from None
            self._head = after(self._head, line + b"\n")
        return taken


def check_tail(tail: bytes, number: int, seq: bytes = rb"\d{1,18}") -> None:
    """Check that an unterminated tail is the beginning of a record, as a cut leaves it.

    Args:
        tail: the bytes; NULs at its end are a power cut's.
        number: of the line, for the message.
        seq: pattern of the seq that the record may have; any, when left out.

    Raises:
        CorruptError: something else stands there.
    """
    written = tail.rstrip(b"\0")
    start = re.match(rb'\{"seq":' + seq + rb',"kind":"', written)
    cut = any(re.fullmatch(piece, written) for piece in _starts(seq))
    if not start and not cut:
        raise CorruptError(number, "has no end and does not begin as a record")
    sealed = _SEALED.search(written)
    if sealed and sealed.end() < len(written):
        raise CorruptError(number, "goes on after its end")


def _starts(seq: bytes) -> list[bytes]:
    """Patterns of everything that a record's first bytes may be cut to."""
    before, behind = b'{"seq":', b',"kind":"'
    digits = [rb"\d{0,18}"] if seq.startswith(rb"\d") else [seq[:n] for n in range(len(seq))]
    return [
        *(re.escape(before[:n]) for n in range(len(before))),
        *(re.escape(before) + piece for piece in digits),
        *(re.escape(before) + seq + re.escape(behind[:n]) for n in range(len(behind))),
    ]


def check_line(head: Head, line: bytes) -> Envelope:
    """Check one terminated line against the journal before it, without reading its document.

    Raises:
        CorruptError: says which line and what is wrong with it.
    """
    number = head.seq + 1
    body = line[:-_SEAL_BYTES]
    if not _SEALED.fullmatch(line[1 - _CHAIN_BYTES : -1]):
        raise CorruptError(number, "does not end with a checksum")
    if line[-_SEAL_BYTES:] != b',"sum":"%08x"}\n' % google_crc32c.value(body):
        raise CorruptError(number, "its checksum does not fit: the line was changed or damaged")
    try:
        envelope = ENVELOPES.decode(line)
    except (msgspec.MsgspecError, UnicodeDecodeError) as error:
        raise CorruptError(number, f"is no record: {error}") from None
    if envelope.seq != number:
        raise CorruptError(number, f"has seq {envelope.seq}: lines are missing or were added")
    if envelope.prev != head.hash:
        raise CorruptError(number, "does not follow from the line before: one of them was changed")
    if not _UTC.fullmatch(envelope.utc):
        raise CorruptError(number, f"its time '{envelope.utc}' is not UTC with six decimals")
    return envelope
