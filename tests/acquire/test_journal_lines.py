"""The journal's lines: what is sealed is read back, and nothing else is believed."""

import hashlib
import json

import google_crc32c
import pytest
from hypothesis import given
from hypothesis import strategies as st

from barrelfit.acquire.journal.codec import CodecError
from barrelfit.acquire.journal.damage import CorruptError, UnreadableError
from barrelfit.acquire.journal.lines import (
    GENESIS,
    Head,
    Scanner,
    Stamp,
    after,
    bus_copy,
    line_hash,
    seal,
)
from tests.acquire.journal_samples import EVENTS, lines, reading, stamp

LINES = lines()
WHOLE = b"".join(LINES)


def scan(data, **options):
    scanner = Scanner(**options)
    records = scanner.feed(data)
    return records, scanner.end(), scanner.head


def test_what_is_sealed_is_read_back():
    records, torn, head = scan(WHOLE)
    assert torn == 0
    assert [r.event for r in records] == EVENTS
    assert [r.seq for r in records] == list(range(1, len(EVENTS) + 1))
    assert [r.because for r in records] == [None, *range(1, len(EVENTS))]
    assert [(r.t_ns, r.utc) for r in records] == [tuple(stamp(n)) for n in range(len(EVENTS))]
    assert head == Head(len(EVENTS), line_hash(LINES[-1]), len(WHOLE))


def test_a_line_is_one_json_object_with_the_documented_keys():
    for line in LINES:
        plain = json.loads(line)
        assert list(plain) == ["seq", "kind", "v", "because", "t", "utc", "data", "prev", "sum"]
        copy = json.loads(bus_copy(line))
        del plain["prev"], plain["sum"]
        assert copy == plain


def test_the_chain_is_plain_sha256_of_whole_lines():
    before = b""
    for line in LINES:
        assert json.loads(line)["prev"] == hashlib.sha256(before).hexdigest()
        before = line
    assert hashlib.sha256(b"").hexdigest() == GENESIS


def test_sha256_published_examples():
    # FIPS 180-4 examples ("abc" and the 448-bit message), NIST CAVS 11.0 SHA256ShortMsg (Len 8)
    assert line_hash(b"").startswith("e3b0c44298fc1c14")
    assert line_hash(b"abc").startswith("ba7816bf")
    assert line_hash(b"abc").endswith("15ad")
    two_blocks = b"abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq"
    assert line_hash(two_blocks).startswith("248d6a61")
    assert line_hash(two_blocks).endswith("06c1")
    one_byte = "28969cdfa74a12c82f3bad960b0b000aca2ac329deea5c2328ebc6f2ba9802c1"
    assert line_hash(b"\xd3") == one_byte


@pytest.mark.parametrize(
    ("data", "crc"),
    [
        (b"123456789", 0xE3069283),  # the catalogue's check value for CRC-32C (ISCSI)
        (bytes(32), 0x8A9136AA),  # RFC 3720 B.4
        (b"\xff" * 32, 0x62A8AB43),  # RFC 3720 B.4
        (bytes(range(32)), 0x46DD794E),  # RFC 3720 B.4
        (bytes(range(31, -1, -1)), 0x113FDB5C),  # RFC 3720 B.4
    ],
)
def test_crc32c_published_check_values(data, crc):
    assert google_crc32c.value(data) == crc


def test_a_cut_at_every_byte_leaves_a_clean_prefix():
    ends = [0]
    for line in LINES:
        ends.append(ends[-1] + len(line))
    for cut in range(len(WHOLE) + 1):
        records, torn, head = scan(WHOLE[:cut])
        whole = max(n for n, end in enumerate(ends) if end <= cut)
        assert [r.event for r in records] == EVENTS[:whole]
        assert torn == cut - ends[whole]
        assert head.length == ends[whole]


@pytest.mark.slow
def test_a_flipped_bit_at_every_byte_is_refused():
    for place in range(len(WHOLE)):
        for bit in range(8):
            bad = bytearray(WHOLE)
            bad[place] ^= 1 << bit
            number = WHOLE[:place].count(b"\n") + 1
            with pytest.raises(CorruptError) as caught:
                scan(bytes(bad))
            assert caught.value.line in (number, number + 1)


def test_nul_tails_are_torn():
    cut = WHOLE[: -len(LINES[-1])]
    for kept in (0, 1, 40, len(LINES[-1]) - 1):
        records, torn, _ = scan(cut + LINES[-1][:kept] + bytes(700))
        assert len(records) == len(LINES) - 1
        assert torn == kept + 700


