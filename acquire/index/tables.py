"""The index's tables: what can be asked about sessions without reading their journals.

Everything in them comes from journals and can be thrown away and built anew. Lengths are whole
nm; texts such as serial numbers stay texts. (session, seq) is a record's identity: two equal
values with different seq are two.
"""

from typing import Final

from sqlalchemy import (
    BigInteger,
    Boolean,
    Column,
    Float,
    ForeignKey,
    Integer,
    MetaData,
    Table,
    Text,
)

SCHEMA: Final = 3

METADATA: Final = MetaData()

ABOUT: Final = Table("about", METADATA, Column("schema", Integer, primary_key=True))

SESSIONS: Final = Table(
    "sessions",
    METADATA,
    Column("session", Text, primary_key=True),
    Column("file", Text, nullable=False),
    Column("bench", Text, nullable=False),
    Column("job", Text, nullable=False),
    Column("who", Text, nullable=False),
    Column("opened_utc", Text, nullable=False),
    Column("last_utc", Text, nullable=False),
    Column("ended", Text, nullable=False),  # how it was closed; empty: not closed
    Column("sheet", Text, nullable=False),
    Column("code_version", Text, nullable=False),
    Column("simulated", Boolean, nullable=False),
    Column("signed_by", Text, nullable=False),
    Column("readings", BigInteger, nullable=False),
    Column("faults", BigInteger, nullable=False),
    Column("records", BigInteger, nullable=False),
    Column("bytes", BigInteger, nullable=False),
    Column("head_hash", Text, nullable=False),
)

_RECORD_KEY = (
    lambda: Column("session", Text, ForeignKey("sessions.session"), primary_key=True),
    lambda: Column("seq", BigInteger, primary_key=True),
)


def _records(name: str, *columns: "Column[object]") -> Table:
    """A table of records: identity, hash of the journal's line, time, then its own columns."""
    return Table(
        name,
        METADATA,
        *(make() for make in _RECORD_KEY),
        Column("line_hash", Text, nullable=False),
        Column("utc", Text, nullable=False),
        *columns,
    )


SIZES: Final = _records(
    "sizes",
    Column("part", Text, nullable=False, index=True),
    Column("feature", Text, nullable=False),
    Column("depth", Text, nullable=False),
    Column("direction", Text, nullable=False),
    Column("size_nm", BigInteger, nullable=False),
    Column("low_nm", BigInteger, nullable=False),
    Column("high_nm", BigInteger, nullable=False),
    Column("u_nm", Float, nullable=False),
    Column("estimator", Text, nullable=False),
    Column("source", Text, nullable=False),
    # Not measured again since, nor taken back; null: an older version took it, and its journal has
    # not been there since.
    Column("stands", Boolean),
)

VERDICTS: Final = _records(
    "verdicts",
    Column("about", Text, nullable=False, index=True),
    Column("verdict", Text, nullable=False, index=True),
    Column("reasons", Text, nullable=False),
    Column("todo", Text, nullable=False),
)

DECISIONS: Final = _records(
    "decisions",
    Column("about", Text, nullable=False, index=True),
    Column("verdict", Text, nullable=False),
    Column("was", Text, nullable=False),
    Column("who", Text, nullable=False),
    Column("reason", Text, nullable=False),
)
"""A lead's decisions against a verdict; the verdict stays beside them."""

ENTRIES: Final = _records(
    "entries",
    Column("part", Text, nullable=False, index=True),
    Column("feature", Text, nullable=False),
    Column("text", Text, nullable=False),
    Column("unit", Text, nullable=False),
    Column("who", Text, nullable=False),
    Column("why", Text, nullable=False),
)

FACTS: Final = _records(
    "facts",
    Column("part", Text, nullable=False, index=True),
    Column("fact", Text, nullable=False),
    Column("value", Text, nullable=False),
    Column("before", Text, nullable=False),
    Column("who", Text, nullable=False),
    Column("by", Text, nullable=False),
    Column("why", Text, nullable=False),
    Column("stands", Boolean, nullable=False),  # nothing else was told there since
)
"""What was told of parts in a session, one row a fact that was taken."""

PARTS: Final = Table(
    "parts",
    METADATA,
    Column("session", Text, ForeignKey("sessions.session"), primary_key=True),
    Column("part", Text, primary_key=True),
    Column("kind", Text, nullable=False),
    Column("serial", Text, nullable=False, index=True),
    Column("stamps", Text, nullable=False),
)

OVERRIDES: Final = Table(
    "overrides",
    METADATA,
    Column("session", Text, ForeignKey("sessions.session"), primary_key=True),
    Column("number", Integer, primary_key=True),
    Column("quantity", Text, nullable=False),
    Column("part", Text, nullable=False),
    Column("value_nm", BigInteger, nullable=False),
    Column("signed_by", Text, nullable=False),
    Column("why", Text, nullable=False),
)
