"""Gauges that type: codes by the gauge's own table, repeats seen, keypads known.

Codes: HID Usage Tables 1.12, table 12 (keyboard page 0x07); boot report: HID 1.11 appendix B.1;
evdev: Linux input-event-codes.h.
"""

import itertools
import tomllib
from decimal import Decimal
from importlib.resources import files

import pytest
from hypothesis import given
from hypothesis import strategies as st

from barrelfit.drivers.decode import FILLING, Wire
from barrelfit.drivers.hid import TABLES, KeyFramer
from barrelfit.drivers.outcome import Note, WireFault, WireReading
from barrelfit.drivers.profile import profile_from
from barrelfit.drivers.proving import decode_whole
from tests.spoken import text_of

MS = 1_000_000
USAGES = {c: u for u, c in zip(range(0x1E, 0x28), "1234567890", strict=True)}
USAGES |= {"-": 0x2D, ",": 0x36, ".": 0x37, "\n": 0x28, "\t": 0x2B}
KEYPAD = {c: u for u, c in zip(range(0x54, 0x64), "/*-+\n1234567890.", strict=True)}


def profile(name, table="us"):
    text = files("barrelfit.drivers").joinpath("profiles", f"{name}.toml").read_text()
    data = tomllib.loads(text, parse_float=Decimal)
    data["frame"]["table"] = table
    return profile_from(data, name)


def report(*usages, modifiers=0):
    return bytes([modifiers, 0, *usages, *[0] * (6 - len(usages))])


def typed(text, keys=USAGES):
    return b"".join(report(keys[c]) + report() for c in text)


def events(*pairs):
    return bytes(byte for pair in pairs for byte in pair)


def strokes(codes):
    return events(*((code, value) for code in codes for value in (1, 0)))


def readings(outcomes):
    return [(o.value, o.suspect) for o in outcomes if isinstance(o, WireReading)]


@pytest.mark.parametrize(
    ("codes", "value"),
    [
        ("1e 1f 37 20 21 22 28", "12.345"),
        ("23 27 37 27 27 22 28", "60.005"),  # on a French host this typed "-à:àà("
        ("2d 27 37 27 1e 20 28", "-0.013"),
        ("59 5a 63 5b 5c 5d 58", "12.345"),  # keypad
        ("56 62 63 62 59 5b 2b", "-0.013"),  # keypad, Tab
    ],
)
def test_usages(codes, value):
    (reading,) = decode_whole(profile("keyboard-decimal-usages"), bytes.fromhex(codes))
    assert reading.value == value
    assert reading.raw == bytes.fromhex(codes)


def test_evdev_codes():
    got = decode_whole(profile("keyboard-decimal-events"), strokes([2, 3, 52, 4, 5, 6, 28]))
    assert readings(got) == [("12.345", "")]
    keypad = strokes([74, 82, 83, 82, 79, 81, 96])
    assert readings(decode_whole(profile("keyboard-decimal-events"), keypad)) == [("-0.013", "")]


def test_reports_by_main_row_and_keypad():
    for keys in (USAGES, KEYPAD):
        got = decode_whole(profile("keyboard-decimal"), typed("-12.345\n", keys))
        assert readings(got) == [("-12.345", "")]


def test_num_lock_around_digits_is_no_character():
    data = report(0x53) + report() + typed("12.345", KEYPAD)
    data += report(0x53) + report() + typed("\n", KEYPAD)
    (reading,) = decode_whole(profile("keyboard-decimal"), data)
    assert (reading.value, reading.suspect) == ("12.345", "")
    held = b"".join(report(0x53, KEYPAD[c]) + report(0x53) for c in "60.005\n")
    (reading,) = decode_whole(profile("keyboard-decimal"), report(0x53) + held)
    assert (reading.value, reading.suspect) == ("60.005", "")


def test_num_lock_as_evdev_codes_is_no_character():
    keys = [(79, 1), (79, 0), (83, 1), (83, 0), (76, 1), (76, 0), (80, 1), (80, 0)]  # 1 . 5 2
    lock = [(69, 1), (69, 0)]
    data = events(*lock, *keys, *lock, (96, 1), (96, 0))
    (reading,) = decode_whole(profile("keyboard-decimal-events"), data)
    assert (reading.value, reading.suspect) == ("1.52", "")


