"""Failure cases met with hand instruments: the smallest bytes that show one, and what is right.

The bytes come from public reports and instruments' handbooks, or were composed from a documented
layout; each test's name says the kind.
"""

import pytest

from barrelfit.drivers.decode import Wire
from barrelfit.drivers.outcome import Note, WireFault, WireReading
from barrelfit.drivers.proving import decode_whole
from tests.drivers.wires import MS, S, decode, lengths, live, profile, values
from tests.spoken import text_of

# ------------------------------------------------------------------ cutting and line ends


def test_one_frame_in_two_reads():
    assert lengths(live("signed-decimal-cr", (0, b"+012.3"), (300, b"45\r\n"))) == [12_345_000]


def test_two_frames_in_one_read():
    got = live("signed-decimal-cr", (0, b"+012.345\r\n+012.346\r\n"))
    assert lengths(got) == [12_345_000, 12_346_000]


def test_cr_and_lf_in_two_reads_give_no_empty_line():
    got = live("signed-decimal-cr", (0, b"+012.345\r"), (50, b"\n+012.346\r\n"))
    assert lengths(got) == [12_345_000, 12_346_000]
    assert len(got) == 2


def test_cr_alone_is_not_waited_for():
    wire = Wire(profile("signed-decimal-cr"))
    assert lengths(wire.feed(b"+012.345\r+012.346\r", 0)) == [12_345_000, 12_346_000]


def test_a_line_without_end_is_dropped_with_its_bytes():
    wire = Wire(profile("signed-decimal-cr"))
    assert wire.feed(b"+012.345", 0) == []
    assert wire.idle(2 * S) == []
    (fault,) = wire.idle(2 * S + 1)
    assert (fault.fault, fault.raw) == ("incomplete", b"+012.345")


# ------------------------------------------------------------------ parity left in bit 7


@pytest.mark.parametrize(
    ("data", "letter", "word"),
    [
        ("2b 30 b1 b2 2e 33 b4 35 8d", "7E", "even"),
        ("2d 30 30 30 2e 30 b1 33 8d", "7E", "even"),
        ("ab b0 31 32 ae b3 34 b5 0d", "7O", "odd"),
        ("2b 30 b1 b2 2e 33 b4 35 8d 0a", "7E", "even"),
    ],
)
def test_seven_bits_read_as_eight_are_a_fault_with_the_right_hint(data, letter, word):
    (fault,) = decode("signed-decimal-cr", bytes.fromhex(data))
    assert isinstance(fault, WireFault)
    assert f"port is set to 8N1 but the device looks like {letter}" in text_of(fault.hint)
    assert word in text_of(fault.hint)


def test_lines_whose_ends_parity_hides_are_each_a_fault():
    line = bytes.fromhex("2b 30 b1 b2 2e 33 b4 35 8d")
    got = decode("signed-decimal-cr", line * 3)
    assert [(o.fault, o.raw) for o in got] == [("unreadable", line)] * 3
    got = decode("signed-decimal-cr", line * 20)  # longer than a line may be
    assert b"".join(o.raw for o in got) == line * 20
    assert got[0].fault == "unreadable"
    assert "looks like 7E" in text_of(got[0].hint)


def test_one_flipped_high_bit_is_no_parity():
    (fault,) = decode("signed-decimal-cr", b"+012.\xb345\r")
    assert fault.fault == "unreadable"
    assert "7E" not in text_of(fault.hint)


def test_parity_bits_over_an_eight_bit_way_are_checked_when_the_port_is_said_to_be_seven_bits():
    header = profile("header-unit-letter-padded")
    line = b"RNM   25.400\r\n"
    on_wire = bytes(b | (b.bit_count() % 2) << 7 for b in line)
    wire = Wire(header, port=header.port)
    (reading,) = wire.feed(on_wire, 0)
    assert (reading.length_nm, reading.raw) == (25_400_000, on_wire)
    (again,) = wire.feed(line, S)  # a real port has taken the parity away
    assert again.length_nm == 25_400_000
    for at in range(len(on_wire) - 2):
        flipped = on_wire[:at] + bytes([on_wire[at] ^ 0x01]) + on_wire[at + 1 :]
        assert not lengths(Wire(header, port=header.port).feed(flipped, 0))


