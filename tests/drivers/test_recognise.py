"""Which profiles fit what was heard: two whole frames, and nothing that does not fit."""

import tomllib
from decimal import Decimal
from importlib.resources import files

import pytest

from barrelfit.drivers.profile import profile_from
from barrelfit.drivers.recognise import recognise

MS = 1_000_000
PROFILES = [
    profile_from(tomllib.loads(entry.read_text(), parse_float=Decimal), entry.name)
    for entry in sorted(
        files("barrelfit.drivers").joinpath("profiles").iterdir(), key=lambda e: e.name
    )
]


def even(data):
    return bytes(b | (b.bit_count() % 2) << 7 for b in data)


def ids(*chunks, needed=2):
    timed = [(n * 500 * MS, data) for n, data in enumerate(chunks)]
    return [(f.profile.id, f.bits, f.parity) for f in recognise(timed, PROFILES, needed)]


@pytest.mark.parametrize("profile", [p for p in PROFILES if not p.is_keyboard], ids=lambda p: p.id)
def test_every_profile_is_among_those_that_fit_its_own_readings(profile):
    raws = [e.raw for e in profile.examples if all("length_nm" in o for o in e.outcomes)]
    if not raws:
        raws = [
            next(e.raw for e in profile.examples if e.outcomes[0].keys() & {"length_nm", "mass_fg"})
        ]
    assert (profile.id, 8, "none") in ids(*raws[:2], *raws[:2])


def test_fixed_width_comes_before_free_width():
    found = ids(b"+012.345\r", b"+012.346\r")
    assert found[0][0].startswith("signed-decimal-")
    assert found[-1] == ("signed-decimal-free-width-cr", 8, "none")


def test_parity_in_bit_seven_names_the_line():
    line = b"RNM   25.400\r\n"
    assert ids(even(line), even(line)) == [("header-unit-letter-padded", 7, "even")]
    odd = bytes(b ^ 0x80 for b in even(line))
    assert ids(odd, odd) == [("header-unit-letter-padded", 7, "odd")]


def test_one_frame_is_not_enough():
    assert ids(b"RNM   25.400\r\n") == []
    assert ids(b"RNM   25.400\r\n", needed=1) != []


def test_listening_may_begin_and_end_inside_a_line():
    assert ("header-unit-letter-padded", 8, "none") in ids(
        b"  25.400\r\n", b"RNM   25.400\r\nRNM   25.4", b"10\r\nRNM  "
    )


@pytest.mark.parametrize(
    "chunks",
    [
        (b"\x8d\x12\xff\x00", b"\x91\xe2\x03"),
        (b"RNM   25.400\r\n", b"\xffx\r\n", b"RNM   25.400\r\n"),
        (b"RNM   25.400\r\n", b"hello\r\n", b"RNM   25.400\r\n"),
        (b"", b""),
    ],
)
def test_anything_that_does_not_fit_spoils_it(chunks):
    assert ids(*chunks) == []


def test_error_lines_of_the_profile_do_not_spoil_it():
    assert ("signed-decimal-cr", 8, "none") in ids(b"+012.345\r", b"ERR3\r", b"+012.346\r")


@pytest.mark.parametrize(
    ("gaps_ms", "streams"),
    [((50,) * 9, True), ((2000,) * 5, False), ((45, 2000, 45, 2000), False), ((45,), False)],
)
def test_readings_that_come_quicker_than_a_button_is_pressed_are_a_stream(gaps_ms, streams):
    """A gauge with a data key may have been set to send all the time; a key may bounce."""
    at_ms = [sum(gaps_ms[:n]) for n in range(len(gaps_ms) + 1)]
    chunks = [(ms * 1_000_000, b"RNM   84.0%02d\r\n" % n) for n, ms in enumerate(at_ms)]
    fits = recognise(chunks, PROFILES, 2)
    assert fits
    assert fits[0].streams == streams