def test_a_missing_release_is_suspect_and_the_doubled_digit_is_not_invented():
    keys = [(2, 1), (2, 2), (2, 0), (52, 1), (52, 0), (2, 1), (2, 0), (28, 1), (28, 0)]
    (fault,) = decode_whole(profile("keyboard-decimal-events"), events(*keys))
    assert fault.fault == "unreadable"  # "1.1" where the gauge sends at least two decimals
    assert "repeated" in text_of(fault.hint)
    keys[7:7] = [(3, 1), (3, 0)]
    got = decode_whole(profile("keyboard-decimal-events"), events(*keys))
    assert readings(got) == [("1.12", "a key repeated: send again")]


def test_a_suspect_line_stays_suspect_when_it_comes_again():
    keys = [(2, 1), (2, 2), (2, 0), (52, 1), (52, 0), (3, 1), (3, 0), (3, 1), (3, 0), (28, 1)]
    wire = Wire(profile("keyboard-decimal-events"))
    got = [o for n in range(3) for o in wire.feed(events(*keys, (28, 0)), n * 5000 * MS)]
    assert readings(got) == [("1.22", "a key repeated: send again")] * 3


def test_two_presses_without_a_release_are_suspect():
    keys = [(2, 1), (2, 1), (2, 0), (28, 1), (28, 0)]
    (fault,) = decode_whole(profile("keyboard-decimal-events"), events(*keys))
    assert "repeated" in text_of(fault.hint)


def test_a_key_that_came_up_without_going_down_is_suspect():
    keys = [(2, 0), (3, 1), (3, 0), (52, 1), (52, 0), (4, 1), (4, 0), (5, 1), (5, 0), (28, 1)]
    got = decode_whole(profile("keyboard-decimal-events"), events(*keys))
    assert readings(got) == [("2.34", "a key came up that never went down: send again")]


def test_the_enter_of_before_may_come_up_first():
    keys = [(28, 0), (2, 1), (2, 0), (52, 1), (52, 0), (4, 1), (4, 0), (5, 1), (5, 0), (28, 1)]
    got = decode_whole(profile("keyboard-decimal-events"), events(*keys))
    assert readings(got) == [("1.34", "")]


def test_honest_doubled_digits_are_all_kept():
    assert readings(
        decode_whole(profile("keyboard-decimal-events"), strokes([2, 2, 52, 2, 2, 28]))
    ) == [("11.11", "")]
    assert readings(decode_whole(profile("keyboard-decimal"), typed("11.11\n"))) == [("11.11", "")]


def test_a_repeated_report_is_no_second_press_and_suspect():
    """A held key, or "11" whose first release was lost: 12.345 or 112.345."""
    data = report(0x1E) * 3 + report() + typed("2.345\n")
    ((value, suspect),) = readings(decode_whole(profile("keyboard-decimal"), data))
    assert (value, suspect) == ("12.345", "a key repeated: send again")
    held_enter = typed("12.345") + report(0x28) * 3 + report() + typed("12.346\n")
    got = readings(decode_whole(profile("keyboard-decimal"), held_enter))
    assert got == [("12.345", ""), ("12.346", "")]


def test_two_keys_that_went_down_in_one_report_have_no_order():
    data = report(0x1F, 0x1E) + report() + typed(".345\n")
    ((_, suspect),) = readings(decode_whole(profile("keyboard-decimal"), data))
    assert "their order is not known" in suspect


@pytest.mark.parametrize(
    ("name", "mark"), [("keyboard-decimal", "."), ("keyboard-decimal-comma", ",")]
)
def test_the_decimal_mark_is_the_profiles(name, mark):
    other = "," if mark == "." else "."
    assert readings(decode_whole(profile(name), typed(f"1{mark}234\n"))) == [("1.234", "")]
    (fault,) = decode_whole(profile(name), typed(f"1{other}234\n"))
    assert isinstance(fault, WireFault)


def test_fewer_decimals_than_before_may_be_a_lost_key():
    data = typed("12.345\n") + typed("12.34\n") + typed("12.346\n")
    suspects = [suspect for _, suspect in readings(decode_whole(profile("keyboard-decimal"), data))]
    assert [bool(s) for s in suspects] == [False, True, False]
    assert "fewer decimals than before" in suspects[1]


def test_two_keys_down_together_are_both_typed():
    data = report(0x1E) + report(0x1E, 0x1F) + report(0x1F) + report() + typed(".345\n")
    assert readings(decode_whole(profile("keyboard-decimal"), data)) == [("12.345", "")]


