"""A port that nobody reads yet: found out, followed while it moves, taught, let go."""

import threading
from contextlib import contextmanager

from barrelfit.acquire.clock import RunningClock
from barrelfit.acquire.errors import UserError
from barrelfit.acquire.inputs.gauge_profiles import load_profile
from barrelfit.acquire.wires.gauge_listener import GaugeListener
from barrelfit.rules.said import written

PROFILES = [load_profile("signed-decimal-streaming-crlf"), load_profile("signed-decimal-cr")]


class FakeEar:
    """Gives what the test sends, at once; waits for it otherwise."""

    def __init__(self):
        self.sent = []
        self.rates = []
        self.change = threading.Condition()
        self.closed = False

    def __enter__(self):
        return self

    def __exit__(self, *_):
        self.closed = True

    def set_rate(self, baud):
        self.rates.append(baud)

    def gives(self, *data):
        with self.change:
            self.sent += data
            self.change.notify()

    def listen(self, timeout_s):
        with self.change:
            self.change.wait_for(lambda: self.sent, timeout_s)
            return self.sent.pop(0) if self.sent else b""


@contextmanager
def listening(ear):
    listener = GaugeListener("/dev/p", "adapter", PROFILES, lambda *_: ear, RunningClock())
    listener.start()
    yield listener
    listener.close()
    assert ear.closed


def until(said, what):
    """Wait for a state; the listener itself moves on at once."""
    done = threading.Event()
    for _ in range(600):
        if what(said()):
            return said()
        done.wait(0.05)
    raise AssertionError(said())


def test_a_gauge_is_found_out_and_followed_while_it_moves():
    ear = FakeEar()
    with listening(ear) as listener:
        ear.gives(*[b"+012.345\r\n"] * 2)
        heard = until(lambda: listener.heard, lambda h: h.fit is not None)
        assert heard.product == "adapter"
        ear.gives(b"+012.345\r\n", b"+012.845\r\n")
        heard = until(lambda: listener.heard, lambda h: h.moved_nm)
        assert (heard.value, heard.unit, heard.moved_nm) == ("12.845", "mm", 500_000)


def test_a_gauge_that_no_profile_fits_is_taught_reading_by_reading():
    ear = FakeEar()
    with listening(ear) as listener:
        ear.gives(b"Q=12.345*\r")
        until(lambda: listener.heard, lambda h: h.count)
        listener.teach(4800)
        until(lambda: ear.rates, lambda rates: rates[-1] == 4800)
        ear.gives(b"Q=85.120*\r")
        heard = until(lambda: listener.heard, lambda h: h.sent)
        assert b"".join(data for _, data in heard.sent) == b"Q=85.120*\r"
        ear.gives(b"Q=00.000*\r")  # before it was told what the display showed: not kept
        until(lambda: ear.sent, lambda sent: not sent)
        listener.taken()
        assert not listener.heard.sent


def test_a_port_that_another_program_has_says_so():
    def busy(*_):
        raise UserError([written("in use")])

    listener = GaugeListener("/dev/p", "", PROFILES, busy, RunningClock())
    listener.start()
    assert until(lambda: listener.heard, lambda h: h.wrong).wrong == written("in use")
    listener.close()
