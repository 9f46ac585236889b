"""Binary frames: 24 bits of two layouts, 13 nibbles as two adapters pack them.

The bytes come from published layouts; each test's name says the kind.
"""

import pytest

from barrelfit.drivers.decode import Wire
from barrelfit.drivers.outcome import WireFault, WireReading
from tests.drivers.wires import MS, decode, lengths, profile, values
from tests.spoken import text_of

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
    assert [type(o) for o in got] == [WireFault]
    assert [type(o) for o in wire.idle(121 * MS)] == [WireReading]


@pytest.mark.parametrize("name", ["counts-24", "counts-24-start-bit"])
def test_24_bits_count_only_when_silence_follows(name):
    frame = bytes.fromhex("a50900")
    for more, after_ms in ((frame, 0), (frame[:1], 1), (b"\x00", 19)):
        wire = Wire(profile(name), min_repeat_ms=0)
        got = wire.feed(frame, 0) + wire.feed(more, after_ms * MS) + wire.idle(500 * MS)
        assert lengths(got) == []
        assert b"".join(o.raw for o in got) == frame + more
        got = wire.feed(frame, 1000 * MS) + wire.feed(frame, 1100 * MS) + wire.idle(2000 * MS)
        assert len(lengths(got)) == 2


@pytest.mark.parametrize("name", ["lsb", "inch-8", "judged", "msb"])
@pytest.mark.parametrize("nibbles", ["FFFE084012340", "FFFE901234567"])
def test_13_nibbles_with_eight_digits_are_called_unsupported(name, nibbles):
    (fault,) = decode(f"nibbles-52-{name}", packed(nibbles, "msb" if name == "msb" else "lsb"))
    assert fault.fault == "unsupported"
    assert "eight digits" in text_of(fault.hint)


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
