"""Two gauges behind one interface box: one port, its bytes once, each reading its own gauge's."""

import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from barrelfit.acquire.bench.gauge import BenchGauge
from barrelfit.acquire.bench.ports import Ports, not_there
from barrelfit.acquire.inputs.bench_file import bench_file
from barrelfit.acquire.inputs.setup import setup_of
from barrelfit.acquire.inputs.shelf import shipped_text
from barrelfit.acquire.journal.events import (
    FaultSeen,
    MassTaken,
    ReadingTaken,
    WireNote,
    to_input,
)
from barrelfit.acquire.journal.job_events import GaugeSetup
from barrelfit.acquire.redo.redo import Redo
from barrelfit.acquire.redo.redo_journal import wire_of
from barrelfit.acquire.wires.gauge_port import GaugePort
from barrelfit.rules.events import GaugeChanged, ReadingFault
from barrelfit.rules.said import written
from tests.acquire.recorded import CONFIG, opening
from tests.acquire.test_config import GOOD, problems
from tests.acquire.test_redo_wire import Records, Ticks
from tests.spoken import text_of

BOX = "channel-header-decimal"
S = 1_000_000_000
TWO = """[[gauge]]
id = "micrometer"
profile = "channel-header-decimal"
port = "/dev/pts/90"
measures = "outside"
movement = "held"
channel = "00"

[[gauge]]
id = "bore"
profile = "channel-header-decimal"
port = "/dev/pts/90"
measures = "bore"
movement = "held"
channel = "01"
"""


def two():
    """The opening of a bench with two gauges behind one box."""
    config = CONFIG[: CONFIG.index("[[gauge]]")] + TWO
    setup = GaugeSetup(BOX, shipped_text("drivers", "profiles", BOX), "held")
    return opening(session="two", config_text=config, gauges={"micrometer": setup, "bore": setup})


def line(channel, number):
    return b"%02dNM-09.%04d\r\n" % (channel, number)


class Box:
    def __init__(self):
        self.document = two()
        self.records, self.clock = Records(self.document), Ticks()
        wire = wire_of(self.document, "micrometer")
        port = GaugePort("micrometer", "/dev/pts/90")
        self.gauge = BenchGauge(port, wire, self.records, self.clock, lambda: 0)
        self.sent = b""
        self.present()

    def present(self):
        self.gauge.changed(self.clock.now_ns, present=True, reason=written("port open"))

    def says(self, data, after_s=1.0):
        self.clock.now_ns += round(after_s * S)
        self.sent += data
        self.gauge.received(self.clock.now_ns, data)

    def of(self, *kinds):
        return [r.event for r in self.records.all if isinstance(r.event, kinds)]

    @property
    def readings(self):
        return [(e.gauge, e.value, e.suspect) for e in self.of(ReadingTaken)]

    def redone(self):
        redo = Redo(setup_of, wire_of, "0.1.0")
        redo.take(r for r in self.records.all)
        return redo.result()


def test_each_reading_is_its_own_gauges():
    box = Box()
    for channel, number in ((0, 1), (1, 2), (0, 3)):
        box.says(line(channel, number))
    assert box.readings == [
        ("micrometer", "-9.0001", ""),
        ("bore", "-9.0002", ""),
        ("micrometer", "-9.0003", ""),
    ]
    states = [(e.gauge, e.state) for e in box.of(GaugeChanged)]
    assert states == [
        ("micrometer", "present"),
        ("bore", "present"),
        ("micrometer", "answering"),
        ("bore", "answering"),
    ]
    assert box.redone().difference is None


def test_the_bytes_stand_once_and_a_fault_of_the_wire_is_a_fault_of_both():
    box = Box()
    box.says(line(0, 1) + b"0xNM-09\r\n" + line(1, 2))
    first, second = box.of(FaultSeen)
    assert (first.gauge, first.index, bool(first.raw)) == ("micrometer", 0, True)
    assert (second.gauge, second.index, second.raw) == ("bore", 1, "")
    heard = [to_input(event, 1) for event in (first, second)]
    assert [h.gauge for h in heard if isinstance(h, ReadingFault)] == ["micrometer", "bore"]
    raw = b"".join(bytes.fromhex(r.event.raw) for r in box.records.all if hasattr(r.event, "raw"))
    assert raw == box.sent
    assert box.redone().difference is None