@pytest.mark.parametrize("at", range(11))
def test_a_character_that_the_system_marked_for_its_parity_rejects_the_line(at):
    """POSIX termios with INPCK and PARMRK: FF 00 in front of the character."""
    header = profile("header-unit-letter-padded")
    line = b"RNM   25.400\r\n"
    (fault,) = Wire(header, port=header.port).feed(line[:at] + b"\xff\x00" + line[at:], 0)
    assert fault.fault == "unreadable"
    assert "wrong parity bit" in text_of(fault.hint)


# ------------------------------------------------------------------ power-on garbage


def test_power_on_garbage_then_an_identification_with_digits():
    got = decode("signed-decimal-cr", b"\x00\xfe\x80SY233.1\r+012.345\r")
    assert [type(o) for o in got] == [Note, Note, WireReading]
    assert got[1].note == "identification"
    assert lengths(got) == [12_345_000]


def test_the_first_line_after_garbage_is_never_a_reading():
    got = decode("signed-decimal-cr", b"\x00\xfe+012.345\r+012.346\r")
    assert lengths(got) == [12_346_000]
    assert [type(o) for o in got] == [Note, WireFault, WireReading]


def test_a_nul_inside_a_line_rejects_it():
    (fault,) = decode("signed-decimal-cr", bytes.fromhex("2b30310032 2e3334350d"))
    assert fault.fault == "unreadable"
    assert "NUL" in text_of(fault.hint)


# ------------------------------------------------------------------ signs


@pytest.mark.parametrize(
    ("name", "data", "value"),
    [
        ("padded-decimal-comma-unit", b"+ 2.1380, MM\r", ("2.1380", "mm", 2_138_000)),
        ("padded-decimal-comma-unit", b"-  0.5000, IN\r\n", ("-0.5000", "in", -12_700_000)),
        ("header-unit-letter-padded", b"RNM -  3.456\r\n", ("-3.456", "mm", -3_456_000)),
        ("signed-decimal-free-width-cr", b"-0.013\r", ("-0.013", "mm", -13_000)),
        ("signed-decimal-free-width-cr", b" 012.345\r", ("12.345", "mm", 12_345_000)),
        ("signed-decimal-free-width-cr", b"-0.000\r", ("0.000", "mm", 0)),
    ],
)
def test_sign_apart_missing_or_on_zero(name, data, value):
    got = decode(name, data)
    assert values(got) == [value]
    assert got[0].raw == data


# ------------------------------------------------------------------ comma


@pytest.mark.parametrize(
    ("name", "data", "want"),
    [
        ("signed-decimal-comma-cr", b"+012,345\r", [("12.345", "mm", 12_345_000)]),
        ("signed-decimal-cr", b"+012,345\r", []),
        ("padded-decimal-comma-unit", b"+ 2.1380, MM\r", [("2.1380", "mm", 2_138_000)]),
        ("decimal-comma-free-width-cr", b"1.234,5\r", []),
        ("signed-decimal-free-width-cr", b"1.234,5\r", []),
        ("decimal-comma-free-width-cr", b"1,234\r", [("1.234", "mm", 1_234_000)]),
        ("signed-decimal-free-width-cr", b"1,234\r", []),
    ],
)
def test_comma_is_what_the_profile_says(name, data, want):
    got = decode(name, data)
    assert values(got) == want
    assert len(got) == 1


# ------------------------------------------------------------------ header digits


@pytest.mark.parametrize(
    ("data", "judgement", "assumed"),
    [
        (b"00-09.9999\r\n", "", True),
        (b"00NM-09.9999\r\n", "", False),
        (b"00NMG-09.9999\r\n", "G", False),
    ],
)
def test_header_digits_are_the_channel(data, judgement, assumed):
    (reading,) = decode("channel-header-decimal", data)
    assert (reading.value, reading.length_nm, reading.channel) == ("-9.9999", -9_999_900, "00")
    assert (reading.judgement, reading.unit_assumed) == (judgement, assumed)


# ------------------------------------------------------------------ implied decimals


def test_implied_decimals_sign_digit_and_unit_digits():
    frame = bytes.fromhex("02 34 31 39 34 31 33 30 30 30 30 31 32 33 34 0d")
    four = frame.replace(b"13000", b"14000")
    assert values(decode("implied-decimals-stx", frame)) == [("-1.234", "mm", -1_234_000)]
    assert values(decode("implied-decimals-stx", four)) == []
    assert values(decode("implied-decimals-stx-wide", four)) == [("-0.1234", "mm", -123_400)]
    (fault,) = decode("implied-decimals-stx", frame.replace(b"94", b"77"))
    assert fault.fault == "unknown unit"


