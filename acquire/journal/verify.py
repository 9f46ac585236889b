"""Says of a session's journal whether it is whole, torn, holed or altered, and on which line.

Three things are checked: every line against its checksum and the chain; claims from outside (a
head hash printed on a report, recorded by the index or by another bench) against the chain, which
is how a chain that was rewritten from end to end is found; and the signatures in it.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from barrelfit.acquire.journal.codec import Record
from barrelfit.acquire.journal.damage import CorruptError, Hole, UnreadableError
from barrelfit.acquire.journal.disk import Disk
from barrelfit.acquire.journal.events import HeadSeen, SessionClosed, SessionOpened, SessionSigned
from barrelfit.acquire.journal.lines import GENESIS, Head
from barrelfit.acquire.journal.parts import JournalReader
from barrelfit.rules.said import NOTHING, Said, said

WHOLE: Final = "whole"
TORN: Final = "torn"
HOLED: Final = "holed"
ALTERED: Final = "altered"
UNREADABLE: Final = "unreadable"


@dataclass(frozen=True, slots=True)
class Claim:
    """Somebody's word about a chain: the record `seq` had the hash `head` (seq None: some record).

    `source` says whose word it is, as it is shown to the user.
    """

    head: str
    seq: int | None
    source: Said | str


@dataclass(frozen=True, slots=True)
class Verification:
    """What was found; `line` and `problem` belong to the first thing that is wrong.

    `records` and `head_hash` are those of the part that is whole; `behind_holes` counts the sound
    records that stand behind a hole.
    """

    outcome: str
    session: str
    records: int
    head_hash: str
    closed: bool
    file: str
    line: int | None = None
    problem: Said = NOTHING
    torn_bytes: int = 0
    behind_holes: int = 0
    signed_by: tuple[str, ...] = ()
    confirmed: tuple[Said | str, ...] = ()


class _Watch:
    """Goes along the chain and compares it with what others say of it."""

    def __init__(self, claims: Sequence[Claim]) -> None:
        self.opened: SessionOpened | None = None
        self.records = 0
        self.closed = False
        self.signed: list[tuple[int, SessionSigned, str]] = []
        self._wanted = {claim.seq for claim in claims if claim.seq is not None}
        self._anywhere = {claim.head for claim in claims if claim.seq is None}
        self._hash_at: dict[int, str] = {}
        self._found: set[str] = set()

    def take(self, records: Iterable[Record]) -> None:
        """Take the chain's next records."""
        for record in records:
            seq, prev, event = record.seq - 1, record.prev, record.event
            self.records += 1
            if seq in self._wanted:
                self._hash_at[seq] = prev
            if prev in self._anywhere:
                self._found.add(prev)
            if isinstance(event, SessionOpened) and self.opened is None:
                self.opened = event
            elif isinstance(event, SessionClosed):
                self.closed = True
            elif isinstance(event, SessionSigned):
                self.signed.append((record.seq, event, prev))

    def end(self, seq: int, head_hash: str) -> None:
        """Take the hash of a record that no other one holds: the last, or one before a hole."""
        self._hash_at[seq] = head_hash
        self._found.add(head_hash)

    def against(self, claim: Claim) -> Said:
        """What speaks against a claim; nothing when it holds."""
        if claim.seq is None:
            if claim.head in self._found and claim.head != GENESIS:
                return NOTHING
            return said("another_chain", source=claim.source)
        was = self._hash_at.get(claim.seq)
        if was is None:
            return said("records_missing", source=claim.source, count=claim.seq)
        if was != claim.head:
            return said("chain_rewritten", source=claim.source)
        return NOTHING


