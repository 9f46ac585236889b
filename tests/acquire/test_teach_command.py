"""`identify --teach`: readings from a port, a pipe or a USB end point, typed values, a profile."""

import os
import tty

import pytest

from barrelfit.acquire.cli import run_cli
from barrelfit.acquire.commands import teaching
from barrelfit.acquire.inputs.gauge_profiles import load_profile, save_profile
from barrelfit.acquire.wires.one_reading import UsbEar, held_still, is_readable, one_reading
from barrelfit.drivers.teaching.samples import sample
from tests.acquire.virtual_usb import VENDOR, VirtualBackend, VirtualDevice

SHOWN = ("12.345", "85.120", "-3.004", "41.777", "-60.123", "22.222")
MS = 1_000_000


def frame(shown):
    return f"Z{float(shown):+09.3f}*mm\r\n".encode()


@pytest.fixture
def pipe(monkeypatch):
    """Makes lines our standard input."""
    files = []

    def typed(lines):
        read, write = os.pipe()
        os.write(write, "\n".join(lines).encode())
        os.close(write)
        files.append(os.fdopen(read))
        monkeypatch.setattr("sys.stdin", files[0])

    yield typed
    for file in files:
        file.close()


def test_readings_and_values_through_a_pipe(tmp_path, monkeypatch, capsys, pipe):
    monkeypatch.chdir(tmp_path)
    lines = [f"{frame(shown).hex()} = {shown} mm" for shown in SHOWN]
    pipe(lines)
    assert run_cli(["identify", "-", "--teach", "--baud", "4800"]) == 0
    said = capsys.readouterr().out
    assert "read rightly, 3 of 3" in said
    assert "send one larger" in said
    (file,) = tmp_path.glob("*.toml")
    assert f"saved {file.name}" in said
    assert load_profile(str(file)).port.baud == 4800


@pytest.mark.parametrize(
    ("lines", "says"),
    [
        (["2b 30 0d"], "expected bytes = what the display showed"),
        (["zz = 12.345 mm"], "pairs of hexadecimal digits"),
        (["2b 0d = 12.345"], "with its unit"),
    ],
)
def test_a_pipe_that_says_something_else_is_refused(lines, says, capsys, pipe):
    pipe(lines)
    assert run_cli(["identify", "-", "--teach"]) == 2
    assert says in capsys.readouterr().err


def test_nothing_is_saved_before_it_is_proven(tmp_path, monkeypatch, capsys, pipe):
    monkeypatch.chdir(tmp_path)
    pipe([f"{frame(s).hex()} = {s} mm" for s in SHOWN[:5]])
    assert run_cli(["identify", "-", "--teach"]) == 1
    assert "nothing is saved" in capsys.readouterr().out
    assert not list(tmp_path.iterdir())


def test_no_profile_is_ever_overwritten(tmp_path):
    first = save_profile("a", tmp_path, "shape")
    assert save_profile("b", tmp_path, "shape").name == "shape-2.toml"
    assert first.read_text() == "a"


class Hand:
    """Types what the display shows, and sends the next reading once it has."""

    def __init__(self, fd, shown):
        self.fd, self.shown, self.at = fd, shown, 0
        self.waits = True

    def send(self):
        if self.at < len(self.shown):
            os.write(self.fd, frame(self.shown[self.at].strip("!")))

    def next(self):
        if self.at >= len(self.shown):
            return None
        shown = self.shown[self.at]
        if shown.startswith("!"):  # a slip of the hand first
            self.shown[self.at] = shown[1:]
            return "12.345"
        self.at += 1
        self.send()
        return f"{shown} mm"


def test_a_gauge_on_a_port_is_taught(monkeypatch, capsys):
    master, slave = os.openpty()
    tty.setraw(slave)
    hand = Hand(master, ["12.345", "!85.120", *SHOWN[2:]])
    real = teaching.ear_at

    def opened(port, baud):
        ear = real(port, baud)
        hand.send()
        return ear

    monkeypatch.setattr(teaching, "ear_at", opened)
    lesson = teaching._at_port(os.ttyname(slave), 9600, hand)
    os.close(master)
    os.close(slave)
    assert lesson.proven
    assert capsys.readouterr().out.count("with its unit") == 1


class Ticks:
    """A clock that every look moves on by 20 ms."""

    def __init__(self):
        self.now_ns = 0

    def monotonic_ns(self):
        self.now_ns += 20 * MS
        return self.now_ns


class Stream:
    """A gauge that sends all the time, and moves at first."""

    def __init__(self, frames):
        self.frames = frames

    def listen(self, _timeout_s):
        return self.frames.pop(0) if self.frames else b""


def test_a_stream_is_taken_once_it_is_held_still():
    moving = [frame(f"{n}.000") for n in range(150)]
    chunks = one_reading(Stream([*moving, *[frame("12.345")] * 20]), Ticks())
    assert b"".join(data for _, data in chunks) == frame("12.345")
    assert sample(chunks, "12.345 mm").raw == frame("12.345")


def test_a_stream_without_an_end_is_cut_by_its_silences():
    still = [(n * 100 * MS, b"\xaa\x01\x02") for n in range(6)]
    assert {data for _, data in held_still(still)} == {b"\xaa\x01\x02"}
    assert not held_still([*still[:5], (600 * MS, b"\xaa\x01\x03"), (700 * MS, b"\xaa")])


def test_a_rate_is_right_where_characters_come():
    assert is_readable([(0, b"+012.345\r")])
    assert is_readable([(0, bytes(b | (b.bit_count() % 2) << 7 for b in b"+012.345\r"))])
    assert not is_readable([(0, b"\xf3\x80\x1f\x07")])
    assert not is_readable([(0, b"ab\r")])


def test_a_vendors_usb_end_point_is_taught_alike():
    device = VirtualDevice(VENDOR)
    backend = VirtualBackend(device)
    with UsbEar("usb:1209:0001", backend) as ear:
        device.gives(b"\x01\x00\x30\x39\x00\x00\x00\x00")
        chunks = one_reading(ear, Ticks())
    assert b"".join(data for _, data in chunks) == b"\x01\x00\x30\x39\x00\x00\x00\x00"
