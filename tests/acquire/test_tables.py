"""Tables of a session: exact lengths, units in the names, one kind of thing in a column."""

import csv

import pandas as pd
import pyarrow.parquet as pq
import pytest

from barrelfit.acquire.errors import UserError
from barrelfit.acquire.journal.events import FaultSeen, ReadingTaken
from barrelfit.acquire.journal.session import Session
from barrelfit.acquire.journal.tables import TABLES, mm_text, save
from barrelfit.rules.events import Judged, Sized
from tests.acquire.recorded import Recording, opening, sweep


@pytest.fixture(scope="module")
def session(tmp_path_factory):
    folder = tmp_path_factory.mktemp("sessions")
    recording = Recording(folder / "s.jsonl", opening(session="s"))
    sweep(recording, seed=1)
    recording.send("micrometer", b"ERR3\r\n")
    sweep(recording, seed=2)
    recording.close("stopped")
    return Session.open(folder / "s.jsonl")


@pytest.mark.parametrize(
    ("length_nm", "text"),
    [
        (0, "0.000000"),
        (12_345_000, "12.345000"),
        (-13_000, "-0.013000"),
        (-12_345_001, "-12.345001"),
        (1, "0.000001"),
        (25_400_000, "25.400000"),
    ],
)
def test_lengths_are_exact_text(length_nm, text):
    assert mm_text(length_nm) == text


def test_readings_and_faults_are_rows_and_never_share_a_column(session):
    frame = session.frame()
    events = [r.event for r in session.records() if isinstance(r.event, ReadingTaken | FaultSeen)]
    assert len(frame) == len(events)
    faults = frame[frame["status"] == "out of range"]
    if faults.empty:  # the profile's own word for it
        faults = frame[frame["length_nm"].isna()]
    assert len(faults) == 1
    fault = faults.iloc[0]
    assert (fault["length_mm"], fault["value_shown"], fault["unit_shown"]) == ("", "", "")
    assert bytes.fromhex(fault["raw_hex"]) == b"ERR3\r\n"
    first = next(e for e in events if isinstance(e, ReadingTaken))
    row = frame.iloc[0]
    assert (row["length_nm"], row["value_shown"]) == (first.length_nm, first.value)
    assert row["length_mm"] == mm_text(first.length_nm)


def test_columns_have_one_kind_each(session):
    kinds = {name: str(kind) for name, kind in session.frame("sizes").dtypes.items()}
    assert kinds["seq"] == "int64"
    assert kinds["utc"] == "datetime64[us, UTC]"
    assert kinds["size_nm"] == "Int64"
    assert kinds["standard_uncertainty_nm"] == "float64"
    assert kinds["size_mm"] == kinds["part"] == "str"


def test_sizes_and_verdicts_match_the_journal(session):
    sizes = [r.event for r in session.records() if isinstance(r.event, Sized)]
    frame = session.frame("sizes")
    assert list(frame["size_nm"]) == [s.size_nm for s in sizes]
    assert list(frame["size_mm"]) == [mm_text(s.size_nm) for s in sizes]
    verdicts = session.frame("verdicts")
    judged = [r.event for r in session.records() if isinstance(r.event, Judged)]
    assert len(verdicts) == sum(max(1, len(j.findings)) for j in judged)
    assert not verdicts["verdict"].isin(["nan", "None"]).any()


def test_every_length_column_names_its_unit(session):
    for table, (columns, _) in TABLES.items():
        lengths = [c for c in columns if columns[c] is not str]
        assert all(c.endswith("_nm") for c in lengths), table
        assert len(session.frame(table).columns) == len(columns) + 3


@pytest.mark.parametrize("table", TABLES)
def test_an_empty_session_gives_empty_tables_with_the_same_columns(table, tmp_path):
    Recording(tmp_path / "e.jsonl", opening(session="e")).journal.close()
    empty = Session.open(tmp_path / "e.jsonl")
    assert list(empty.frame(table).columns)[:3] == ["seq", "utc", "t_ns"]


def test_csv_keeps_exact_text_and_six_decimals(session, tmp_path):
    frame = session.frame("readings")
    save(frame, tmp_path / "r.csv")
    with (tmp_path / "r.csv").open(newline="", encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    assert len(rows) == len(frame)
    row = rows[0]
    assert row["length_mm"] == frame["length_mm"].iloc[0]
    assert len(row["utc"]) == len("2026-11-25T01:02:03.123456Z")
    assert row["utc"].endswith("Z")
    first = next(r for r in session.records() if isinstance(r.event, ReadingTaken))
    assert row["utc"] == first.utc
    assert (tmp_path / "r.csv").read_bytes().count(b"\r\n") == len(frame) + 1


def test_whole_seconds_keep_their_decimals(tmp_path):
    frame = pd.DataFrame({"utc": pd.to_datetime(["2026-11-25T01:02:03Z"], utc=True)})
    save(frame, tmp_path / "t.csv")
    assert b"2026-11-25T01:02:03.000000Z" in (tmp_path / "t.csv").read_bytes()


def test_parquet_comes_back_equal(session, tmp_path):
    for table in TABLES:
        frame = session.frame(table)
        save(frame, tmp_path / "t.parquet")
        pd.testing.assert_frame_equal(pd.read_parquet(tmp_path / "t.parquet"), frame)
    assert "timestamp[us, tz=UTC]" in str(pq.read_schema(tmp_path / "t.parquet").field("utc").type)


def test_what_can_not_be_written_is_said(session, tmp_path):
    frame = session.frame("sizes")
    for path, says in (
        (tmp_path / "t.xls", "ends in .csv or .parquet"),
        (tmp_path / "no" / "t.csv", "directory"),
        (tmp_path / "no" / "t.parquet", "directory"),
    ):
        with pytest.raises(UserError, match=says):
            save(frame, path)
    with pytest.raises(UserError, match="no table 'dreams'"):
        session.frame("dreams")


@pytest.mark.slow
def test_a_whole_set_has_all_its_sizes(whole_set):
    frame = Session.open(whole_set).frame("sizes")
    assert len(frame) == 29  # P2 twice
    assert set(frame["depth"]) == {"", "top", "middle", "bottom"}