def test_rollover_makes_the_line_suspect():
    data = typed("12.3") + bytes([0, 0, 1, 1, 1, 1, 1, 1]) + typed("45\n")
    ((value, suspect),) = readings(decode_whole(profile("keyboard-decimal"), data))
    assert (value, suspect) == ("12.345", "too many keys at once")


@pytest.mark.parametrize("modifiers", [0x01, 0x04, 0x08, 0x10, 0x40, 0x80])
def test_a_key_with_ctrl_alt_or_gui_is_no_character(modifiers):
    data = typed("12.3") + report(0x21, modifiers=modifiers) + report() + typed("45\n")
    (fault,) = decode_whole(profile("keyboard-decimal"), data)
    assert isinstance(fault, WireFault)


def test_the_gauges_own_table_whatever_the_host():
    shift = 0x02
    french = b"".join(
        report(usage, modifiers=shift if shifted else 0) + report()
        for usage, shifted in (
            (0x23, False),  # minus
            (0x1E, True),
            (0x1F, True),
            (0x36, True),  # point
            (0x20, True),
            (0x21, True),
            (0x22, True),
            (0x28, False),
        )
    )
    assert readings(decode_whole(profile("keyboard-decimal", "fr"), french)) == [("-12.345", "")]
    (fault,) = decode_whole(profile("keyboard-decimal", "us"), french)
    assert isinstance(fault, WireFault)
    german = b"".join(report(u) + report() for u in (0x38, 0x27, 0x36, 0x27, 0x1E, 0x20, 0x28))
    assert readings(decode_whole(profile("keyboard-decimal-comma", "de"), german)) == [
        ("-0.013", "")
    ]


def test_every_table_has_digits_and_marks_somewhere():
    for name, table in TABLES.items():
        characters = {c for pair in table.values() for c in pair}
        assert set("0123456789-+.,") <= characters, name


def test_a_line_whose_first_keys_went_elsewhere_is_never_read():
    """The gauge was typing when it was taken from the desktop: "12.345" would become 2.345."""
    wire = Wire(profile("keyboard-decimal"))
    wire.opened(0)
    got = []
    for n, data in enumerate(typed("2.345\n")):
        got += wire.feed(bytes([data]), n // 8 * 8 * MS)
    assert readings(got) == []
    assert readings(wire.feed(typed("60.005\n"), 3000 * MS)) == [("60.005", "")]


def test_a_line_that_stops_is_incomplete_and_the_next_one_is_read():
    wire = Wire(profile("keyboard-decimal"))
    assert wire.feed(typed("12."), 0) == []
    first, *rest = wire.feed(typed("60.005\n"), 3000 * MS)
    assert (first.fault, first.raw) == ("incomplete", typed("12."))
    assert readings(rest) == [("60.005", "")]


def test_a_held_key_floods_nothing():
    framer = KeyFramer("key-events", "us", 64, 2000)
    for _ in range(10_000):
        framer.feed(events((2, 2)), 0)
        assert len(framer._raw) < 64 * 8


reports = st.lists(
    st.sampled_from([typed(c) for c in "0123456789.-\n"])
    | st.binary(min_size=8, max_size=8)
    | st.sampled_from([report(0x1E), report(0x28), report()]),
    max_size=60,
)


@given(reports, st.lists(st.integers(0, 500), max_size=10))
def test_every_report_comes_out_once_however_cut(chunks, cuts):
    data = b"".join(chunks)
    gauge = profile("keyboard-decimal")
    edges = sorted({0, len(data), *(c % (len(data) + 1) for c in cuts)})
    parts = [data[a:b] for a, b in itertools.pairwise(edges)]
    outcomes = []
    for cut in ([data], parts):
        wire = Wire(gauge, min_repeat_ms=0)
        got = [o for part in cut for o in wire.feed(part, 0)] + wire.closed(0)
        assert b"".join(o.raw for o in got) == data
        outcomes.append([o for o in got if not (isinstance(o, Note) and o.note == FILLING)])
    assert outcomes[0] == outcomes[1]


@given(st.decimals(-999, 999, places=3), st.sampled_from([USAGES, KEYPAD]))
def test_what_was_typed_is_read(number, keys):
    text = f"{number:.3f}"
    ((value, suspect),) = readings(
        decode_whole(profile("keyboard-decimal"), typed(f"{text}\n", keys))
    )
    assert (Decimal(value), suspect) == (number, "")
