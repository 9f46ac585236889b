"""Failure cases met with hand instruments: the smallest bytes that show one, and what is right.

The bytes come from public reports and instruments' handbooks, or were composed from a documented
layout; each test's name says the kind.
"""

import tomllib
from decimal import Decimal
from importlib.resources import files

import pytest

from drivers.ask import Asker
from drivers.decode import BEFORE, FILLING, FOREIGN, Wire
from drivers.outcome import Fault, Note, Reading
from drivers.profile import Ask, profile_from
from drivers.proving import decode_whole

MS = 1_000_000
S = 1000 * MS


def profile(name):
    path = files("drivers").joinpath("profiles", f"{name}.toml")
    return profile_from(tomllib.loads(path.read_text(), parse_float=Decimal), name)


def decode(name, data):
    return decode_whole(profile(name), data)


def values(outcomes):
    return [(o.value, o.unit, o.length_nm) for o in outcomes if isinstance(o, Reading)]


def lengths(outcomes):
    return [o.length_nm for o in outcomes if isinstance(o, Reading)]


def live(name, *steps, **options):
    """Feed (ms, bytes) steps into an armed wire; line ends alone are left out."""
    wire = Wire(profile(name), **options)
    got = [o for ms, data in steps for o in wire.feed(data, ms * MS)]
    return [o for o in got if not (isinstance(o, Note) and o.note == FILLING)]


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
    assert isinstance(fault, Fault)
    assert f"port is set to 8N1 but the device looks like {letter}" in fault.hint
    assert word in fault.hint


def test_lines_whose_ends_parity_hides_are_each_a_fault():
    line = bytes.fromhex("2b 30 b1 b2 2e 33 b4 35 8d")
    got = decode("signed-decimal-cr", line * 3)
    assert [(o.fault, o.raw) for o in got] == [("unreadable", line)] * 3
    got = decode("signed-decimal-cr", line * 20)  # longer than a line may be
    assert b"".join(o.raw for o in got) == line * 20
    assert got[0].fault == "unreadable"
    assert "looks like 7E" in got[0].hint


def test_one_flipped_high_bit_is_no_parity():
    (fault,) = decode("signed-decimal-cr", b"+012.\xb345\r")
    assert fault.fault == "unreadable"
    assert "7E" not in fault.hint


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


# ------------------------------------------------------------------ power-on garbage


def test_power_on_garbage_then_an_identification_with_digits():
    got = decode("signed-decimal-cr", b"\x00\xfe\x80SY233.1\r+012.345\r")
    assert [type(o) for o in got] == [Note, Note, Reading]
    assert got[1].note == "identification"
    assert lengths(got) == [12_345_000]


def test_the_first_line_after_garbage_is_never_a_reading():
    got = decode("signed-decimal-cr", b"\x00\xfe+012.345\r+012.346\r")
    assert lengths(got) == [12_346_000]
    assert [type(o) for o in got] == [Note, Fault, Reading]


def test_a_nul_inside_a_line_rejects_it():
    (fault,) = decode("signed-decimal-cr", bytes.fromhex("2b30310032 2e3334350d"))
    assert fault.fault == "unreadable"
    assert "NUL" in fault.hint


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
    assert "out of range" in fault.hint


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
    assert isinstance(second, Reading)


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


# ------------------------------------------------------------------ 24 bits


def test_24_bits_of_two_layouts():
    frames = [bytes.fromhex(h) for h in ("a50900", "a50920", "a50980", "d20400")]
    first = [values(decode("counts-24", f)) for f in frames]
    assert first == [
        [("24.69", "mm", 24_690_000)],
        [("-24.69", "mm", -24_690_000)],
        [("1.2345", "in", 31_356_300)],
        [("12.34", "mm", 12_340_000)],
    ]
    second = [values(decode("counts-24-start-bit", f)) for f in frames]
    assert second == [[("12.34", "mm", 12_340_000)], [("-12.34", "mm", -12_340_000)], [], []]


def test_24_bits_cut_give_no_number_until_there_was_silence():
    got = decode("counts-24", bytes.fromhex("a509 a50900 a50900"))
    assert lengths(got) == []
    wire = Wire(profile("counts-24"), min_repeat_ms=0)
    got = wire.feed(bytes.fromhex("a509"), 0) + wire.feed(bytes.fromhex("a50900"), 100 * MS)
    assert [type(o) for o in got] == [Fault, Reading]


# ------------------------------------------------------------------ 13 nibbles


def packed(nibbles, order):
    digits = [int(c, 16) for c in nibbles] + [0]
    if order == "lsb":
        return bytes(a | b << 4 for a, b in zip(digits[::2], digits[1::2], strict=True))
    bits = "".join(f"{n:04b}"[::-1] for n in digits)
    return int(bits, 2).to_bytes(7, "big")