# ------------------------------------------------------------------ error lines, several values


def test_an_error_line_with_a_digit_is_no_number():
    (fault,) = decode("signed-decimal-cr", b"ERR3\r")
    assert fault.fault == "instrument error 3"
    assert "out of range" in text_of(fault.hint)


def test_three_values_keep_their_places_when_one_failed():
    first, second, third = decode("three-values-line", b"1 +012.34 mm;2 ERR6;3 -000.01 mm =\r")
    assert (first.channel, first.length_nm) == ("1", 12_340_000)
    assert (second.channel, second.fault) == ("2", "instrument error 6")
    assert (third.channel, third.length_nm, third.judgement) == ("3", -10_000, "=")
    assert [o.index for o in (first, second, third)] == [0, 1, 2]
    assert [bool(o.raw) for o in (first, second, third)] == [True, False, False]


def test_the_gauges_own_judgement_stands_beside_the_value():
    (reading,) = decode("signed-decimal-judged-cr", b"+012.345>\r")
    assert (reading.length_nm, reading.judgement) == (12_345_000, ">")


# ------------------------------------------------------------------ echo


@pytest.mark.parametrize(
    "steps",
    [
        [(5, b"?\r+012.345\r")],
        [(5, b"+012.345\r")],
        [(5, b"?"), (35, b"\r+012.345\r")],
    ],
)
def test_an_echo_is_dropped_only_when_exact(steps):
    wire = Wire(profile("signed-decimal-on-request"))
    wire.sent(b"?\r", 0)
    got = [o for ms, data in steps for o in wire.feed(data, ms * MS)]
    assert lengths(got) == [12_345_000]
    assert [o.note for o in got if isinstance(o, Note)] in ([], ["echo"])
    assert b"".join(o.raw for o in got) == b"".join(data for _, data in steps)


def test_a_command_that_comes_back_is_its_acknowledgement():
    wire = Wire(profile("signed-decimal-on-request"))
    wire.sent(b"MM\r", 0)
    (note,) = wire.feed(b"MM\r", MS)
    assert note.note == "acknowledgement"


def test_an_echo_counts_once():
    wire = Wire(profile("signed-decimal-on-request"))
    wire.sent(b"+012.345\r", 0)
    first, second = wire.feed(b"+012.345\r+012.345\r", MS)
    assert isinstance(first, Note)
    assert isinstance(second, WireReading)


# ------------------------------------------------------------------ bounce


def test_bounce_against_two_honest_presses():
    got = live(
        "signed-decimal-cr",
        (0, b"+060.005\r"),
        (45, b"+060.005\r"),
        (2400, b"+060.005\r"),
        (2600, b"+060.004\r"),
    )
    assert [o.suspect for o in got] == ["", "suspected bounce", "", ""]


def test_a_steady_value_in_a_stream_is_no_bounce():
    got = live("signed-decimal-cr", *((n * 50, b"+060.005\r") for n in range(100)))
    assert sum(bool(o.suspect) for o in got) <= 1  # the second line after a rest can't be told


# ------------------------------------------------------------------ flow control, joined, cut


def test_flow_control_bytes_reject_the_line():
    (fault,) = decode("signed-decimal-free-width-cr", bytes.fromhex("2b3111132e350d0a"))
    assert "flow control" in text_of(fault.hint)


@pytest.mark.parametrize("name", ["signed-decimal-cr", "decimal-unit-suffix", "three-values-line"])
def test_no_lost_or_doubled_byte_gives_a_number(name):
    gauge = profile(name)
    for example in gauge.examples:
        if "length_nm" not in example.outcomes[0]:
            continue
        body = example.raw.rstrip(b"\r\n")
        for at in range(len(body)):
            assert lengths(decode_whole(gauge, body[:at] + body[at + 1 :] + b"\r")) == []
            assert lengths(decode_whole(gauge, body[: at + 1] + body[at:] + b"\r")) == []
        assert lengths(decode_whole(gauge, body + body + b"\r")) == []


# ------------------------------------------------------------------ units


def test_units_mixed_within_one_run_are_converted_once_each():
    got = live(
        "header-unit-letter-padded",
        (0, b"RNM   25.400\r\n"),
        (1000, b"RNI    1.000\r\n"),
        (2000, b"RNM   25.410\r\n"),
    )
    assert [(o.unit, o.length_nm) for o in got] == [
        ("mm", 25_400_000),
        ("in", 25_400_000),
        ("mm", 25_410_000),
    ]
