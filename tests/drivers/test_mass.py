"""A scale's wire: exact masses, and nothing that is no mass at rest becomes one."""

from decimal import Decimal
from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from barrelfit.drivers.decode import Wire
from barrelfit.drivers.errors import DriverError
from barrelfit.drivers.outcome import UNSTEADY, Note, WireFault, WireMass, WireReading
from barrelfit.drivers.profile import profile_from
from barrelfit.drivers.proving import decode_whole
from barrelfit.drivers.quantity import MASS_MAX_FG, QuantityError, digit_fg, mass_fg
from tests.drivers.test_profiles import read
from tests.drivers.wires import decode, profile
from tests.spoken import text_of

STREAM, ONCE = "steady-letter-mass-unit-crlf", "settled-mass-unit-cr"
SCALES = {name: profile(name) for name in (STREAM, ONCE)}
FG = 10**15
OUNCE_G = Fraction("28.349523125")
"""The avoirdupois ounce (NIST SP 811, appendix B.8: 2.834 952 E-02 kg; a sixteenth of the pound of
exactly 0.453 592 37 kg)."""
NAMES = {"g": Fraction(1), "kg": Fraction(1000), "oz": OUNCE_G}


def test_the_ounce_is_a_sixteenth_of_the_pound():
    assert Fraction("453.59237") == OUNCE_G * 16
    assert mass_fg(minus=False, digits="1", decimals=0, unit="oz") == OUNCE_G * FG


@given(
    minus=st.booleans(),
    count=st.integers(0, 99_999),
    decimals=st.integers(0, 4),
    unit=st.sampled_from(["g", "kg", "oz"]),
)
def test_a_mass_is_exact_or_refused(minus, count, decimals, unit):
    exact = Fraction(count, 10**decimals) * NAMES[unit] * FG
    if exact > MASS_MAX_FG:
        with pytest.raises(QuantityError, match="heavier"):
            mass_fg(minus, str(count), decimals, unit)
        return
    found = mass_fg(minus, str(count), decimals, unit)
    assert abs(found) == exact
    assert found == (-exact if minus else exact)


def test_more_decimals_than_are_kept_are_refused_and_never_rounded():
    with pytest.raises(QuantityError) as raised:
        mass_fg(minus=False, digits="10000001", decimals=7, unit="oz")
    assert raised.value.fault == "not exact"
    assert digit_fg("512.4", "g") == FG // 10
    assert digit_fg("512", "g") == FG


# ---------------------------------------------------------------- frames


def stream_line(letter, sign, digits, decimals, unit):
    number = f"{Decimal(digits).scaleb(-decimals):f}"
    return f"{letter}{sign}{number:>7}{unit}\r\n".encode()


LINES = st.builds(
    stream_line,
    st.sampled_from("qw"),
    st.sampled_from("+-"),
    st.integers(0, 8_999),
    st.integers(1, 4),
    st.sampled_from(["g", "kg", "oz"]),
)
OTHERS = st.sampled_from(
    [b"q^^^^\r\n", b"q____\r\n", b"q!07\r\n", b"q+512.4\r\n", b"q+512,4g\r\n", b"\r\n", b"w\r\n"]
)


@given(lines=st.lists(LINES | OTHERS, max_size=20), cuts=st.lists(st.integers(0, 400)))
def test_pieces_change_nothing_and_only_what_is_at_rest_is_a_mass(lines, cuts):
    data = b"".join(lines)
    wire, got = Wire(SCALES[STREAM], min_repeat_ms=0), []
    places = sorted({0, len(data), *(c for c in cuts if c < len(data))})
    for start, end in pairwise(places):
        got += wire.feed(data[start:end], 0)
    got += wire.closed(0)
    assert b"".join(o.raw for o in got) == data
    expected = [
        (Decimal(line[2:-2].rstrip(b"kgoz").strip().decode()), line[1:2] == b"-")
        for line in lines
        if line[:1] == b"q" and line[-3:-2] in b"gz" and b"," not in line
        if b"kg" not in line or float(line[2:-4]) <= 9  # more is no part
        if b"oz" not in line or float(line[2:-4]) <= 317
    ]
    masses = [o for o in got if isinstance(o, WireMass)]
    assert [abs(Decimal(o.value)) for o in masses] == [number for number, _ in expected]
    assert all(o.mass_fg <= 0 for o, (_, minus) in zip(masses, expected, strict=True) if minus)
    assert not [o for o in got if isinstance(o, WireReading)]


@given(data=st.binary(max_size=80))
def test_any_bytes_end_in_no_error_and_in_no_length(data):
    for scale in SCALES.values():
        assert not [o for o in decode_whole(scale, data) if isinstance(o, WireReading)]


@given(place=st.integers(0, 11), byte=st.integers(0, 127))
def test_one_exchanged_byte_never_makes_a_moving_or_overloaded_scale_a_mass(place, byte):
    for line in (b"q^^^^\r\n", b"q____\r\n", b"q!07\r\n"):
        changed = line[: place % 5] + bytes([byte]) + line[place % 5 + 1 :]
        found = decode_whole(SCALES[STREAM], changed)
        assert not [o for o in found if isinstance(o, WireMass)]


def test_at_rest_moving_and_faults():
    outcomes = decode(STREAM, b"q+  512.4g\r\nw+  498.7g\r\nq^^^^\r\nq!03\r\n")
    assert [type(o) for o in outcomes] == [WireMass, Note, WireFault, WireFault]
    assert outcomes[1].note == UNSTEADY
    assert [o.fault for o in outcomes[2:]] == ["overload", "scale error 03"]


# ---------------------------------------------------------------- profiles


def test_lengths_and_masses_do_not_stand_in_one_layout():
    data = read(STREAM)
    data["layout"]["units"] = {"g": "g", "kg": "mm", "oz": "oz"}
    with pytest.raises(DriverError) as raised:
        profile_from(data, "mine.toml")
    assert "lengths and masses in one layout" in text_of(raised.value)


def test_a_scales_profile_has_no_digit_in_nm():
    data = read(STREAM) | {"gauge": {"digit_nm": 1}}
    with pytest.raises(DriverError) as raised:
        profile_from(data, "mine.toml")
    assert "gauge: unknown key" in text_of(raised.value)


def test_a_scale_whose_wire_tells_no_unit_may_be_set_to_another():
    data = read(ONCE)
    data["layout"] = {"pattern": r"(?P<number>\d{1,5}\.\d)", "unit": "g"}
    data["example"] = [
        {"text": "512.4\r", "mass_fg": 512_400_000_000_000_000},
        {"text": "x\r", "fault": "unreadable"},
    ]
    made = profile_from(data, "mine.toml")
    (mass,) = decode_whole(made.in_unit("oz"), b"18.1\r")
    assert mass.mass_fg == OUNCE_G * FG * 181 / 10
    with pytest.raises(DriverError):
        made.in_unit("mm")
