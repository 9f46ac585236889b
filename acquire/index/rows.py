"""What the index takes of a session: rows for its parts, sizes, verdicts and entries. Pure."""

import json
from collections.abc import Callable, Iterable
from typing import Any

from sqlalchemy import Table

from barrelfit.acquire.errors import UserError
from barrelfit.acquire.fold.handlers import take
from barrelfit.acquire.fold.state import SessionState
from barrelfit.acquire.index.tables import (
    DECISIONS,
    ENTRIES,
    FACTS,
    OVERRIDES,
    PARTS,
    SESSIONS,
    SIZES,
    VERDICTS,
)
from barrelfit.acquire.inputs.set_now import setup_now
from barrelfit.acquire.inputs.setup import setup_of
from barrelfit.acquire.journal.codec import Record
from barrelfit.acquire.journal.events import (
    FaultSeen,
    MassTaken,
    ReadingTaken,
    SessionOpened,
)
from barrelfit.acquire.journal.override_events import Overridden
from barrelfit.rules.engine.parts import EngineSet, Marks
from barrelfit.rules.errors import RulesError
from barrelfit.rules.events import EntryMade, Judged, Sized
from barrelfit.rules.manner import told
from barrelfit.rules.said import said
from barrelfit.rules.told import FactTaken

Row = tuple[Table, dict[str, Any]]
Known = Callable[[str], tuple[int, str] | None]


class SessionRows:
    """One journal on its way into the index: records in, rows out.

    Args:
        file: the journal's file name.
        known: tells records and head hash of a session as it was taken last, by session id.
    """

    def __init__(self, file: str, known: Known) -> None:
        self.opening: SessionOpened | None = None
        self.before: tuple[int, str] | None = None
        self.unchanged = False
        self._file = file
        self._known = known
        self._rows: list[Row] = []
        self._waiting: Row | None = None
        self._state = SessionState()
        self._hash_then = ""
        self._session: dict[str, Any] = {"readings": 0, "faults": 0}

    @property
    def session(self) -> str:
        """The session's id, empty before its opening was read."""
        return self.opening.session if self.opening is not None else ""

    def take(self, records: Iterable[Record]) -> None:
        """Take the journal's next records."""
        for record in records:
            self._hash(record.seq - 1, record.prev)
            self._session["last_utc"] = record.utc
            take(self._state, record)
            match record.event:
                case ReadingTaken() | MassTaken():
                    self._session["readings"] += 1
                case FaultSeen():
                    self._session["faults"] += 1
                case SessionOpened() as event if self.opening is None:
                    self.opening = event
                    self._session["opened_utc"] = record.utc
                    self.before = self._known(event.session)
                case _:
                    self._waiting = record_row(self.session, record)

    def end(self, seq: int, head_hash: str, size: int) -> list[Row]:
        """Say where the journal ends; gives the session's rows.

        Args:
            seq: of the last record.
            head_hash: its hash.
            size: of the journal's files, in bytes.

        Raises:
            UserError: what was taken before is not the beginning of this chain.
        """
        self._hash(seq, head_hash)
        opening = self.opening
        if opening is None:
            return []
        if self.before is not None:
            self._must_go_on(self.before, seq)
            self.unchanged = self.before == (seq, head_hash)
        row = {
            "session": opening.session,
            "file": self._file,
            "bench": opening.bench,
            "job": opening.job,
            "who": opening.who,
            "sheet": f"{opening.sheet_id} rev {opening.sheet_revision}",
            "code_version": opening.code_version,
            "simulated": opening.simulated,
            "records": seq,
            "bytes": size,
            "head_hash": head_hash,
            "ended": self._state.closed,
            "signed_by": self._state.signed_by,
        }
        stand = {stood.seq for stood in self._state.sizes.values()}
        stand |= {stood.seq for stood in self._state.facts_standing.values()}
        for table, found in self._rows:
            if table in {SIZES, FACTS}:
                found["stands"] = found["seq"] in stand
        parts = opening_rows(opening, self._state)
        return [(SESSIONS, row | self._session), *parts, *self._rows]

    def _hash(self, seq: int, line_hash: str) -> None:
        """Hear a record's hash, which stands in the record after it."""
        if self.before is not None and seq == self.before[0]:
            self._hash_then = line_hash
        if self._waiting is not None:
            table, row = self._waiting
            self._rows.append((table, {**row, "line_hash": line_hash}))
            self._waiting = None

    def _must_go_on(self, before: tuple[int, str], seq: int) -> None:
        """The chain that was taken before must be the beginning of this one."""
        if self._hash_then == before[1]:
            return
        problem = said("indexed_another", before=before[0])
        if seq < before[0]:
            problem = said("had_more_records", before=before[0], now=seq)
        hint = said("nothing_was_taken")
        raise UserError([said("file_and_do", file=self._file, what=problem, do=hint)])


