"""A session as it was: every kind of record has words, and time passes as it did."""

from barrelfit.acquire.journal.codec import RECORD_TYPES
from barrelfit.acquire.journal.events import ReadingTaken, SessionClosed, SessionResumed
from barrelfit.acquire.journal.lines import Scanner
from barrelfit.acquire.journal.sentences import line_of, shown
from tests.acquire.journal_samples import EVENTS, lines

RECORDS = Scanner().feed(b"".join(lines()))
S = 1_000_000_000


def record(event, seconds):
    utc = "2026-11-25T01:02:03.000000Z"
    return RECORD_TYPES[type(event)](1, 1, None, round(seconds * S), utc, event, "", "")


def test_every_record_is_one_line():
    for made in RECORDS:
        line = line_of(made)
        assert line.startswith(f"{made.seq:>7}  01:02:03.")
        assert line.isprintable()


def test_findings_are_shown_and_readings_on_request():
    short = [r.event for _, r in shown(RECORDS, 0.0, readings=False)]
    assert not any(isinstance(event, ReadingTaken) for event in short)
    assert [r.event for _, r in shown(RECORDS, 0.0, readings=True)] == EVENTS


def test_time_passes_as_it_did_at_any_speed_and_never_backwards():
    records = [
        record(SessionResumed(1), 10.0),
        record(SessionResumed(2), 12.0),
        record(SessionResumed(3), 1.0),  # the machine was started again
        record(SessionClosed("done"), 2.5),
    ]
    waits = [wait for wait, _ in shown(records, 2.0, readings=False)]
    assert waits == [0.0, 1.0, 0.0, 0.75]
    assert [wait for wait, _ in shown(records, 0.0, readings=False)] == [0.0] * 4
