"""Which session is gone on with, by which version, whatever the wall clock says."""

from datetime import timedelta

import pytest

from barrelfit.acquire.bench import open_session as opening_of
from barrelfit.acquire.bench.earlier_sessions import free_name, last_session
from barrelfit.acquire.bus.link_file import BenchKeys
from barrelfit.acquire.inputs.setup import setup_of
from barrelfit.acquire.journal.events import GaugeChanged, SessionClosed, VersionChanged
from barrelfit.acquire.journal.record_events import SessionFollows
from barrelfit.acquire.journal.session import Session
from barrelfit.acquire.redo.redo import Redo
from barrelfit.acquire.redo.redo_journal import redo_session, wire_of
from tests.acquire.daemon_parts import Ticks
from tests.acquire.test_opening import opened, text_of
from tests.spoken import text_of as spoken

DAY = timedelta(days=1)


class SetClock(Ticks):
    """A clock whose wall time is put forward and back."""

    set_by = timedelta(0)

    def utc(self):
        return super().utc() + self.set_by


class Shop:
    def __init__(self, folder, port):
        self.folder, self.port, self.clock = folder, port, SetClock()

    def run(self, *, close=False, fresh=False, **said):
        """Open a session a second after the last, record one event; gives its name."""
        self.clock.now_ns += 1_000_000_000
        opening = opened(text_of(self.port, **said), self.clock)
        session = opening_of.open_session(
            opening, self.folder, self.clock, BenchKeys(), fresh=fresh
        )
        session.recorder.record(GaugeChanged("m", 1, "present"))
        session.recorder.close(SessionClosed("done") if close else None)
        return session.id

    def events(self, name):
        return [r.event for r in Session.open(self.folder / f"{name}.jsonl").records()]


@pytest.fixture
def shop(tmp_path, terminal):
    return Shop(tmp_path, terminal)


def test_a_clock_that_ran_ahead_leaves_no_set_behind(shop):
    shop.clock.set_by = 400 * DAY
    ahead = shop.run(close=True)
    shop.clock.set_by = 0 * DAY
    killed = shop.run()
    assert killed < ahead
    assert shop.run() == killed
    shop.clock.set_by = -400 * DAY
    assert shop.run(close=True) == killed
    assert shop.run() not in {killed, ahead}


def test_a_session_that_another_bench_file_leaves_unfinished_is_named(shop, caplog):
    first = shop.run(job="a")
    assert not caplog.text
    second = shop.run(job="b")
    assert second != first
    assert f"{first}.jsonl was not finished, and stays as it is" in caplog.text
    caplog.clear()
    assert shop.run(job="b", close=True) == second
    shop.run(job="c")
    assert not caplog.text


def test_each_session_names_the_one_before(shop):
    first = shop.run()
    second = shop.run(fresh=True)
    shop.clock.set_by = -DAY
    third = shop.run(fresh=True)
    assert third < first < second
    before = [shop.events(name)[1] for name in (first, second, third)]
    assert before == [SessionFollows(""), SessionFollows(first), SessionFollows(second)]
    assert last_session("stand", shop.folder).stem == third
    assert shop.run() == third


def test_a_clock_put_back_to_the_very_second_of_an_older_session(shop):
    first = shop.run(close=True)
    shop.clock.set_by -= timedelta(seconds=1)
    second = shop.run(close=True)
    assert second != first
    assert free_name(first, shop.folder) not in {first, second}


def test_a_session_that_was_only_begun_to_be_written_hides_none(shop):
    killed = shop.run()
    shop.clock.now_ns += 60_000_000_000
    torn = killed.replace("T", "T9", 1)[: len(killed)]
    (shop.folder / f"{torn}.jsonl").touch()
    assert shop.run() == killed


def test_sessions_of_older_versions_go_by_their_names(shop, monkeypatch):
    monkeypatch.setattr(opening_of, "SessionFollows", lambda _: GaugeChanged("m", 1, "present"))
    shop.run(close=True)
    latest = shop.run()
    monkeypatch.undo()
    assert shop.run() == latest


def test_another_version_that_goes_on_is_an_event_and_redo_names_it(shop, monkeypatch):
    name = shop.run()
    assert not any(isinstance(e, VersionChanged) for e in shop.events(name))
    monkeypatch.setattr(opening_of, "CODE_VERSION", "9.9.9")
    assert shop.run() == name
    assert shop.run() == name
    changes = [e for e in shop.events(name) if isinstance(e, VersionChanged)]
    ours = shop.events(name)[0].code_version
    assert changes == [VersionChanged(ours, "9.9.9")]
    session = Session.open(shop.folder / f"{name}.jsonl")
    assert redo_session(session).difference is None
    redo = Redo(setup_of, wire_of, ours)
    for records in session.blocks():
        redo.take(records)
    why = spoken(redo._why(None, None))
    assert why.startswith(f"recorded by barrelfit {ours}, from record ")
    assert "on by 9.9.9, redone by" in why
