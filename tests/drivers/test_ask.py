"""The dialogue with a gauge that is asked: every cell of its table, and the times it keeps."""

from itertools import product

import pytest

from drivers.ask import TABLE, Action, Asker, Event, State
from drivers.outcome import Fault, Note, Reading
from drivers.profile import Ask

MS = 1_000_000
SLOWEST = 500


def asker(period_ms=0):
    return Asker(Ask(b"?\r", SLOWEST), period_ms)


def reading(t_ms=0, index=0):
    return Reading(b"+1\r", t_ms * MS, "1", "mm", 1_000_000, index=index)


BAD = Fault(b"x\r", 0, "unreadable", "")
SAID = Fault(b"ERR1\r", 0, "instrument error 1", "see")


def in_state(state):
    it = asker()
    if state is State.IDLE:
        return it
    it.want()
    assert it.poll(0)
    if state in {State.RESYNC, State.CROWDED}:
        it.poll(SLOWEST * MS)
    if state is State.CROWDED:
        assert it.insist(SLOWEST * MS + 1)
    assert it.state is state
    return it


def test_the_table_has_every_cell():
    assert set(TABLE) == set(product(State, Event))


def wanted(it, t_ns):
    it.want()
    return it.poll(t_ns)


DOES = {
    Event.WANT: wanted,
    Event.INSIST: Asker.insist,
    Event.ANSWER: lambda it, t_ns: it.heard([reading()], t_ns),
    Event.DAMAGED: lambda it, t_ns: it.heard([BAD], t_ns),
    Event.BYTES: lambda it, t_ns: it.heard([], t_ns),
    Event.LATE: lambda it, t_ns: it.poll(it.next_ns or t_ns),
}


def wanted(it, t_ns):
    it.want()
    return it.poll(t_ns)


DOES = {
    Event.WANT: wanted,
    Event.INSIST: Asker.insist,
    Event.ANSWER: lambda it, t_ns: it.heard([reading()], t_ns),
    Event.DAMAGED: lambda it, t_ns: it.heard([BAD], t_ns),
    Event.BYTES: lambda it, t_ns: it.heard([], t_ns),
    Event.LATE: lambda it, t_ns: it.poll(it.next_ns or t_ns),
}


@pytest.mark.parametrize(("state", "event"), sorted(TABLE, key=str))
def test_every_cell_does_what_it_says(state, event):
    it = in_state(state)
    t_ns = SLOWEST * MS + 2 if state in {State.RESYNC, State.CROWDED} else MS
    after, action = TABLE[state, event]
    gave = DOES[event](it, t_ns)
    assert it.state is after
    if event is Event.ANSWER:
        late = action in {Action.MARK_LATE, Action.MARK_UNASKED}
        assert bool(gave[0].suspect) is late
    else:
        assert (gave == b"?\r") is (action is Action.SEND)


def test_a_wish_during_a_request_is_kept_and_sent_after_the_answer():
    it = asker()
    it.want()
    it.poll(0)
    it.want()
    assert it.poll(MS) == b""
    assert it.heard([reading()], 2 * MS)[0].suspect == ""
    assert it.poll(2 * MS) == b"?\r"


def test_polling_keeps_its_period_and_never_two_in_flight():
    it = asker(period_ms=100)
    assert it.poll(0) == b"?\r"
    assert it.poll(100 * MS) == b""
    it.heard([reading()], 150 * MS)
    assert it.next_ns == 100 * MS
    assert it.poll(150 * MS) == b"?\r"
    it.heard([reading()], 160 * MS)
    assert it.poll(249 * MS) == b""
    assert it.poll(250 * MS) == b"?\r"


def test_trickling_bytes_keep_the_resync_going():
    it = in_state(State.RESYNC)
    for ms in range(600, 3000, 400):
        it.heard([], ms * MS)
        it.want()
        assert it.poll((ms + 399) * MS) == b""
    assert it.poll((2600 + SLOWEST) * MS) == b"?\r"


def test_an_error_line_answers_a_request_and_a_late_one_is_marked():
    it = in_state(State.WAITING)
    assert it.heard([SAID], MS) == [SAID]
    assert it.state is State.IDLE
    it = in_state(State.RESYNC)
    (late,) = it.heard([SAID], SLOWEST * MS + 1)
    assert late.hint.endswith("(late, request 1)")


def test_all_values_of_a_late_line_are_marked_and_notes_are_not():
    it = in_state(State.RESYNC)
    note = Note(b"?\r", 0, "echo")
    marked = it.heard([note, reading(), reading(index=1)], SLOWEST * MS + 1)
    assert marked[0] == note
    assert [o.suspect for o in marked[1:]] == ["late, request 1"] * 2


def test_opening_the_port_forgets_what_was_in_flight():
    it = in_state(State.RESYNC)
    it.opened()
    it.want()
    assert it.poll(SLOWEST * MS + 3) == b"?\r"
