"""The index: built from journals alone, taken twice without harm, never from a rewritten one."""

import sqlite3
import threading

import pytest
from sqlalchemy import create_engine, select

from barrelfit.acquire.errors import UserError
from barrelfit.acquire.index.search import SearchWanted, found_rows, line_of_row, open_index
from barrelfit.acquire.index.store import Store, rebuild, update
from barrelfit.acquire.index.tables import (
    DECISIONS,
    ENTRIES,
    OVERRIDES,
    PARTS,
    SESSIONS,
    SIZES,
    VERDICTS,
)
from barrelfit.acquire.index.witnesses import witnesses
from barrelfit.acquire.journal.disk import RealDisk
from barrelfit.acquire.journal.events import SessionClosed
from barrelfit.acquire.journal.lines import Head, after, seal
from barrelfit.acquire.journal.override_events import Overridden
from barrelfit.acquire.journal.session import INDEX_NAME, Session
from barrelfit.acquire.journal.verify import verify_journal
from barrelfit.rules.events import EntryMade, Sized
from barrelfit.rules.model import FeatureId
from tests.acquire.recorded import SET, Recording, opening, record_set
from tests.spoken import problems_of, text_of

OVERRIDDEN = (
    SET
    + """
[[override]]
quantity = "skirt.wear_max"
part = "P2"
value = 0.095
signed_by = "B. Jones"
why = "customer's wish"
"""
)


@pytest.fixture(scope="module")
def recorded(tmp_path_factory):
    """Three sessions of two jobs, two of them cut short."""
    folder = tmp_path_factory.mktemp("sessions")
    record_set(folder, opening(session="b1-20261101T000000Z", job="job-1"), features=5, how="")
    record_set(
        folder, opening(session="b1-20261102T000000Z", job="job-2", serial="0007"), features=3
    )
    recording = Recording(folder / "b2.jsonl", opening(session="b2", job="job-1"))
    for text in ("84.938", "84.938"):  # two equal values are two
        skirt = FeatureId("P1", "skirt")
        recording.input(EntryMade(recording.t_ns, skirt, text, "mm", "A. Smith"))
    recording.close("stopped")
    return folder


@pytest.fixture
def folder(recorded, tmp_path):
    for path in recorded.glob("*.jsonl"):
        (tmp_path / path.name).write_bytes(path.read_bytes())
    return tmp_path


@pytest.fixture
def store(folder):
    made = Store(folder / INDEX_NAME)
    assert update(made, folder) == []
    yield made
    made.close()


def rewritten(path, replaced, records=None):
    """The journal with one event replaced, its chain made anew; `records` keeps only so many."""
    head, out = Head(), []
    for record in Session.open(path).records():
        event = replaced(record.event)
        from barrelfit.acquire.journal.lines import Stamp  # noqa: PLC0415

        line = seal(head, event, Stamp(record.t_ns, record.utc), record.because)
        head = after(head, line)
        out.append(line)
        if records == head.seq:
            break
    path.write_bytes(b"".join(out))


def test_sessions_parts_sizes_and_verdicts_are_there(store):
    sessions = store.rows(select(SESSIONS).order_by(SESSIONS.c.session))
    assert [(s["session"], s["job"], s["ended"]) for s in sessions] == [
        ("b1-20261101T000000Z", "job-1", ""),
        ("b1-20261102T000000Z", "job-2", "done"),
        ("b2", "job-1", "stopped"),
    ]
    assert all(s["readings"] > 0 for s in sessions[:2])
    serials = store.rows(select(PARTS.c.serial).where(PARTS.c.part == "P1"))
    assert sorted(row["serial"] for row in serials) == ["0007", "K-100", "K-100"]  # texts stay
    assert len(store.rows(select(SIZES).where(SIZES.c.session.like("b1%")))) == 10  # P2 twice
    assert store.rows(select(VERDICTS))


def test_two_equal_values_with_different_seq_are_two(store):
    entries = store.rows(select(ENTRIES))
    assert [e["text"] for e in entries] == ["84.938", "84.938"]
    assert len({e["seq"] for e in entries}) == 2


def test_rows_carry_the_hash_of_their_journal_line(store, folder):
    row = store.rows(select(SIZES).order_by(SIZES.c.session, SIZES.c.seq))[0]
    lines = (folder / f"{row['session']}.jsonl").read_bytes().splitlines(keepends=True)
    head = Head()
    for line in lines[: row["seq"]]:
        head = after(head, line)
    assert row["line_hash"] == head.hash


def test_taking_a_journal_twice_changes_nothing(store, folder):
    before = store.text()
    for path in folder.glob("*.jsonl"):
        assert store.take(path) is False
    assert update(store, folder) == []
    assert store.text() == before


