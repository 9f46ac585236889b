"""Several gauges on one wire: the one that the bench means counts, and none where it is open."""

import pytest

from barrelfit.drivers.channels import OTHER_CHANNEL, SEVERAL_CHANNELS
from barrelfit.drivers.decode import Wire
from barrelfit.drivers.outcome import WireReading
from tests.drivers.wires import MS, S, profile

BOX = "channel-header-decimal"
THREE = b"1 +012.34 mm;2 +000.10 mm;3 -000.01 mm =\r"


def heard(wire, *lines):
    got = [o for n, line in enumerate(lines) for o in wire.feed(line, (n + 1) * S)]
    return [(o.channel, o.suspect) for o in got if isinstance(o, WireReading)]


def line(channel, number):
    return b"%02dNM-09.%04d\r\n" % (channel, number)


def test_nothing_counts_any_more_once_a_second_channel_is_heard():
    wire = Wire(profile(BOX), channel="")
    lines = [line(0, 1), line(0, 2), line(1, 3), line(0, 4), line(1, 5)]
    assert heard(wire, *lines) == [
        ("00", ""),
        ("00", ""),
        ("01", SEVERAL_CHANNELS),
        ("00", SEVERAL_CHANNELS),
        ("01", SEVERAL_CHANNELS),
    ]


def test_a_port_that_is_opened_anew_may_have_another_box():
    wire = Wire(profile(BOX), channel="")
    heard(wire, line(0, 1), line(1, 2))
    wire.opened(10 * S)
    (reading,) = wire.feed(line(1, 3), 15 * S)
    assert reading.suspect == ""


@pytest.mark.parametrize("own", [0, 1])
def test_the_channel_that_is_meant_counts_from_the_first_reading_on(own):
    wire = Wire(profile(BOX), channel=f"{own:02d}")
    lines = [line(1, 1), line(0, 2), line(1, 3)]
    got = heard(wire, *lines)
    assert [s for _, s in got] == ["" if c == f"{own:02d}" else OTHER_CHANNEL for c, _ in got]


@pytest.mark.parametrize("channel", ["", "2"])
def test_of_a_line_of_several_values_one_counts_where_it_is_said_which(channel):
    wire = Wire(profile("three-values-line"), channel=channel)
    got = [o for o in wire.feed(THREE, S) if isinstance(o, WireReading)]
    counts = [o.channel for o in got if not o.suspect]
    assert counts == ([channel] if channel else [])


def test_a_known_frame_is_weighed_each_time():
    """A frame that was heard before takes a shorter way."""
    wire = Wire(profile(BOX), channel="", min_repeat_ms=0)
    wire.opened(0)
    for n in range(3):
        (first,) = wire.feed(line(0, 1), 5 * S + n * 100 * MS)
    assert first.suspect == ""
    wire.feed(line(1, 1), 6 * S)
    (again,) = wire.feed(line(0, 1), 7 * S)
    assert again.suspect == SEVERAL_CHANNELS
