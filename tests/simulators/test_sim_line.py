"""What a simulated gauge writes: the profiles' examples judge it, and the decoder must agree."""

import tomllib
from decimal import Decimal
from functools import cache
from importlib.resources import files

import pytest
from hypothesis import given
from hypothesis import strategies as st

from barrelfit.drivers.decode import Wire
from barrelfit.drivers.outcome import Shown, WireFault
from barrelfit.drivers.profile import profile_from
from barrelfit.drivers.quantity import MASS_MAX_FG
from barrelfit.simulators.errors import SimulatorError
from barrelfit.simulators.line import Encoder, profile_ids, profile_tables
from barrelfit.simulators.writers import pack, readings_of, unpack

LINES = [p for p in profile_ids() if not p.startswith("keyboard")]
NM = {"mm": 1_000_000, "in": 25_400_000}
WEIGH = [p for p in LINES if "mass" in p]
MICROMETERS = [p for p in LINES if p not in WEIGH]
TENTH_G_FG = 10**14


def amount(outcome):
    """The length or mass of a reading, as decoded or as an example has it."""
    said = outcome if isinstance(outcome, dict) else {k: getattr(outcome, k, None) for k in SORTS}
    return next(said[key] for key in SORTS if said.get(key) is not None)


SORTS = ("length_nm", "mass_fg")


@cache
def decoder(profile_id):
    text = (
        files("barrelfit.drivers")
        .joinpath("profiles", f"{profile_id}.toml")
        .read_text(encoding="utf-8")
    )
    return profile_from(tomllib.loads(text, parse_float=Decimal), profile_id)


@cache
def writer(profile_id):
    """Writes each amount by itself: nothing of the one before stays in it."""
    return Encoder(profile_tables(profile_id))


def readings(profile, data):
    wire = Wire(profile, min_repeat_ms=0)
    outcomes = wire.feed(data, 0) + wire.idle(10**10) + wire.closed(10**10)
    return [o for o in outcomes if isinstance(o, Shown | WireFault)]


@pytest.mark.parametrize("profile_id", LINES)
def test_first_example_is_written_byte_for_byte(profile_id):
    tables = profile_tables(profile_id)
    raw, outcomes = readings_of(tables)[0]
    assert Encoder(tables).encode(amount(outcomes[0])) == raw


@pytest.mark.parametrize("profile_id", LINES)
def test_every_example_of_the_same_unit_means_the_same_when_written(profile_id):
    """Optional parts (a judgement, a blank for plus) may differ; what it means may not."""
    tables, profile = profile_tables(profile_id), decoder(profile_id)
    encoder, judged = Encoder(tables), 0
    for _raw, outcomes in readings_of(tables):
        try:
            frame = encoder.encode(amount(outcomes[0]))
        except SimulatorError:
            continue  # more decimals, or the other unit, than the gauge is switched to
        assert amount(readings(profile, frame)[0]) == amount(outcomes[0])
        judged += 1
    assert judged >= 1


@pytest.mark.parametrize("profile_id", LINES)
@given(count=st.integers(-99_999, 99_999))
def test_decoder_reads_back_what_is_written(profile_id, count):
    profile, encoder = decoder(profile_id), writer(profile_id)
    shown = count * (profile.digit_nm or TENTH_G_FG)
    try:
        frame = encoder.encode(shown)
    except SimulatorError:
        return  # this gauge has no such reading: too long, or finer than its digit
    (read,) = readings(profile, frame)[:1]
    if profile.weighs and abs(shown) > MASS_MAX_FG:
        assert read.fault == "implausible"
        return
    assert amount(read) == shown


@pytest.mark.parametrize("profile_id", MICROMETERS)
def test_gauge_can_show_what_a_micrometer_shows(profile_id):
    # 12.345 mm fits every profile here but those in inches or hundredths
    profile = decoder(profile_id)
    shown = 12_345_000 // profile.digit_nm * profile.digit_nm
    frame = Encoder(profile_tables(profile_id)).encode(shown)
    assert readings(profile, frame)[0].length_nm == shown


def test_switched_unit_is_seen_only_where_the_wire_says_it():
    blind = Encoder.for_profile("signed-decimal-cr")
    assert blind.switched(84_012_000) == b"+003.308\r"
    telling = Encoder.for_profile("decimal-unit-suffix")
    assert telling.switched(84_012_000) == b"+3.30756 in\r"


def test_polled_gauge_waits_for_the_whole_request():
    encoder = Encoder.for_profile("signed-decimal-on-request")
    assert encoder.polled
    assert not encoder.asks(b"?")
    assert encoder.asks(b"\r")
    assert not encoder.asks(b"")


def test_what_cannot_be_shown_is_refused_not_rounded():
    encoder = Encoder.for_profile("signed-decimal-cr")
    with pytest.raises(SimulatorError, match="can't show 12345500 exactly"):
        encoder.encode(12_345_500)
    with pytest.raises(SimulatorError, match="can't show 1000000000000"):
        encoder.encode(10**12)
    with pytest.raises(SimulatorError, match="no profile is called 'shouting'"):
        Encoder.for_profile("shouting")
    with pytest.raises(SimulatorError, match="typed on a keyboard"):
        Encoder.for_profile("keyboard-decimal")


@given(st.text("0123456789ABCDEF", min_size=2, max_size=14).filter(lambda t: len(t) % 2 == 0))
def test_packed_nibbles_come_back(digits):
    assert unpack(pack(digits, "lsb"), "lsb") == digits
    assert unpack(pack(digits, "msb"), "msb") == digits


def test_packed_nibbles_as_published():
    # a published report of a 52-bit output gives these bits for -12.345 mm
    assert pack("FFFF8012345300", "lsb").hex() == "ffff0821433500"
    assert pack("FFFF8012345300", "msb").hex() == "ffff1084c2ac00"
