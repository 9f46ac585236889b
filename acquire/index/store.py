"""The index of sessions: jobs, parts, sizes and verdicts, found without reading every journal.

It is built from journals alone and may be deleted at any time. SQLite beside the journals by
default; any database that SQLAlchemy reaches for a shop. One writer at a time: every writing
transaction begins as one (BEGIN IMMEDIATE), since a reading transaction that wants to write later
is refused at once when somebody else wrote in between, whatever its timeout.

Taking a journal twice changes nothing. A session whose chain is not the one that was taken before
is refused: its journal was rewritten, or two sessions bear one name.
"""

import json
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, Final
from urllib.parse import quote

from sqlalchemy import URL, Connection, Engine, create_engine, delete, event, insert, select
from sqlalchemy import update as alter
from sqlalchemy.exc import SQLAlchemyError

from barrelfit.acquire.errors import UserError
from barrelfit.acquire.index.rows import Known, Row, SessionRows
from barrelfit.acquire.index.tables import ABOUT, METADATA, SCHEMA, SESSIONS
from barrelfit.acquire.journal.damage import CorruptError, UnreadableError
from barrelfit.acquire.journal.disk import RealDisk
from barrelfit.acquire.journal.parts import JournalReader, parts_of
from barrelfit.acquire.journal.session import journals_in
from barrelfit.acquire.journal.verify import Claim
from barrelfit.rules.said import Said, said

BUSY_S: Final = 30.0
WITHOUT_STANDING: Final = 1
EARLIER: Final = (WITHOUT_STANDING, 2)
"""The versions of an index that are brought up to this one."""


class Store:
    """An index in a database.

    Args:
        url: an SQLAlchemy database URL; a path is taken for an SQLite file.

    Raises:
        UserError: it can't be opened or written, is no index, or is one of another version.
    """

    def __init__(self, url: str | Path) -> None:
        self._name = str(url)
        with _saying(self._name):
            self._engine = _engine(
                URL.create("sqlite", database=str(url)) if isinstance(url, Path) else url
            )
        self._writing = self._engine.execution_options(writing=True)
        with _saying(self._name), self._writing.begin() as connection:
            METADATA.create_all(connection)
            schema = connection.execute(select(ABOUT.c.schema)).scalar_one_or_none()
            self._grown = schema in EARLIER
            if schema is None:
                connection.execute(insert(ABOUT).values(schema=SCHEMA))
            if schema in EARLIER:
                _grow(connection, schema)
        if schema not in {None, *EARLIER, SCHEMA}:
            self.close()
            raise UserError([said("index_old", url=str(url), schema=str(schema))])

    def close(self) -> None:
        """Let the database go."""
        self._engine.dispose()

    def take(self, journal: Path) -> bool:
        """Bring one session's journal into the index; False when it was there, unchanged.

        Raises:
            UserError: the journal is damaged, or its chain is not the one taken before.
        """
        rows, found = _read(journal, self.head_of)
        if rows.unchanged and not self._grown:
            return False
        with _saying(self._name), self._writing.begin() as connection:
            if _head(connection, rows.session) != rows.before:
                raise UserError([said("index_changed", journal=str(journal))])
            for table in reversed(METADATA.sorted_tables):
                if "session" in table.c:
                    connection.execute(delete(table).where(table.c.session == rows.session))
            for table, row in found:
                connection.execute(insert(table).values(row))
        return True

    def head_of(self, session: str) -> tuple[int, str] | None:
        """Records and head hash of a session as it was last taken."""
        with _saying(self._name), self._engine.connect() as connection:
            return _head(connection, session)

    def sizes_of_files(self) -> dict[str, int]:
        """Bytes of every journal as it was last taken, by file name; none when all are due anew."""
        if self._grown:
            return {}
        with _saying(self._name), self._engine.connect() as connection:
            rows = connection.execute(select(SESSIONS.c.file, SESSIONS.c.bytes)).all()
        return {str(row[0]): int(row[1]) for row in rows}

    def rows(self, query: Any) -> list[dict[str, Any]]:  # noqa: ANN401  a select of any shape
        """Run a query; rows as dicts in the query's order."""
        with _saying(self._name), self._engine.connect() as connection:
            return [dict(row._mapping) for row in connection.execute(query)]  # noqa: SLF001  its public name

    def text(self) -> str:
        """The whole index as text, one row a line, in the order of keys: to compare two by."""
        lines: list[str] = []
        for table in METADATA.sorted_tables:
            query = select(table).order_by(*table.primary_key.columns)
            lines += [f"{table.name} {json.dumps(row)}" for row in self.rows(query)]
        return "\n".join(lines)


