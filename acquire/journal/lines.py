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

**A hole is neither.** A power cut on some file systems, or a failing disk, leaves a stretch of NUL
bytes where lines stood, and what was written later stands sound behind it. No sound line holds a
NUL. Such a record is never whole: the hole is told with its place and the lines that are gone, and
lines behind it are read by whoever asks for them, sound in themselves and chained to one another.
"""

import hashlib
import re
from dataclasses import dataclass
from typing import Final, NamedTuple

import google_crc32c
import msgspec

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
from barrelfit.acquire.journal.damage import CorruptError, Hole, HoleError, UnreadableError
from barrelfit.acquire.journal.events import VERSION_OF, Event, kind_of
from barrelfit.rules.said import said, written

GENESIS: Final = hashlib.sha256(b"").hexdigest()
LINE_BYTES_MAX: Final = 8 * 1024 * 1024

HEAD_HASH: Final = re.compile(r"[0-9a-f]{64}")
_SEAL_BYTES: Final = len(',"sum":""}\n') + SUM_CHARS
_CHAIN_BYTES: Final = len(',"prev":""') + HASH_CHARS + _SEAL_BYTES
_LINE_BYTES_MIN: Final = _CHAIN_BYTES + len(
    '{"seq":1,"kind":"","v":1,"because":1,"t":0,"utc":"","data":{}'
)
_SEALED: Final = re.compile(rb'"prev":"[0-9a-f]{64}","sum":"[0-9a-f]{8}"\}')
_UTC: Final = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{6}Z")
_KIND_NAMES: Final = {known: kind_of(known) for known in VERSION_OF}


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
        past_holes: whether lines behind a hole are given too; `holes` then says what is gone.
    """

    def __init__(
        self, head: Head | None = None, stop_seq: int | None = None, *, past_holes: bool = False
    ) -> None:
        self._head = head or Head()
        self._stop_seq = stop_seq
        self._past_holes = past_holes
        self.holes: list[Hole] = []
        self._skipped = 0  # bytes since `head` that are no sound lines
        self._nuls = 0  # and how many of them are NUL
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
            HoleError: lines are gone in a hole, and those behind it were not asked for.
            UnreadableError: a line was written by a newer version.
        """
        if self.stopped:
            return []
        data = self._rest + chunk
        cut = data.rfind(b"\n") + 1
        self._rest = data[cut:]
        taken = self._read(data[:cut]) if cut else []
        if len(self._rest) > LINE_BYTES_MAX and not self.stopped:
            hole = max(0, self._rest.rfind(b"\0"))  # whose last NUL stays: its line goes on
            self._skip(self._rest[:hole])
            self._rest = self._rest[hole:]
            if len(self._rest) > LINE_BYTES_MAX:
                raise CorruptError(self._head.seq + 1, said("line_too_long"))
        return taken

    def end(self) -> int:
        """Say that the file ends here; gives the bytes of a torn tail, 0 when there is none.

        Raises:
            CorruptError: the tail is none that a cut can leave.
        """
        if self.stopped or not (self._rest or self._skipped):
            return 0
        number = self._head.seq + 1
        if not self._skipped:
            check_tail(self._rest, number, b"%d" % number)
        return self._skipped + len(self._rest)

    def _read(self, block: bytes) -> list[Record]:
        """Check and decode whole lines: the quick way, and line by line where that fails."""
        if self._skipped or b"\0" in block:
            return self._read_slowly(block)
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
        for found in block.split(b"\n")[:-1]:
            line = found + b"\n"
            if not self.stopped and (self._skipped or b"\0" in line):
                line = self._behind_hole(line)
            if self.stopped:
                break
            if not line:
                continue
            envelope = check_line(self._head, line)
            try:
                taken.append(record_of(envelope))
            except CodecError as error:
                raise UnreadableError(self._head.seq + 1, written(str(error))) from None
            self._head = after(self._head, line)
        return taken

    def _skip(self, lost: bytes) -> None:
        """Take bytes for no sound line: a hole, or what it left of a line."""
        self._skipped += len(lost)
        self._nuls += lost.count(0)

    def _behind_hole(self, line: bytes) -> bytes:
        """The sound line that stands behind a hole, in a line that may hold the hole's end.

        Empty where none does; where one does, the head is set to the place before it.

        Raises:
            CorruptError: what stands there is nothing that a hole leaves.
        """
        start = line.rfind(b"\0") + 1
        self._skip(line[:start])
        sound = line[start:]
        try:
            envelope = check_seal(sound, self._head.seq + 1)
        except CorruptError:
            if not start:  # behind a hole's last NUL there is at most the rest of one line
                raise
            self._skip(sound)
            return b""
        before, gone = self._head, envelope.seq - self._head.seq - 1
        if gone < 0 or (gone == 0 and envelope.prev != before.hash):
            problem = said("hole_not_followed", line=envelope.seq)
            raise CorruptError(before.seq + 1, problem)
        if gone * _LINE_BYTES_MIN > self._skipped:
            problem = said("hole_too_small", line=envelope.seq)
            raise CorruptError(before.seq + 1, problem)
        gone_seqs = before.seq + 1, envelope.seq - 1
        hole = Hole(before.length, self._skipped, self._nuls, *gone_seqs, before.hash)
        if not self._past_holes:
            raise HoleError(hole)
        self.holes.append(hole)
        self._head = Head(envelope.seq - 1, envelope.prev, before.length + self._skipped)
        self._skipped = self._nuls = 0
        return sound


def check_tail(tail: bytes, number: int, seq: bytes = rb"\d{1,18}") -> None:
    """Check that an unterminated tail is the beginning of a record, as a cut leaves it.

    Args:
        tail: the bytes; from the first NUL on they are a power cut's.
        number: of the line, for the message.
        seq: pattern of the seq that the record may have; any, when left out.

    Raises:
        CorruptError: something else stands there.
    """
    begun = tail.partition(b"\0")[0]
    start = re.match(rb'\{"seq":' + seq + rb',"kind":"', begun)
    cut = any(re.fullmatch(piece, begun) for piece in _starts(seq))
    if not start and not cut:
        raise CorruptError(number, said("tail_no_record"))
    sealed = _SEALED.search(begun)
    if sealed and sealed.end() < len(begun):
        raise CorruptError(number, said("tail_goes_on"))


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
    envelope = check_seal(line, number)
    if envelope.seq != number:
        raise CorruptError(number, said("wrong_seq", seq=envelope.seq))
    if envelope.prev != head.hash:
        raise CorruptError(number, said("not_in_chain"))
    return envelope


def check_seal(line: bytes, number: int) -> Envelope:
    """Check that one terminated line is sound in itself, wherever it stands.

    Args:
        line: newline included.
        number: of the line, for the message.

    Raises:
        CorruptError: it is not; says what is wrong with it.
    """
    body = line[:-_SEAL_BYTES]
    if not _SEALED.fullmatch(line[1 - _CHAIN_BYTES : -1]):
        raise CorruptError(number, said("no_checksum"))
    if line[-_SEAL_BYTES:] != b',"sum":"%08x"}\n' % google_crc32c.value(body):
        raise CorruptError(number, said("wrong_checksum"))
    try:
        envelope = ENVELOPES.decode(line)
    except (msgspec.MsgspecError, UnicodeDecodeError) as error:
        raise CorruptError(number, said("is_no_record", why=str(error))) from None
    if not _UTC.fullmatch(envelope.utc):
        raise CorruptError(number, said("time_not_utc", utc=envelope.utc))
    return envelope