@pytest.mark.slow
def test_a_journal_that_grew_is_taken_on(folder):
    path = folder / "b1-20261102T000000Z.jsonl"
    whole = path.read_bytes()
    short = whole.splitlines(keepends=True)
    path.write_bytes(b"".join(short[:60]))
    store = Store(folder / INDEX_NAME)
    update(store, folder)
    assert store.head_of("b1-20261102T000000Z")[0] == 60
    path.write_bytes(whole)
    assert update(store, folder) == []
    grown = store.text()
    store.close()
    rebuild(folder / INDEX_NAME, folder)
    again = Store(folder / INDEX_NAME)
    assert again.text() == grown
    again.close()


@pytest.mark.slow
def test_a_rebuilt_index_is_equal_to_the_byte(folder):
    made = []
    for name in ("one.sqlite", "two.sqlite"):
        assert rebuild(folder / name, folder) == []
        made.append((folder / name).read_bytes())
    assert made[0] == made[1]


def test_a_changed_record_stops_the_taking_by_name(store, folder):
    path = folder / "b1-20261101T000000Z.jsonl"
    before = store.text()

    def change(event):
        if isinstance(event, Sized) and event.at.part == "P2":
            from dataclasses import replace  # noqa: PLC0415

            return replace(event, size_nm=event.size_nm + 50_000)
        return event

    rewritten(path, change)
    assert verify_journal(path, RealDisk()).outcome == "whole"  # consistent in itself
    with pytest.raises(UserError, match=r"b1-20261101T000000Z\.jsonl: line \d+ or one before"):
        store.take(path)
    assert store.text() == before
    found = verify_journal(path, RealDisk(), witnesses(path, [], []))
    assert found.outcome == "altered"
    assert "the index" in text_of(found.problem)


def test_a_shortened_journal_stops_the_taking(store, folder):
    path = folder / "b1-20261101T000000Z.jsonl"
    rewritten(path, lambda event: event, records=30)
    with pytest.raises(UserError, match="now 30; nothing of it was taken"):
        store.take(path)
    assert len(update(store, folder)) == 1


def test_a_damaged_journal_is_named_and_the_others_are_taken(folder):
    path = folder / "b1-20261101T000000Z.jsonl"
    path.write_bytes(path.read_bytes().replace(b"84.", b"85.", 1))
    store = Store(folder / INDEX_NAME)
    (problem,) = update(store, folder)
    assert "b1-20261101T000000Z.jsonl: line" in text_of(problem)
    assert len(store.rows(select(SESSIONS))) == 2
    store.close()


def test_a_journal_without_a_session(folder):
    (folder / "empty.jsonl").write_bytes(b"")
    store = Store(folder / INDEX_NAME)
    assert "no session was opened" in text_of(update(store, folder)[0])
    store.close()


def test_a_set_that_is_not_understood_is_found_by_its_job(folder):
    recording = Recording(folder / "b3.jsonl", opening(session="b3"))
    recording.close("stopped")

    def strange(event):
        import msgspec  # noqa: PLC0415

        is_opening = hasattr(event, "set_text")
        return msgspec.structs.replace(event, set_text="schema = 99\n") if is_opening else event

    rewritten(folder / "b3.jsonl", strange)
    store = Store(folder / INDEX_NAME)
    assert update(store, folder) == []
    assert len(store.rows(select(SESSIONS).where(SESSIONS.c.session == "b3"))) == 1
    assert store.rows(select(PARTS).where(PARTS.c.session == "b3")) == []
    store.close()


def test_signed_overrides_are_in_the_index(folder):
    text = OVERRIDDEN.format(job="job-9", serial="K-1")
    Recording(folder / "b4.jsonl", opening(session="b4", set_text=text)).close("stopped")
    store = Store(folder / INDEX_NAME)
    assert update(store, folder) == []
    (row,) = store.rows(select(OVERRIDES))
    assert (row["part"], row["value_nm"], row["signed_by"]) == ("P2", 95_000, "B. Jones")
    store.close()


def test_a_lead_s_decision_stands_beside_the_verdict(folder):
    recording = Recording(folder / "b5.jsonl", opening(session="b5", serial="K-5"))
    for who, verdict in (("B. Jones", "rework"), ("C. Clark", "discard")):
        decided = Overridden("P1", verdict, "undecided", 5, who, "seen by eye", "r")
        recording.journal.append(decided)
    recording.close("stopped")
    store = Store(folder / INDEX_NAME)
    assert update(store, folder) == []
    assert len(store.rows(select(DECISIONS))) == 2
    (row,) = found_rows(store, wanted(part="K-5"))
    assert (row["verdict"], row["decided"], row["decided_by"]) == (
        "undecided",
        "discard",
        "C. Clark",
    )
    assert "overridden by C. Clark: discard" in text_of(line_of_row(row))
    store.close()


# ---------------------------------------------------------------- the database