def test_a_torn_line_that_swallowed_the_next_record_is_refused():
    # an append behind a torn tail, without cutting it first: both records in one line
    joined = LINES[0] + LINES[1][:40] + LINES[2]
    with pytest.raises(CorruptError, match="line 2"):
        scan(joined)


@pytest.mark.parametrize(
    ("name", "data", "line"),
    [
        ("a line taken out", LINES[0] + LINES[2], 2),
        ("a line doubled", LINES[0] + LINES[0], 2),
        ("two lines exchanged", LINES[0] + LINES[2] + LINES[1], 2),
        ("an empty line", LINES[0] + b"\n" + LINES[1], 2),
        ("the first lines cut off", b"".join(LINES[1:]), 1),
        ("a line that is no JSON", LINES[0] + b"hello\n", 2),
        ("not a journal at all", b"t_s,reading_mm\n0.0,1.0\n", 1),
        ("a tail that is no record", LINES[0] + b"hello", 2),
        ("a tail with another seq", LINES[0] + LINES[2][:60], 2),
        ("carriage return for newline", LINES[0][:-1] + b"\r", 1),
    ],
)
def test_what_does_not_fit_is_refused_by_line(name, data, line):
    with pytest.raises(CorruptError) as caught:
        scan(data)
    assert caught.value.line == line, name


def resealed(line, **changes):
    """A line forged with care: changed, with a checksum that fits."""
    body = line
    for old, new in changes.values():
        assert old in body
        body = body.replace(old, new)
    body = body[: body.rindex(b',"sum"')]
    return body + b',"sum":"%08x"}\n' % google_crc32c.value(body)


def test_a_forged_line_breaks_the_chain_at_the_next():
    forged = resealed(LINES[3], value=(b"12345000", b"12345001"))
    with pytest.raises(CorruptError, match="line 5: does not follow"):
        scan(b"".join([*LINES[:3], forged, *LINES[4:]]))


def test_a_forged_last_line_changes_the_head_hash():
    forged = resealed(LINES[-1], how=(b'"done"', b'"none"'))
    _, _, head = scan(b"".join([*LINES[:-1], forged]))
    assert head.hash != line_hash(LINES[-1])


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        (b'"kind":"reading_taken"', b'"kind":"dream_dreamt"', "newer barrelfit"),
        (b'"v":1', b'"v":99', "newer barrelfit"),
        (b'"length_nm":12345000', b'"length_nm":"long"', "no reading_taken"),
        (b'"length_nm":12345000', b'"length_nm":12345000,"colour":1', "no reading_taken"),
        (b'"length_nm":12345000', b'"length_nm":12345000.5', "no reading_taken"),
    ],
)
def test_a_whole_line_of_an_unknown_shape_is_unreadable_not_corrupt(old, new, says):
    line = resealed(LINES[3], change=(old, new))
    with pytest.raises(UnreadableError, match=f"line 4: .*{says}"):
        scan(b"".join([*LINES[:3], line]))


def test_nan_in_a_line_is_refused():
    line = resealed(LINES[8], u=(b"410.5", b"NaN"))
    with pytest.raises((CorruptError, UnreadableError), match="line 9"):
        scan(b"".join([*LINES[:8], line]))


@pytest.mark.parametrize("utc", ["2026-11-25T01:02:03Z", "2026-11-25T01:02:03.5Z", "", "now"])
def test_a_stamp_without_six_decimals_and_z_is_never_written(utc):
    with pytest.raises(CodecError, match="six decimals"):
        seal(Head(), reading(), Stamp(1, utc))


def test_reading_goes_on_from_a_head_and_stops_at_a_seq():
    head = Head()
    for line in LINES[:5]:
        head = after(head, line)
    records, _, _ = scan(b"".join(LINES[5:]), head=head, stop_seq=8)
    assert [r.seq for r in records] == [6, 7]
    assert scan(WHOLE, stop_seq=1)[0] == []


@pytest.mark.slow
@given(st.lists(st.integers(1, 900), min_size=1, max_size=60))
def test_chunks_never_matter(sizes):
    scanner, records, place = Scanner(), [], 0
    for size in sizes:
        records += scanner.feed(WHOLE[place : place + size])
        place += size
    records += scanner.feed(WHOLE[place:])
    assert scanner.end() == 0
    assert [r.event for r in records] == EVENTS


def test_an_endless_line_is_refused_before_it_fills_the_memory(monkeypatch):
    monkeypatch.setattr("barrelfit.acquire.journal.lines.LINE_BYTES_MAX", 1000)
    scanner = Scanner()
    for _ in range(10):
        scanner.feed(b"x" * 100)
    with pytest.raises(CorruptError, match="longer than a line"):
        scanner.feed(b"x")
