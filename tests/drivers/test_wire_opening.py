"""What an opened port gives first, and answers that come late: never a reading of now.

The situations come from public reports and instruments' handbooks.
"""

from barrelfit.drivers.ask import Asker
from barrelfit.drivers.decode import BEFORE, FOREIGN, WAITED, Wire
from barrelfit.drivers.outcome import Note, WireReading
from barrelfit.drivers.profile import ProfileAsk
from tests.drivers.wires import MS, S, lengths, profile
from tests.spoken import text_of

# ------------------------------------------------------------------ before the session


def test_old_lines_at_opening_are_never_dated_now():
    wire = Wire(profile("signed-decimal-cr"))
    wire.opened(0)
    old = wire.feed(b"+001.000\r" * 60, MS)
    new = wire.feed(b"+002.000\r", 3 * S)
    assert [o.note for o in old] == [BEFORE]
    assert lengths(new) == [2_000_000]


def test_a_busy_reader_is_no_quiet_wire():
    """What waited is read in pieces; a piece that came late, because we did, is as old."""
    waited = b"+001.000\r\n" * 119
    wire = Wire(profile("signed-decimal-streaming-crlf"))
    wire.stalled(0)
    pieces = [waited[at : at + 512] for at in range(0, len(waited), 512)]
    old = [o for n, piece in enumerate(pieces) for o in wire.feed(piece, (1 + 300 * n) * MS)]
    assert [o.note for o in old] == [WAITED] * 3
    assert lengths(wire.feed(b"+002.000\r\n", 901 * MS)) == [2_000_000]


def test_a_press_a_second_after_a_full_read_is_a_reading():
    wire = Wire(profile("signed-decimal-cr"))
    wire.opened(0)
    wire.feed((b"+001.000\r" * 60)[:504] + b"+01.000\r", MS)
    assert lengths(wire.feed(b"+002.000\r", 1002 * MS)) == [2_000_000]


def test_the_first_press_after_a_quiet_opening_is_a_reading():
    wire = Wire(profile("signed-decimal-cr"))
    wire.opened(0)
    assert lengths(wire.feed(b"+012.345\r", 5 * S)) == [12_345_000]


def test_a_reading_that_opening_itself_may_have_asked_for_is_suspect():
    """Opening a port raises its control lines, which some gauges take for a request."""
    wire = Wire(profile("signed-decimal-cr"))
    wire.opened(0)
    got = wire.feed(b"+012.345\r", 120 * MS) + wire.feed(b"+012.346\r", 600 * MS)
    assert [o.suspect for o in got] == ["at opening, perhaps not pressed", ""]
    streaming = Wire(profile("signed-decimal-streaming-crlf"))
    streaming.opened(0)
    (first,) = streaming.feed(b"+012.345\r\n", 120 * MS)
    assert first.suspect == ""


def test_a_line_cut_by_the_opening_is_old_up_to_its_end():
    wire = Wire(profile("signed-decimal-cr"))
    wire.opened(0)
    got = wire.feed(b"+0", MS) + wire.feed(b"12.345\r+012.346\r", 200 * MS)
    assert [o.raw for o in got if isinstance(o, Note)] == [b"+0", b"12.345\r"]
    assert lengths(got) == [12_346_000]


def test_noise_at_opening_costs_no_press():
    wire = Wire(profile("signed-decimal-cr"))
    wire.opened(0)
    wire.feed(b"\x00\xfe", MS)
    assert lengths(wire.feed(b"+012.345\r", 5 * S)) == [12_345_000]


def test_a_gauge_that_never_rests_is_live_after_a_second():
    wire = Wire(profile("signed-decimal-cr"))
    wire.opened(0)
    got = [o for n in range(1, 100) for o in wire.feed(b"+012.345\r", n * 20 * MS)]
    readings = [o for o in got if isinstance(o, WireReading)]
    assert readings[0].t_ns == 1020 * MS  # one line after the second is up
    assert b"".join(o.raw for o in got) == b"+012.345\r" * 99


def test_something_else_talks_to_the_gauge_first():
    wire = Wire(profile("signed-decimal-on-request"))
    wire.opened(0)
    got = wire.feed(b"ERR1\rERR1\r", S)
    assert [type(o) for o in got] == [Note, Note]
    assert all(o.note.startswith(FOREIGN) for o in got)
    assert lengths(wire.feed(b"+012.345\r", 2 * S)) == [12_345_000]


def test_a_burst_of_bad_frames_after_good_ones_suspects_another_reader():
    wire = Wire(profile("signed-decimal-cr"))
    got = [
        o for n, line in enumerate([b"+012.345\r", *[b"+02.35\r"] * 3]) for o in wire.feed(line, n)
    ]
    assert "another reader" in text_of(got[-1].hint)
    assert "another reader" not in text_of(got[-2].hint)


# ------------------------------------------------------------------ late answers


def test_a_late_answer_never_belongs_to_the_next_request():
    wire = Wire(profile("signed-decimal-on-request"))
    asker = Asker(ProfileAsk(b"?\r", slowest_ms=500), 100)  # too short for this gauge
    assert asker.poll(0) == b"?\r"
    asker.sent(0)
    assert asker.poll(600 * MS) == b""  # overdue: not asked again
    (late,) = asker.heard(wire.feed(b"+012.345\r", 865 * MS), 865 * MS)
    assert late.suspect == "late, request 1"
    assert asker.poll(1364 * MS) == b""
    assert asker.poll(1365 * MS) == b"?\r"


def test_where_it_was_asked_again_both_answers_are_marked():
    wire = Wire(profile("signed-decimal-on-request"))
    asker = Asker(ProfileAsk(b"?\r", slowest_ms=500), 100)
    asker.sent(0)
    asker.sent(600 * MS)
    marks = []
    for ms, line in ((865, b"+012.345\r"), (1465, b"+012.346\r")):
        marks += [o.suspect for o in asker.heard(wire.feed(line, ms * MS), ms * MS)]
    assert marks == ["late, request 1", "late, request 2"]