@pytest.mark.slow
def test_a_writer_never_begins_as_a_reader(store, folder):
    # a transaction that has read and then wants to write is refused at once, whatever its
    # timeout, when somebody else has written in between: ours begin as writers and wait
    other = sqlite3.connect(folder / INDEX_NAME, isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    other.execute("UPDATE sessions SET who = 'somebody'")
    (folder / "b2.jsonl").write_bytes(
        (folder / "b2.jsonl").read_bytes() + closing_line(folder / "b2.jsonl")
    )
    done = threading.Event()
    problems = []

    def take():
        try:
            mine = Store(folder / INDEX_NAME)
            mine.take(folder / "b2.jsonl")
            mine.close()
        except Exception as error:  # noqa: BLE001  whatever it is, the test must hear of it
            problems.append(error)
        done.set()

    thread = threading.Thread(target=take)
    thread.start()
    assert not done.wait(0.2)
    other.execute("COMMIT")
    other.close()
    assert done.wait(20)
    thread.join()
    assert problems == []


def closing_line(path):
    head = Head()
    last = None
    for record in Session.open(path).records():
        last = record
    from barrelfit.acquire.journal.lines import Stamp  # noqa: PLC0415

    for line in path.read_bytes().splitlines(keepends=True):
        head = after(head, line)
    return seal(head, SessionClosed("stopped"), Stamp(last.t_ns, last.utc))


def test_readers_do_not_lock_writers_out(store, folder):
    with store._engine.connect() as reading:
        reading.execute(select(SESSIONS)).all()
        other = sqlite3.connect(folder / INDEX_NAME, isolation_level=None, timeout=0)
        other.execute("BEGIN IMMEDIATE")
        other.execute("ROLLBACK")
        other.close()


def test_an_index_of_another_version_is_refused(folder):
    Store(folder / INDEX_NAME).close()
    engine = create_engine(f"sqlite:///{folder / INDEX_NAME}")
    with engine.begin() as connection:
        connection.exec_driver_sql("UPDATE about SET schema = 99")
    engine.dispose()
    with pytest.raises(UserError, match="version 99"):
        Store(folder / INDEX_NAME)
    made, problems = open_index(folder, "", anew=True)
    assert problems == []
    made.close()


def test_a_file_that_is_no_index_is_one_sentence(folder):
    (folder / INDEX_NAME).write_bytes(b"hello" * 1000)
    with pytest.raises(UserError, match=r"can't be used .*may be deleted"):
        Store(folder / INDEX_NAME)
    with pytest.raises(UserError, match="can't be used"):
        witnesses(folder / "b2.jsonl", [], [])
    with pytest.raises(UserError, match="can't be used"):
        Store("nonsense:///x")


def test_a_folder_with_an_odd_name(folder):
    odd = folder / "job #7 100% ?a=b"
    odd.mkdir()
    (odd / "b2.jsonl").write_bytes((folder / "b2.jsonl").read_bytes())
    made, problems = open_index(odd, "", anew=False)
    assert problems == []
    made.close()
    assert len(witnesses(odd / "b2.jsonl", [], [])) == 1
    assert (odd / INDEX_NAME).is_file()


def test_verifying_only_reads_the_index(store, folder):
    before = (folder / INDEX_NAME).read_bytes()
    (folder / INDEX_NAME).chmod(0o444)
    claims = witnesses(folder / "b2.jsonl", [], [])
    assert [text_of(c.source) for c in claims] == [f"the index {INDEX_NAME}"]
    assert verify_journal(folder / "b2.jsonl", RealDisk(), claims).confirmed == (claims[0].source,)
    assert (folder / INDEX_NAME).read_bytes() == before


# ---------------------------------------------------------------- finding


def wanted(**given):
    return SearchWanted.of(
        **{"part": "", "job": "", "verdict": "", "since": "", "until": ""} | given
    )


@pytest.mark.parametrize(
    ("given", "sessions"),
    [
        ({"part": "0007"}, {"b1-20261102T000000Z"}),
        ({"part": "K-101"}, {"b1-20261101T000000Z", "b1-20261102T000000Z", "b2"}),
        ({"part": "B1", "job": "job-1"}, {"b1-20261101T000000Z", "b2"}),
        ({"verdict": "discard"}, {"b1-20261101T000000Z", "b1-20261102T000000Z"}),
        ({"since": "2026-11-25", "until": "2026-11-25", "job": "2"}, {"b1-20261102T000000Z"}),
        ({"until": "2026-11-24"}, set()),
        ({"since": "2026-11-26"}, set()),
        ({"part": "%"}, set()),
    ],
)
def test_sessions_are_found(store, given, sessions):
    assert {row["session"] for row in found_rows(store, wanted(**given))} == sessions


def test_the_last_verdict_counts(store):
    rows = found_rows(store, wanted(part="P1", job="job-1"))
    assert [row["verdict"] for row in rows if row["session"].startswith("b1")] == ["serviceable"]


def test_wrong_questions_are_refused_all_at_once():
    with pytest.raises(UserError) as caught:
        wanted(verdict="nice", since="yesterday", until="2026-13-01")
    assert len(problems_of(caught.value)) == 3


def test_a_folder_that_is_not_there(tmp_path):
    with pytest.raises(UserError, match="no such folder"):
        open_index(tmp_path / "nowhere", "", anew=False)