@pytest.mark.parametrize("order", ["lsb", "msb"])
@pytest.mark.parametrize(
    ("nibbles", "want"),
    [
        ("FFFF801234530", ("-12.345", "mm", -12_345_000)),
        ("FFFF000012330", ("0.123", "mm", 123_000)),
        ("FFFF001234551", ("0.12345", "in", 3_135_630)),
        ("FFFF021076540", ("21.0765", "mm", 21_076_500)),
        ("FFFF800000030", ("0.000", "mm", 0)),
    ],
)
def test_13_nibbles(order, nibbles, want):
    assert values(decode(f"nibbles-52-{order}", packed(nibbles, order))) == [want]


def test_13_nibbles_as_packed_by_two_adapters():
    assert packed("FFFF801234530", "lsb").hex(" ") == "ff ff 08 21 43 35 00"
    assert packed("FFFF801234530", "msb").hex(" ") == "ff ff 10 84 c2 ac 00"


@pytest.mark.parametrize("order", ["lsb", "msb"])
@pytest.mark.parametrize(
    "nibbles",
    [
        "FFF708091AA10",  # one bit lost at the start
        "FFFF102468A60",  # one bit too many
        "FFFF0012A4530",
        "FFFF001234560",
        "FFFF001234558",
        "FFFF001234555",
        "FFFF001234542",
    ],
)
def test_13_nibbles_refused(order, nibbles):
    got = decode(f"nibbles-52-{order}", packed(nibbles, order))
    assert lengths(got) == []
    assert b"".join(o.raw for o in got) == packed(nibbles, order)


def test_unit_nibble_of_other_families():
    assert values(decode("nibbles-52-inch-8", packed("FFFF001234558", "lsb"))) == [
        ("0.12345", "in", 3_135_630)
    ]
    (inch,) = decode("nibbles-52-judged", packed("FFFF001234555", "lsb"))
    assert (inch.unit, inch.judgement) == ("in", "+NG")
    (metric,) = decode("nibbles-52-judged", packed("FFFF001234542", "lsb"))
    assert (metric.value, metric.unit, metric.judgement) == ("1.2345", "mm", "+NG")


@pytest.mark.parametrize("shift", range(1, 8))
def test_13_nibbles_shifted_by_bits_never_read(shift):
    word = int.from_bytes(packed("FFFF021076540", "lsb"), "little")
    for moved in (word >> shift, word << shift & (1 << 56) - 1):
        assert lengths(decode("nibbles-52-lsb", moved.to_bytes(7, "little"))) == []


# ------------------------------------------------------------------ late answers


def test_a_late_answer_never_belongs_to_the_next_request():
    wire = Wire(profile("signed-decimal-on-request"))
    asker = Asker(Ask(b"?\r", slowest_ms=500), 100)  # too short for this gauge
    assert asker.poll(0) == b"?\r"
    asker.sent(0)
    assert asker.poll(600 * MS) == b""  # overdue: not asked again
    (late,) = asker.heard(wire.feed(b"+012.345\r", 865 * MS), 865 * MS)
    assert late.suspect == "late, request 1"
    assert asker.poll(1364 * MS) == b""
    assert asker.poll(1365 * MS) == b"?\r"


def test_where_it_was_asked_again_both_answers_are_marked():
    wire = Wire(profile("signed-decimal-on-request"))
    asker = Asker(Ask(b"?\r", slowest_ms=500), 100)
    asker.sent(0)
    asker.sent(600 * MS)
    marks = []
    for ms, line in ((865, b"+012.345\r"), (1465, b"+012.346\r")):
        marks += [o.suspect for o in asker.heard(wire.feed(line, ms * MS), ms * MS)]
    assert marks == ["late, request 1", "late, request 2"]


# ------------------------------------------------------------------ flow control, joined, cut


def test_flow_control_bytes_reject_the_line():
    (fault,) = decode("signed-decimal-free-width-cr", bytes.fromhex("2b3111132e350d0a"))
    assert "flow control" in fault.hint


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


# ------------------------------------------------------------------ before the session


def test_old_lines_at_opening_are_never_dated_now():
    wire = Wire(profile("signed-decimal-cr"))
    wire.opened(0)
    old = wire.feed(b"+001.000\r" * 60, MS)
    new = wire.feed(b"+002.000\r", 3 * S)
    assert [o.note for o in old] == [BEFORE]
    assert lengths(new) == [2_000_000]


def test_the_first_press_after_a_quiet_opening_is_a_reading():
    wire = Wire(profile("signed-decimal-cr"))
    wire.opened(0)
    assert lengths(wire.feed(b"+012.345\r", 5 * S)) == [12_345_000]


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
    readings = [o for o in got if isinstance(o, Reading)]
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
    assert "another reader" in got[-1].hint
    assert "another reader" not in got[-2].hint


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