def _grow(connection: Connection, schema: int) -> None:
    """Bring an index of an earlier version up to this one, keeping what it bears witness to.

    Tables that it did not have are there already.
    """
    if schema == WITHOUT_STANDING:
        connection.exec_driver_sql("ALTER TABLE sizes ADD COLUMN stands BOOLEAN")
    connection.execute(alter(ABOUT).values(schema=SCHEMA))


def update(store: Store, folder: Path) -> list[Said]:
    """Bring all journals of a folder into the index; gives what could not be, one sentence each.

    A journal whose length has not changed is passed over: it only grows, and whether it was
    rewritten is `barrelfit verify`'s question.
    """
    problems: list[Said] = []
    known = store.sizes_of_files()
    for journal in journals_in(folder):
        size = sum(RealDisk().size(part) or 0 for part in parts_of(journal, RealDisk()))
        if known.get(journal.name) == size:
            continue
        try:
            store.take(journal)
        except UserError as error:
            problems += error.problems
    return problems


def rebuild(path: Path, folder: Path) -> list[Said]:
    """Build an SQLite index anew from a folder's journals and put it in the old one's place."""
    made = path.with_name(path.name + ".new")
    made.unlink(missing_ok=True)
    store = Store(made)
    problems = update(store, folder)
    store.close()
    made.replace(path)
    return problems


def recorded_head(index: Path, session: str) -> list[Claim]:
    """What an SQLite index recorded of a session's chain; empty when it does not know it.

    The index is only read: evidence may lie on a disk that can't be written.

    Raises:
        UserError: it can't be read.
    """
    with _saying(str(index)):
        place, query = quote(str(index.resolve())), {"mode": "ro", "uri": "true"}
        engine = _engine(URL.create("sqlite", database=f"file:{place}", query=query))
        with engine.connect() as connection:
            head = _head(connection, session)
        engine.dispose()
    return [] if head is None else [Claim(head[1], head[0], said("the_index", name=index.name))]


@contextmanager
def _saying(name: str) -> Iterator[None]:
    """Turn a database's complaint into a sentence for the user."""
    try:
        yield
    except SQLAlchemyError as error:
        reason = str(getattr(error, "orig", None) or error).partition("\n")[0]
        hint = said("index_may_go")
        raise UserError([said("index_unusable", name=name, why=reason, do=hint)]) from None


def _read(journal: Path, known: Known) -> tuple[SessionRows, list[Row]]:
    """Read a journal whole; gives its rows."""
    reader = JournalReader(journal, RealDisk())
    rows = SessionRows(journal.name, known)
    try:
        for records in reader.blocks():
            rows.take(records)
    except (CorruptError, UnreadableError) as error:
        raise UserError([said("of_file", file=str(reader.reading), what=error.what)]) from None
    if rows.opening is None:
        raise UserError([said("no_session_in_it", path=str(journal))])
    size = sum(RealDisk().size(part) or 0 for part in reader.parts)
    return rows, rows.end(reader.head.seq, reader.head.hash, size)


def _head(connection: Connection, session: str) -> tuple[int, str] | None:
    wanted = select(SESSIONS.c.records, SESSIONS.c.head_hash)
    row = connection.execute(wanted.where(SESSIONS.c.session == session)).first()
    return None if row is None else (int(row[0]), str(row[1]))


def _engine(url: str | URL) -> Engine:
    """An engine whose SQLite transactions begin as what they are."""
    engine = create_engine(url)
    if engine.dialect.name == "sqlite":

        @event.listens_for(engine, "connect")
        def _plain(raw: Any, _: object) -> None:  # noqa: ANN401  the driver's connection
            raw.isolation_level = None  # we begin transactions ourselves
            raw.execute(f"PRAGMA busy_timeout = {int(BUSY_S * 1000)}")
            raw.execute("PRAGMA foreign_keys = ON")

        @event.listens_for(engine, "begin")
        def _begin(connection: Connection) -> None:
            writing = connection.get_execution_options().get("writing")
            connection.exec_driver_sql("BEGIN IMMEDIATE" if writing else "BEGIN")

    return engine
