"""The dialogue with a gauge that is asked: every cell of its table, and the times it keeps."""

import tomllib
from decimal import Decimal
from importlib.resources import files
from itertools import product

import pytest

from barrelfit.drivers.ask import TABLE, Action, AskedWire, Asker, AskEvent, AskState
from barrelfit.drivers.outcome import Note, WireFault, WireReading
from barrelfit.drivers.profile import ProfileAsk, profile_from
from tests.spoken import text_of

MS = 1_000_000
SLOWEST = 500
PERIOD = 100


def reading(t_ms, index=0):
    return WireReading(b"+1\r", t_ms * MS, "1", "mm", 1_000_000, index=index)


def bad(t_ms):
    return WireFault(b"x\r", t_ms * MS, "unreadable", "")


def said(t_ms):
    return WireFault(b"ERR1\r", t_ms * MS, "instrument error 1", "see")


def in_state(state):
    """An asker in a state at 500 ms, its request number 1 sent at 0 where there was one."""
    it = Asker(ProfileAsk(b"?\r", SLOWEST), PERIOD)
    if state is not AskState.IDLE:
        it.sent(0 if state is not AskState.WAITING else SLOWEST * MS)
    if state is AskState.CROWDED:
        it.sent(SLOWEST * MS - 1)
    it.poll(SLOWEST * MS)
    assert it.state is state
    return it


def test_the_table_has_every_cell():
    assert set(TABLE) == set(product(AskState, AskEvent))


DOES = {
    AskEvent.SENT: lambda it: it.sent(501 * MS),
    AskEvent.ANSWER: lambda it: it.heard([reading(501)], 501 * MS),
    AskEvent.DAMAGED: lambda it: it.heard([bad(501)], 501 * MS),
    AskEvent.BYTES: lambda it: it.heard([], 501 * MS),
    AskEvent.LATE: lambda it: it.poll(it._deadline_ns or 501 * MS),
}


@pytest.mark.parametrize(("state", "event"), sorted(TABLE, key=str))
def test_every_cell_does_what_it_says(state, event):
    it = in_state(state)
    after, action = TABLE[state, event]
    before = it._deadline_ns
    gave = DOES[event](it)
    assert it.state is after
    if event is AskEvent.ANSWER:
        assert bool(gave[0].suspect) is (action is Action.MARK)
    if action is Action.WAIT:
        assert it._deadline_ns > (before or 0)
    if after is AskState.IDLE:
        assert it._deadline_ns is None


def test_polling_keeps_its_period_and_never_two_in_flight():
    it = Asker(ProfileAsk(b"?\r", SLOWEST), PERIOD)
    assert it.poll(0) == b"?\r"
    it.sent(0)
    assert it.poll(PERIOD * MS) == b""
    assert it.heard([reading(150)], 150 * MS)[0].suspect == ""
    assert it.poll(150 * MS) == b"?\r"
    it.sent(150 * MS)
    it.heard([reading(160)], 160 * MS)
    assert it.poll(249 * MS) == b""
    assert it.poll(250 * MS) == b"?\r"


def test_a_request_that_could_not_be_written_is_offered_again():
    it = Asker(ProfileAsk(b"?\r", SLOWEST), PERIOD)
    assert it.poll(0) == b"?\r"
    assert it.poll(50 * MS) == b"?\r"


def test_trickling_bytes_keep_the_resync_going():
    it = in_state(AskState.RESYNC)
    for ms in range(600, 3000, 400):
        it.heard([], ms * MS)
        assert it.poll((ms + 399) * MS) == b""
    assert it.poll((2600 + SLOWEST) * MS) == b"?\r"


def test_an_answer_after_the_quiet_is_late_still_and_the_next_is_not_asked_for():
    it = in_state(AskState.RESYNC)
    assert it.heard([reading(1500)], 1500 * MS)[0].suspect == "late, request 1"
    assert it.heard([reading(1600)], 1600 * MS)[0].suspect == "not asked for"


def test_a_request_after_the_quiet_is_answered_by_its_own_answer():
    it = in_state(AskState.RESYNC)
    assert it.poll(1000 * MS) == b"?\r"
    it.sent(1000 * MS)
    assert it.heard([reading(1100)], 1100 * MS)[0].suspect == ""


def test_an_error_line_answers_a_request_and_a_late_one_is_marked():
    it = in_state(AskState.WAITING)
    assert it.heard([said(501)], 501 * MS) == [said(501)]
    assert it.state is AskState.IDLE
    it = in_state(AskState.RESYNC)
    (late,) = it.heard([said(501)], 501 * MS)
    assert text_of(late.hint).endswith("(late, request 1)")


def test_all_values_of_a_late_line_are_marked_and_notes_are_not():
    it = in_state(AskState.RESYNC)
    note = Note(b"?\r", 0, "echo")
    marked = it.heard([note, reading(501), reading(501, index=1)], 501 * MS)
    assert marked[0] == note
    assert [o.suspect for o in marked[1:]] == ["late, request 1"] * 2


def test_opening_the_port_forgets_what_was_in_flight():
    it = in_state(AskState.RESYNC)
    it.opened()
    assert it.poll(SLOWEST * MS + 3) == b"?\r"


def test_an_asked_gauges_wire_from_opening_to_a_late_answer():
    path = files("barrelfit.drivers").joinpath("profiles", "signed-decimal-on-request.toml")
    profile = profile_from(tomllib.loads(path.read_text(), parse_float=Decimal), "asked")
    wire = AskedWire(profile, profile.ask, PERIOD, port=profile.port)
    wire.opened(0)
    got = []
    for ms, data in ((200, b"?\r+012.345\r"), (2000, b"+012.346\r")):
        request = wire.poll((ms - 100 if ms == 200 else 400) * MS)
        assert request == b"?\r"
        wire.sent(request, (ms - 100 if ms == 200 else 400) * MS)
        got += wire.feed(data, ms * MS)
        assert wire.idle(ms * MS) == []
    assert [type(o) for o in got] == [Note, WireReading, WireReading]
    assert [o.suspect for o in got[1:]] == ["", "late, request 2"]
    wire.feed(b"+0", 2001 * MS)
    (fault,) = wire.idle(5000 * MS)
    assert fault.fault == "incomplete"
    wire.sent(b"MM\r", 6000 * MS)
    assert wire.feed(b"MM\r", 6001 * MS)[0].note == "acknowledgement"