def verify_journal(
    journal: Path, disk: Disk, claims: Sequence[Claim] = (), public_key: str = ""
) -> Verification:
    """Check a journal.

    Args:
        journal: its (first) file.
        disk: where it is.
        claims: what others say of its chain.
        public_key: hex of the key that must have signed it; empty for none.

    Raises:
        OSError: it can't be read.
    """
    reader, watch = JournalReader(journal, disk, past_holes=True), _Watch(claims)
    outcome, line, problem, file = _read(reader, watch)
    for _, hole in reader.holes:
        watch.end(hole.first_seq - 1, hole.head)
    watch.end(reader.head.seq, reader.head.hash)
    torn = sum(tail.length for tail in reader.torn)
    sound, behind = reader.head, 0
    if reader.holes:
        sound, behind, told = _holes_told(reader, watch)
        problem = said("several", parts=(told, problem)) if problem else told
        if outcome in {WHOLE, TORN}:
            outcome, line, file = HOLED, sound.seq + 1, reader.holes[0][0]
    confirmed: list[Said | str] = []
    signed_by: list[str] = []
    if outcome in {WHOLE, TORN, HOLED}:
        gone = [hole for _, hole in reader.holes]
        against = [(claim, watch.against(claim)) for claim in claims if not _in_hole(claim, gone)]
        confirmed = [claim.source for claim, word in against if not word]
        broken = [(claim.seq, word) for claim, word in against if word]
        signed_by, bad = _signatures(watch, public_key)
        for place, word in [*broken, *bad]:
            outcome, line, problem = ALTERED, place, word
            break
    return Verification(
        outcome,
        watch.opened.session if watch.opened else "",
        sound.seq,
        sound.hash,
        watch.closed,
        file.name,
        line,
        problem,
        torn,
        behind,
        tuple(signed_by),
        tuple(confirmed),
    )


def _read(reader: JournalReader, watch: _Watch) -> tuple[str, int | None, Said, Path]:
    """Have the watch take every record; gives outcome, line, problem and file as far as read."""
    try:
        for records in reader.blocks():
            watch.take(records)
    except CorruptError as error:
        return ALTERED, error.line, error.problem, reader.reading
    except UnreadableError as error:
        return UNREADABLE, error.line, error.problem, reader.reading
    if reader.torn:
        problem = said("line_unfinished", torn=reader.torn[0].told)
        return TORN, reader.head.seq + 1, problem, reader.torn[0].path
    if not reader.head.seq:
        return TORN, 1, said("nothing_ever_recorded"), reader.reading
    return WHOLE, None, NOTHING, reader.reading


def _holes_told(reader: JournalReader, watch: _Watch) -> tuple[Head, int, Said]:
    """The head before the first hole, how many records stand behind it, and all holes in words."""
    hole = reader.holes[0][1]
    sound = Head(hole.first_seq - 1, hole.head)
    behind = watch.records - sound.seq
    several = len(reader.parts) > 1
    holes = [
        said("of_file", file=path.name, what=hole.told) if several else hole.told
        for path, hole in reader.holes
    ]
    return sound, behind, said("several", parts=(*holes, said("lines_behind", count=behind)))


def _in_hole(claim: Claim, holes: Sequence[Hole]) -> bool:
    """Whether what a claim speaks of is gone in a hole, and can't be told right or wrong."""
    return any(
        claim.seq is not None and hole.first_seq <= claim.seq < hole.last_seq for hole in holes
    )


def claims_of(records: Iterable[Record], session: str, source: str) -> list[Claim]:
    """What another session's journal says of this one: the heads it saw on the bus."""
    return [
        Claim(record.event.head, record.event.seq, source)
        for record in records
        if isinstance(record.event, HeadSeen) and record.event.session == session
    ]


def _signatures(watch: _Watch, public_key: str) -> tuple[list[str], list[tuple[int | None, Said]]]:
    """Names of those who signed, and what is wrong with signatures (with the line)."""
    from barrelfit.acquire.journal.signing import is_signed  # noqa: PLC0415  slow to load, seldom needed

    names: list[str] = []
    bad: list[tuple[int | None, Said]] = []
    for seq, signed, prev in watch.signed:
        if signed.head != prev or not is_signed(signed):
            bad.append((seq, said("signature_unfit", who=signed.who)))
        elif public_key in {"", signed.public_key}:
            names.append(signed.who)
    if public_key and not names and not bad:
        bad.append((None, said("no_such_signature")))
    return names, bad
