"""Checksums against the check values that catalogues of cyclic codes give for `123456789`."""

import pytest

from barrelfit.drivers.checksum import SUMS, Checksum

NINE = b"123456789"


@pytest.mark.parametrize(
    ("kind", "value"),
    [  # check values of the catalogues of cyclic codes, from memory
        ("crc8-07", 0xF4),
        ("crc16-1021-ones", 0x29B1),
        ("crc16-1021-zeros", 0x31C3),
        ("crc16-a001-ones", 0x4B37),
        ("crc16-a001-zeros", 0xBB3D),
        ("sum", sum(NINE) & 0xFF),
        ("sum-16", sum(NINE)),
    ],
)
def test_check_values(kind, value):
    assert SUMS[kind][1](NINE) == value


def test_it_stands_where_it_is_said_to_and_covers_what_it_is_said_to():
    checksum = Checksum("xor", "hex-upper", first=1, gap=1, tail=1)
    assert checksum.fits(b"\x02" + NINE + b"," + b"31" + b"\x03")
    assert not checksum.fits(b"\x02" + NINE + b"," + b"32" + b"\x03")
    assert not checksum.fits(b"31")
    low = Checksum("crc16-a001-ones", "low-first", 0, 0, 0)
    assert low.fits(NINE + bytes.fromhex("374b"))
    assert not low.fits(NINE + bytes.fromhex("4b37"))
