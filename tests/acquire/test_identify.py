"""Identify: an unknown gauge is heard at its rate, a bench file comes of it, nothing is sent."""

import termios

import pytest

from barrelfit.acquire.cli import run_cli
from barrelfit.acquire.errors import UserError
from barrelfit.acquire.inputs.bench_doubts import load_bench
from barrelfit.acquire.inputs.bench_writer import GaugePlace, gauge_table, write_gauge
from barrelfit.acquire.inputs.gauge_profiles import load_profile, profile_names
from barrelfit.acquire.inputs.gauge_wire import profile_on_bench, wire_on_bench
from barrelfit.acquire.inputs.set_file import sheet_of
from barrelfit.acquire.inputs.shelf import sheet_text
from barrelfit.acquire.wires.identifying import RATES, Identifier
from barrelfit.drivers.outcome import WireReading
from barrelfit.drivers.recognise import ProfileFit
from tests.acquire.rated_gauge import RatedGauge, seven_even

SHEET = "flat-four-85"
LINES = [b"RNM   25.400\r\n", b"RNM   25.412\r\n"]


class Ticks:
    """A clock that only listening moves on."""

    def __init__(self):
        self.now_ns = 0

    def monotonic_ns(self):
        return self.now_ns


class FakeEar:
    """A gauge that speaks once every `every_s` of listening, garbage at any rate but its own."""

    def __init__(self, clock, lines, baud, every_s=0.5, request=b""):
        self.clock, self.lines, self.baud = clock, lines, baud
        self.every_ns = int(every_s * 1e9)
        self.next_ns = self.every_ns
        self.request = request
        self.asked = False
        self.rate = 0
        self.rates = []
        self.said = []

    def set_rate(self, baud):
        self.rate = baud
        self.rates.append(baud)

    def say(self, data):
        self.said.append(data)
        self.asked = data == self.request and self.rate == self.baud

    def listen(self, timeout_s):
        end_ns = self.clock.now_ns + int(timeout_s * 1e9)
        if self.next_ns > end_ns or (self.request and not self.asked):
            self.clock.now_ns = end_ns
            return b""
        self.clock.now_ns = max(self.next_ns, self.clock.now_ns + 1)
        self.next_ns = self.clock.now_ns + self.every_ns
        self.asked = False
        return self.lines[0] if self.rate == self.baud else b"\xf3\x80\x1f\x07"


def identifier(ear, told=None):
    profiles = [load_profile(name) for name in profile_names()]
    return Identifier(ear, profiles, ear.clock, (told if told is not None else []).append)


@pytest.mark.parametrize("baud", RATES)
def test_every_rate_is_found_and_nothing_is_sent(baud):
    ear = FakeEar(Ticks(), [seven_even(LINES[0])], baud)
    result = identifier(ear).listen(60)
    (fit,) = result.fits
    assert (result.baud, fit.profile.id) == (baud, "header-unit-letter-padded")
    assert (fit.bits, fit.parity, fit.readings) == (7, "even", 2)
    assert ear.said == []


def test_a_stream_is_found_too():
    ear = FakeEar(Ticks(), [b"+084.012\r\n"], 4800, every_s=0.05)
    result = identifier(ear).listen(60)
    assert result.baud == 4800
    assert result.fits[0].readings >= 2


def test_silence_ends_after_the_time_given_at_one_rate():
    ear = FakeEar(Ticks(), [b""], 4800, every_s=1000)
    result = identifier(ear).listen(20)
    assert not result.fits
    assert not result.anything
    assert ear.rates == [RATES[0]]
    assert 20e9 <= ear.clock.now_ns < 21e9


def test_garbage_at_every_rate_is_no_gauge():
    ear, told = FakeEar(Ticks(), [b"\x81\x92nonsense\x93\r"], 4800), []
    result = identifier(ear, told).listen(20)
    assert not result.fits
    assert result.anything
    assert len(result.heard) == len(RATES)
    assert "fit no profile" in told[0]


