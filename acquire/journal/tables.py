"""Tables of a session for pandas, CSV and Parquet: units in the columns' names, lengths exact.

A length stands twice: as exact text in mm (six decimals, a whole number of nm) and as whole nm. A
mass stands as exact text in g.
A row without a value has an empty cell and says why in `status`: one column never mixes numbers
and words. Times are UTC with six decimals.
"""

from collections.abc import Callable, Iterable, Iterator
from decimal import Decimal
from pathlib import Path
from typing import Any, Final

import msgspec
import pandas as pd

from barrelfit.acquire.errors import UserError
from barrelfit.acquire.journal.codec import Record
from barrelfit.acquire.journal.events import FaultSeen, MassTaken, ReadingTaken, kind_of
from barrelfit.acquire.streams import is_standard, write_bytes
from barrelfit.drivers.quantity import UNIT_FG
from barrelfit.rules.events import Judged, Sized
from barrelfit.rules.length import number
from barrelfit.rules.manner import told
from barrelfit.rules.said import said
from barrelfit.rules.told import FactHeld, FactTaken

UTC_FORMAT: Final = "%Y-%m-%dT%H:%M:%S.%fZ"

Row = tuple[object, ...]


def gram_text(mass_fg: int) -> str:
    """A mass in g with every decimal that it has."""
    return f"{(Decimal(mass_fg) / UNIT_FG['g']).normalize():f}"


def mm_text(length_nm: int) -> str:
    """Exact text of a length in mm, always six decimals: 12_345_000 nm is `12.345000`."""
    return number(length_nm, "mm", 6)


def frame_of(records: Iterable[Record], table: str) -> pd.DataFrame:
    """Make a table of a session's records.

    Args:
        records: all of them, in order.
        table: one of `TABLES`.

    Raises:
        UserError: there is no such table.
    """
    if table not in TABLES:
        raise UserError([said("no_such_table", table=table, tables=tuple(TABLES))])
    columns, rows_of = TABLES[table]
    rows = [_stamp(r) + row for r in records for row in rows_of(r)]
    names = ("seq", "utc", "t_ns", *columns)
    frame = pd.DataFrame.from_records(rows, columns=list(names))
    frame["utc"] = pd.to_datetime(frame["utc"], format=UTC_FORMAT, utc=True).astype(
        "datetime64[us, UTC]"
    )
    for name in names:
        if name == "seq" or name.endswith("_ns"):
            frame[name] = frame[name].astype("int64")
        elif name.endswith("_nm") and columns[name] is int:
            frame[name] = frame[name].astype("Int64")
        elif name.endswith("_nm"):
            frame[name] = frame[name].astype("float64")
        elif name != "utc":
            frame[name] = frame[name].astype("str")
    return frame


def save(frame: pd.DataFrame, path: Path) -> None:
    """Write a table as CSV (RFC 4180, UTF-8) or Parquet, by the file's ending; to `-` as CSV.

    Raises:
        UserError: the ending says neither, or the file can't be written.
    """
    if is_standard(path):
        text = frame.to_csv(index=False, date_format=UTC_FORMAT, lineterminator="\r\n")
        write_bytes(path, text.encode())
        return
    try:
        if path.suffix == ".csv":
            frame.to_csv(path, index=False, date_format=UTC_FORMAT, lineterminator="\r\n")
        elif path.suffix == ".parquet":
            frame.to_parquet(path, index=False)
        else:
            raise UserError([said("write_csv_or_parquet", path=str(path))])
    except OSError as error:
        raise UserError(
            [said("of_file", file=str(path), what=str(error.strerror or error))]
        ) from None


def _stamp(record: Record) -> Row:
    return record.seq, record.utc, record.t_ns


def _readings(record: Record) -> Iterator[Row]:
    event = record.event
    if isinstance(event, ReadingTaken):
        status = event.suspect or "reading"
        length = (mm_text(event.length_nm), event.length_nm, event.value, event.unit)
        yield event.gauge, *length, "", status, event.channel, event.judgement, event.raw
    elif isinstance(event, MassTaken):
        status = event.suspect or "reading"
        mass = (event.value, event.unit, gram_text(event.mass_fg))
        yield event.gauge, "", None, *mass, status, event.channel, event.judgement, event.raw
    elif isinstance(event, FaultSeen):
        yield event.gauge, "", None, "", "", "", event.fault, event.channel, "", event.raw


def _sizes(record: Record) -> Iterator[Row]:
    event = record.event
    if isinstance(event, Sized):
        at = event.at
        lengths = (event.size_nm, event.low_nm, event.high_nm, event.read_nm)
        yield (
            at.part,
            at.feature,
            at.depth,
            at.direction,
            *map(mm_text, lengths),
            *lengths,
            event.u_nm,
            event.estimator,
            event.rank,
            event.source,
        )


def _verdicts(record: Record) -> Iterator[Row]:
    event = record.event
    if isinstance(event, Judged):
        for finding in event.findings or (None,):
            about = (event.about, event.verdict.value, told(event.todo))
            if finding is None:
                yield (*about, "", "", "", "", None, "", None, "")
                continue
            value, limit = finding.value_nm, finding.limit_nm
            yield (
                *about,
                finding.code,
                finding.severity.name.lower(),
                told(finding.sentence),
                "" if value is None else mm_text(value),
                value,
                "" if limit is None else mm_text(limit),
                limit,
                told(finding.limit_from),
            )


def _facts(record: Record) -> Iterator[Row]:
    event = record.event
    if isinstance(event, FactTaken | FactHeld):
        at, taken = event.at, isinstance(event, FactTaken)
        said = (event.by, event.why) if isinstance(event, FactTaken) else ("", told(event.sentence))
        place = (at.part, at.feature, at.depth, at.direction)
        yield *place, event.value, event.before, event.who, *said, "taken" if taken else "held"


def _events(record: Record) -> Iterator[Row]:
    because = "" if record.because is None else str(record.because)
    yield kind_of(type(record.event)), because, msgspec.json.encode(record.event).decode()


Columns = dict[str, type]

TABLES: Final[dict[str, tuple[Columns, Callable[[Record], Iterator[Any]]]]] = {
    "readings": (
        {
            "gauge": str,
            "length_mm": str,
            "length_nm": int,
            "value_shown": str,
            "unit_shown": str,
            "mass_g": str,
            "status": str,
            "channel": str,
            "gauge_judgement": str,
            "raw_hex": str,
        },
        _readings,
    ),
    "sizes": (
        {
            "part": str,
            "feature": str,
            "depth": str,
            "direction": str,
            "size_mm": str,
            "low95_mm": str,
            "high95_mm": str,
            "read_mm": str,
            "size_nm": int,
            "low95_nm": int,
            "high95_nm": int,
            "read_nm": int,
            "standard_uncertainty_nm": float,
            "estimator": str,
            "rank": str,
            "source": str,
        },
        _sizes,
    ),
    "verdicts": (
        {
            "about": str,
            "verdict": str,
            "todo": str,
            "code": str,
            "severity": str,
            "finding": str,
            "value_mm": str,
            "value_nm": int,
            "limit_mm": str,
            "limit_nm": int,
            "limit_from": str,
        },
        _verdicts,
    ),
    "facts": (
        {
            "part": str,
            "key": str,
            "ring": str,
            "leaf_mm": str,
            "value": str,
            "before": str,
            "who": str,
            "by": str,
            "why": str,
            "status": str,
        },
        _facts,
    ),
    "events": ({"kind": str, "because": str, "data": str}, _events),
}
"""Name of a table -> its columns after seq, utc and t_ns, and the rows a record gives."""