def record_row(session: str, record: Record) -> Row | None:
    """The row of one record, without its hash; None for kinds the index does not hold."""
    event = record.event
    key = {"session": session, "seq": record.seq, "utc": record.utc}
    if isinstance(event, Sized):
        at = event.at
        row = {
            "part": at.part,
            "feature": at.feature,
            "depth": at.depth,
            "direction": at.direction,
            "size_nm": event.size_nm,
            "low_nm": event.low_nm,
            "high_nm": event.high_nm,
            "u_nm": event.u_nm,
            "estimator": event.estimator,
            "source": event.source,
        }
        return SIZES, key | row
    if isinstance(event, Judged):
        reasons = "; ".join(told(finding.sentence) for finding in event.findings)
        row = {"about": event.about, "verdict": event.verdict.value, "reasons": reasons}
        return VERDICTS, key | row | {"todo": told(event.todo)}
    if isinstance(event, Overridden):
        row = {"about": event.about, "verdict": event.verdict, "was": event.was}
        return DECISIONS, key | row | {"who": event.who, "reason": event.reason}
    if isinstance(event, EntryMade):
        row = {"part": event.at.part, "feature": str(event.at).partition("/")[2]}
        entry = {"text": event.text, "unit": event.unit, "who": event.who, "why": event.why}
        return ENTRIES, key | row | entry
    if isinstance(event, FactTaken):
        row = {"part": event.at.part, "fact": str(event.at).partition("/")[2] or str(event.at)}
        by = {"who": event.who, "by": event.by, "why": event.why}
        return FACTS, key | row | {"value": event.value, "before": event.before} | by
    return None


def opening_rows(opening: SessionOpened, state: SessionState) -> list[Row]:
    """Rows of the parts and overrides that the set has, with what was told of it since.

    A set that this version can't read gives none: the session is found by its job all the same.
    """
    try:
        engine = setup_now(setup_of(opening), state).engine
    except (UserError, RulesError, KeyError):
        return []
    return [*_parts(opening.session, engine), *_overrides(opening.session, engine)]


def _parts(session: str, engine: EngineSet) -> list[Row]:
    return [
        (
            PARTS,
            {
                "session": session,
                "part": part.id,
                "kind": part.kind,
                "serial": part.serial,
                "stamps": _stamps(part.marks),
            },
        )
        for part in engine.parts
    ]


def _overrides(session: str, engine: EngineSet) -> list[Row]:
    return [
        (
            OVERRIDES,
            {
                "session": session,
                "number": number,
                "quantity": override.quantity,
                "part": override.part,
                "value_nm": override.value_nm,
                "signed_by": override.signed_by,
                "why": override.why,
            },
        )
        for number, override in enumerate(engine.overrides, start=1)
    ]


def _stamps(marks: Marks) -> str:
    """A part's marks as JSON, those that are there."""
    found = {
        "size_nm": marks.size_nm,
        "group": marks.group,
        "clearance_min_nm": marks.clearance_min_nm,
        "pin_class": marks.pin_class,
    }
    return json.dumps({name: value for name, value in found.items() if value not in {None, ""}})