def test_a_channel_that_nobody_named_is_told_once_and_does_not_count():
    box = Box()
    for channel in (0, 2, 1, 2):
        box.says(line(channel, 7))
    strange = [e for e in box.of(ReadingTaken) if e.channel == "02"]
    assert [to_input(e, 1) for e in strange] == [None, None]
    told = [e for e in box.of(GaugeChanged) if "channel 02" in text_of(e.reason)]
    assert [e.gauge for e in told] == ["micrometer", "bore"]
    assert told[0].state == "answering"  # it goes on, and so does its sweep
    assert box.redone().difference is None


def test_a_port_that_goes_takes_both_and_both_come_back():
    box = Box()
    box.says(line(0, 1) + line(1, 2))
    box.gauge.changed(box.clock.now_ns + S, present=False, reason=written("unplugged"))
    assert {box.gauge.health(name).state for name in ("micrometer", "bore")} == {"lost"}
    box.clock.now_ns += 3 * S
    box.present()
    box.says(line(1, 2))
    assert [box.gauge.health(n).state for n in ("micrometer", "bore")] == ["present", "answering"]
    assert box.redone().difference is None


def test_a_press_on_one_is_no_bounce_of_the_other_and_a_bounce_is_found_all_the_same():
    box = Box()
    box.says(line(0, 1))
    box.says(line(1, 1), 0.03)
    box.says(line(1, 1), 0.03)
    assert [s for _, _, s in box.readings] == ["", "", "suspected bounce"]


@settings(max_examples=40, deadline=None)
@given(seed=st.integers(0, 10**9))
def test_whatever_a_box_sends_each_byte_stands_once_and_a_redo_finds_the_same(seed):
    chance = random.Random(seed)  # noqa: S311  a test's chance
    box = Box()
    noise = [b"\x00", b"\r\n", b"00NM", b"01", b"xyz\r\n", b"\xff", b"02NM+00.0001\r\n"]
    data = b"".join(
        line(chance.randrange(3), chance.randrange(9_000))
        if chance.random() < 0.7
        else chance.choice(noise)
        for _ in range(40)
    )
    while data:
        size = chance.choice((1, 3, 8, 30))
        box.says(data[:size], chance.choice((0.001, 0.05, 0.4, 3.0)))
        data = data[size:]
        if chance.random() < 0.05:
            box.gauge.tick()
        if chance.random() < 0.03:
            box.gauge.changed(box.clock.now_ns, present=False, reason=written("unplugged"))
            box.present()
    box.gauge.changed(box.clock.now_ns + 1, present=False, reason=written("end"))
    kept = box.of(ReadingTaken, MassTaken, FaultSeen, WireNote)
    assert b"".join(bytes.fromhex(e.raw) for e in kept) == box.sent
    own = {"00": "micrometer", "01": "bore"}
    counts = [e for e in box.of(ReadingTaken) if to_input(e, 1) is not None]
    assert all(own[e.channel] == e.gauge for e in counts)
    assert box.redone().difference is None


# ---------------------------------------------------------------- the bench file


def with_two(text=TWO):
    return GOOD[: GOOD.index("[[gauge]]")] + text


def test_two_gauges_may_share_a_port_by_their_channels():
    bench = bench_file(with_two(), "bench.toml")
    assert [[t.id for t in tables] for tables in bench.by_port] == [["micrometer", "bore"]]


@pytest.mark.parametrize(
    ("old", "new", "wanted"),
    [
        ('channel = "01"', "", "two gauges have the port '/dev/pts/90'"),
        ('channel = "01"', 'channel = "00"', "two gauges have the port '/dev/pts/90'"),
        ('channel = "01"', 'channel = "01"\nask_ms = 99', "hang on one wire"),
        ('channel = "01"', 'channel = "01"\nunit = "in"', "hang on one wire"),
        ('channel = "01"', 'channel = "01"\nline = { baud = 300 }', "hang on one wire"),
    ],
)
def test_what_can_not_share_a_port_is_refused(old, new, wanted):
    (found,) = problems(with_two(TWO.replace(old, new)))
    assert wanted in found


def test_two_of_one_port_are_no_two_at_one_port():
    bench = bench_file(with_two().replace("/dev/pts/90", "usb:1209:0001"), "bench.toml")
    assert not [p for p in Ports().problems(bench) if "bore" in text_of(p)]
    port = GaugePort("micrometer", "/dev/null")
    ports = {"micrometer": port, "bore": port}
    why = not_there(ports, "bore", "/dev/null")
    assert why is None or "micrometer" not in text_of(why)
