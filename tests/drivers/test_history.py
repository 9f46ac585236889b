"""Doubts that only what came before can raise, and what a gauge calls itself."""

import pytest

from barrelfit.drivers.decode import BEFORE, Wire
from barrelfit.drivers.history import REST
from barrelfit.drivers.identity import NOT_THE_SAME, OTHER_GAUGE, GaugeIdentity
from barrelfit.drivers.outcome import Note, WireFault, WireReading
from tests.drivers.wires import MS, S, decode, profile
from tests.spoken import text_of

FREE = "signed-decimal-free-width-cr"


def suspects(outcomes):
    return [(o.value, o.suspect) for o in outcomes if isinstance(o, WireReading)]


# ------------------------------------------------------------------ the rest of a cut line


@pytest.mark.parametrize(
    ("name", "data", "value"),
    [
        (FREE, b"1\r2.345\r", "2.345"),  # a stray line end: 12.345
        (FREE, b"-\r0.013\r", "0.013"),  # the sign was cut off
        (FREE, b"112.345\r", "112.345"),  # nothing came before it: can't be told
        ("decimal-comma-free-width-cr", b"-1\r2,345\r", "2.345"),
    ],
)
def test_what_fits_behind_a_cut_line_is_perhaps_its_rest(name, data, value):
    want = "" if data.count(b"\r") == 1 else REST
    assert suspects(decode(name, data)) == [(value, want)]


def test_the_rest_after_a_long_pause_is_suspect_and_the_next_line_is_not():
    wire = Wire(profile(FREE))
    got = wire.feed(b"1", 0) + wire.feed(b"2.345\r", 3 * S) + wire.feed(b"12.346\r", 5 * S)
    assert isinstance(got[0], WireFault)
    assert suspects(got) == [("2.345", REST), ("12.346", "")]
    wire = Wire(profile(FREE))
    pieces = [(0, b"-"), (3, b"1"), (6, b"2.345\r")]
    assert suspects([o for s, data in pieces for o in wire.feed(data, s * S)]) == [("2.345", REST)]


def test_what_can_not_be_the_rest_is_not_suspect():
    assert suspects(decode(FREE, b"E1\r12.345\r")) == [("12.345", "")]
    assert suspects(decode(FREE, b"1\rERR3\r2.345\r")) == [("2.345", "")]
    assert suspects(decode("signed-decimal-cr", b"+01\r+012.345\r")) == [("12.345", "")]


def test_a_cut_line_before_the_port_was_opened_anew_is_forgotten():
    wire = Wire(profile(FREE))
    wire.feed(b"1", 0)
    wire.opened(S)
    assert suspects(wire.feed(b"2.345\r", 5 * S)) == [("2.345", "")]


# ------------------------------------------------------------------ what the gauge calls itself


def live(*steps):
    """A wire whose port was opened at 0 s; steps of (s, bytes or "opened")."""
    wire = Wire(profile("signed-decimal-cr"))
    wire.opened(0)
    got = []
    for s, what in steps:
        got += wire.opened(s * S) if what == "opened" else wire.feed(what, s * S)
    return wire, got


def test_another_gauge_after_a_reconnect_is_a_fault_and_its_readings_are_suspect():
    _, got = live(
        (1, b"SY233.1\r"),
        (2, b"+012.345\r"),
        (3, "opened"),
        (4, b"SY233.2\r"),
        (5, b"+060.005\r"),
        (6, b"+060.006\r"),
    )
    fault = got[2]
    assert (fault.fault, fault.raw) == (OTHER_GAUGE, b"SY233.2\r")
    assert "it calls itself 'SY233.2', but 'SY233.1' before" in text_of(fault.hint)
    assert [s for _, s in suspects(got)] == ["", NOT_THE_SAME, NOT_THE_SAME]


def test_the_first_gauge_again_ends_the_doubt():
    _, got = live(
        (1, b"SY233.1\r"), (2, b"SY233.2\r"), (3, b"+060.005\r"), (4, b"SY233.1\r"), (5, b"+1\r")
    )
    assert [s for _, s in suspects(got)] == [NOT_THE_SAME]
    _, got = live((1, b"SY233.2\r"), (2, "opened"), (3, b"SY233.2\r"), (4, b"+060.005\r"))
    assert [s for _, s in suspects(got)] == [""]


def test_a_gauge_names_itself_before_the_port_is_quiet():
    """At power-on the line comes with the noise, in pieces, right after the port was opened."""
    wire = Wire(profile("signed-decimal-cr"))
    wire.opened(0)
    pieces = (b"\x00\xfe", b"SY2", b"33.1", b"\r", b"+001.000\r")
    got = [o for n, piece in enumerate(pieces) for o in wire.feed(piece, n * MS)]
    assert all(isinstance(o, Note) and o.note.startswith(BEFORE) for o in got)
    assert got[3].note == f"{BEFORE}; identification SY233.1"
    wire.opened(S)
    (fault,) = wire.feed(b"SY233.2\r", S + MS)
    assert (fault.fault, fault.raw) == (OTHER_GAUGE, b"SY233.2\r")
    assert suspects(wire.feed(b"+060.005\r", 3 * S)) == [("60.005", NOT_THE_SAME)]


def test_what_was_told_of_a_gauge_is_recalled_after_a_restart():
    wire, got = live((1, b"SY233.1\r"), (3, "opened"), (4, b"SY233.2\r"), (5, "opened"))
    recalled = GaugeIdentity()
    for outcome in got:
        word = outcome.note if isinstance(outcome, Note) else outcome.fault
        recalled.recall(word, outcome.raw)
    assert recalled.doubt == wire.identity.doubt == NOT_THE_SAME
    assert not recalled.heard(b"SY233.1")
    early = GaugeIdentity()
    early.recall(f"{BEFORE}; identification SY233.1", b"\r")
    assert "'SY233.1' before" in text_of(early.heard(b"SY233.2"))