def test_a_gauge_that_must_be_asked_is_asked_only_when_told():
    ear = FakeEar(Ticks(), [b"+012.345\r"], 4800, every_s=0.001, request=b"?\r")
    assert not identifier(ear).listen(5).fits
    assert ear.said == []
    ear = FakeEar(Ticks(), [b"+012.345\r"], 4800, every_s=0.001, request=b"?\r")
    result = identifier(ear).ask(30)
    assert [fit.profile.id for fit in result.fits] == ["signed-decimal-on-request"]
    assert set(ear.said) == {b"?\r"}


# ------------------------------------------------------------------ bench file


def fit(name="header-unit-letter-padded", bits=7, parity="even"):
    reading = WireReading(b"", 0, "25.400", "mm", 25_400_000)
    return ProfileFit(load_profile(name), bits, parity, 2, reading)


def place(name="micrometer", port="/dev/ttyS9", measures="outside", movement="following"):
    return GaugePlace(name, port, measures, movement)


def write(path, text):
    return write_gauge(path, text, SHEET, sheet_of(sheet_text(SHEET), SHEET))


def test_a_bench_file_that_run_accepts_with_the_line_as_heard(tmp_path):
    path = tmp_path / "bench.toml"
    assert "wrote" in write(path, gauge_table(place(), fit(), 2400))
    bench, _ = load_bench(path)
    (table,) = bench.gauge
    profile = profile_on_bench(load_profile(table.profile), table)
    assert (profile.port.baud, profile.port.bits, profile.port.parity) == (2400, 7, "even")
    wire = wire_on_bench(profile, table)
    (reading,) = wire.feed(seven_even(LINES[0]), 0)
    assert reading.length_nm == 25_400_000


def test_a_second_gauge_is_added_and_a_doubled_one_refused(tmp_path):
    path = tmp_path / "bench.toml"
    write(path, gauge_table(place(), fit(), 4800))
    second = gauge_table(place("bore", "/dev/ttyS8", "bore", "bore"), fit(), 4800)
    assert "added" in write(path, second)
    before = path.read_text()
    with pytest.raises(UserError, match="two gauges have the port"):
        write(path, second)
    assert path.read_text() == before
    assert [g.id for g in load_bench(path)[0].gauge] == ["micrometer", "bore"]


def test_the_line_is_left_out_where_it_is_the_profiles():
    assert "line" not in gauge_table(place(), fit(), 4800)
    assert 'digit_mm = "0.001"' in gauge_table(place(), fit(), 4800)


# ------------------------------------------------------------------ the command on a real tty


@pytest.mark.slow
def test_command_finds_a_seven_bit_gauge_at_4800_and_writes_its_bench_file(tmp_path, capsys):
    path = tmp_path / "bench.toml"
    with RatedGauge([seven_even(line) for line in LINES], termios.B4800) as gauge:
        code = run_cli(["identify", gauge.port, "--seconds", "20", "--bench", str(path)])
        assert gauge.requests == b""
    said = capsys.readouterr().out
    assert code == 0, said
    assert "fits: header-unit-letter-padded at 4800 7E" in said
    assert load_bench(path)[0].gauge[0].port == gauge.port


@pytest.mark.slow
def test_command_says_what_arrives_when_nothing_fits(capsys):
    with RatedGauge([b"nothing we know\r"], termios.B9600, every_s=0.1) as gauge:
        assert run_cli(["identify", gauge.port, "--seconds", "2"]) == 1
    assert "bytes arrive but no valid frame: check rate and parity" in capsys.readouterr().out


@pytest.mark.slow
def test_command_says_when_nothing_arrives(capsys):
    with RatedGauge([b""], termios.B9600) as gauge:
        assert run_cli(["identify", gauge.port, "--seconds", "1"]) == 1
    assert "nothing arrived in 1 s" in capsys.readouterr().out


def test_command_names_what_is_wrong_with_its_options(capsys):
    code = run_cli(
        ["identify", "/dev/null", "--seconds", "0", "--measures", "weight", "--movement", "odd"]
    )
    said = capsys.readouterr().err
    assert code == 2
    assert said.count("expected") == 3
    for port in ("/dev/no-such-port", "/dev/null", "usb:1209:0001", "socket://bench:4001"):
        assert run_cli(["identify", port]) == 2
    said = capsys.readouterr().err
    assert "Traceback" not in said
    assert said.count("barrelfit: ") == 4
