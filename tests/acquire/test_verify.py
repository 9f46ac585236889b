"""Verify: whole, torn or altered, which line, and what others saw."""

import json
from pathlib import Path

import google_crc32c
import pytest

from barrelfit.acquire.errors import UserError
from barrelfit.acquire.index.witnesses import witnesses
from barrelfit.acquire.journal.damage import CorruptError
from barrelfit.acquire.journal.disk import RealDisk
from barrelfit.acquire.journal.events import HeadSeen, SessionClosed, SessionSigned
from barrelfit.acquire.journal.lines import Head, Scanner, after, line_hash, seal
from barrelfit.acquire.journal.session import Session, find_journal
from barrelfit.acquire.journal.verify import Claim, verify_journal
from tests.acquire.fake_disk import FakeDisk
from tests.acquire.journal_samples import EVENTS, lines, opened, reading, stamp
from tests.spoken import text_of

PATH = Path("/bench/s1.jsonl")
WHOLE = b"".join(lines())


def verify(data, claims=(), **options):
    disk = FakeDisk()
    disk.append_to(PATH).write(data)
    return verify_journal(PATH, disk, claims, **options)


def rewritten(changed):
    """A chain made anew from end to end with one event changed: consistent in itself."""
    events = [changed if e == reading() else e for e in EVENTS]
    return b"".join(lines(events))


def test_a_whole_journal():
    found = verify(WHOLE)
    assert found.outcome == "whole"
    assert (found.session, found.records, found.closed) == ("s1", len(EVENTS), True)
    assert found.head_hash == line_hash(lines()[-1])
    assert found.line is None


def test_a_torn_journal_says_where_and_how_much():
    found = verify(WHOLE + b'{"seq":14,')
    assert (found.outcome, found.line, found.torn_bytes) == ("torn", 14, 10)
    assert "never finished" in text_of(found.problem)
    assert found.head_hash == line_hash(lines()[-1])


def test_an_empty_file_is_torn():
    assert verify(b"").outcome == "torn"


def test_every_flipped_byte_is_altered():
    for place in range(0, len(WHOLE), 7):
        bad = bytearray(WHOLE)
        bad[place] ^= 0x04
        found = verify(bytes(bad))
        assert found.outcome == "altered"
        assert found.line in {WHOLE[:place].count(b"\n") + n for n in (1, 2)}


def test_a_newer_journal_is_unreadable_not_altered():
    line = WHOLE.splitlines(keepends=True)[3].replace(b'"v":1', b'"v":9')
    body = line[: line.rindex(b',"sum"')]
    line = body + b',"sum":"%08x"}\n' % google_crc32c.value(body)
    found = verify(b"".join(lines()[:3]) + line)
    assert (found.outcome, found.line) == ("unreadable", 4)
    assert "newer" in text_of(found.problem)


def test_a_head_hash_from_a_report_is_found_anywhere_in_the_chain():
    for line in lines():
        found = verify(WHOLE, [Claim(line_hash(line), None, "report")])
        assert (found.outcome, found.confirmed) == ("whole", ("report",))


def test_a_rewritten_chain_is_whole_in_itself_but_not_what_others_saw():
    forged = rewritten(reading("12.399"))
    assert verify(forged).outcome == "whole"
    was = line_hash(lines()[-1])
    found = verify(forged, [Claim(was, None, "the report")])
    assert found.outcome == "altered"
    assert "the report" in text_of(found.problem)
    found = verify(forged, [Claim(line_hash(lines()[5]), 6, "bench2")])
    assert (found.outcome, found.line) == ("altered", 6)
    assert "rewritten" in text_of(found.problem)
    assert verify(forged, [Claim(line_hash(lines()[1]), 2, "bench2")]).outcome == "whole"


def test_records_cut_off_at_a_line_end_are_missed_by_a_witness():
    short = b"".join(lines()[:5])
    assert verify(short).outcome == "whole"
    found = verify(short, [Claim(line_hash(lines()[8]), 9, "bench2")])
    assert found.outcome == "altered"
    assert "missing" in text_of(found.problem)


def test_a_later_part_is_checked_as_the_same_chain():
    disk = FakeDisk()
    disk.append_to(PATH).write(b"".join(lines()[:7]))
    disk.append_to(PATH.with_name("s1.part2.jsonl")).write(b"".join(lines()[4:]))
    assert verify_journal(PATH, disk).records == len(EVENTS)
    disk.files[PATH.with_name("s1.part2.jsonl")].seen[-30] ^= 1
    found = verify_journal(PATH, disk)
    assert (found.outcome, found.file, found.line) == ("altered", "s1.part2.jsonl", len(EVENTS))


@pytest.mark.parametrize(
    "tail", [b"", b"{", b'{"se', b'{"seq":4', b'{"seq":4,"kind":"re', bytes(99)]
)
def test_a_later_part_that_no_line_got_into_is_torn_wherever_it_began(tail):
    # it began with line 4, the first not known to be on disk; lines 4 and 5 survived all the same
    disk = FakeDisk()
    disk.append_to(PATH).write(b"".join(lines()[:5]) + b'{"seq":6,"ki' + bytes(30))
    disk.append_to(PATH.with_name("s1.part2.jsonl")).write(tail)
    found = verify_journal(PATH, disk)
    assert (found.outcome, found.records) == ("torn", 5)
    assert found.torn_bytes == 42 + len(tail)


def test_a_part_given_up_between_two_others_does_not_count():
    disk = FakeDisk()
    disk.append_to(PATH).write(b"".join(lines()[:5]))
    disk.append_to(PATH.with_name("s1.part2.jsonl")).write(b'{"seq":4,"ki')
    disk.append_to(PATH.with_name("s1.part3.jsonl")).write(b"".join(lines()[3:]))
    assert verify_journal(PATH, disk).outcome == "whole"


@pytest.mark.parametrize("tail", [b"x", b'{"sex', b'{"seq":x', b'{"seq":4,"kink', b"hello\n"])
def test_a_later_part_that_begins_as_no_record_is_altered(tail):
    disk = FakeDisk()
    disk.append_to(PATH).write(b"".join(lines()[:5]))
    disk.append_to(PATH.with_name("s1.part2.jsonl")).write(tail)
    found = verify_journal(PATH, disk)
    assert (found.outcome, found.file) == ("altered", "s1.part2.jsonl")


def test_a_part_whose_only_line_lost_its_end_is_altered():
    disk = FakeDisk()
    disk.append_to(PATH).write(b"".join(lines()[:5]))
    disk.append_to(PATH.with_name("s1.part2.jsonl")).write(lines()[5][:-1] + b"\x0b")
    assert verify_journal(PATH, disk).outcome == "altered"


# ---------------------------------------------------------------- witnesses


@pytest.fixture
def folder(tmp_path):
    (tmp_path / "s1.jsonl").write_bytes(WHOLE)
    head = line_hash(lines()[5])
    other = lines([opened("s2"), HeadSeen("bench1", "s1", 6, head), SessionClosed("done")])
    (tmp_path / "s2.jsonl").write_bytes(b"".join(other))
    return tmp_path


def test_other_benches_are_witnesses(folder):
    claims = witnesses(folder / "s1.jsonl", [], [folder])
    assert claims == [Claim(line_hash(lines()[5]), 6, "s2.jsonl")]
    forged = rewritten(reading("12.399"))
    assert verify(forged, claims).outcome == "altered"


def test_a_head_that_is_no_hash(folder):
    with pytest.raises(UserError, match="no head hash"):
        witnesses(folder / "s1.jsonl", ["xyz"], [])


def test_a_damaged_journal_still_gets_its_given_heads(folder):
    (folder / "s1.jsonl").write_bytes(b"nonsense\n")
    head = "0" * 64
    assert [c.head for c in witnesses(folder / "s1.jsonl", [head], [folder])] == [head]


# ---------------------------------------------------------------- signatures


def signed_journal(key=None, who="A. Smith", head=None):
    from barrelfit.acquire.journal.signing import sign_head  # noqa: PLC0415  slow to load
    from tests.acquire.test_signing import KEY  # noqa: PLC0415

    chain = Head()
    for line in lines():
        chain = after(chain, line)
    return WHOLE + seal(chain, sign_head(key or KEY, head or chain.hash, who), stamp(20))


def test_a_signature_is_checked():
    found = verify(signed_journal())
    assert (found.outcome, found.signed_by) == ("whole", ("A. Smith",))


def test_a_signature_over_another_head_is_found():
    found = verify(signed_journal(head="ab" * 32))
    assert (found.outcome, found.line) == ("altered", len(EVENTS) + 1)
    assert "A. Smith" in text_of(found.problem)


def test_the_wanted_key_must_have_signed():
    from tests.acquire.test_signing import KEY  # noqa: PLC0415

    public = KEY.public_key().public_bytes_raw().hex()
    assert verify(signed_journal(), public_key=public).outcome == "whole"
    assert verify(signed_journal(), public_key="11" * 32).outcome == "altered"
    assert verify(WHOLE, public_key=public).outcome == "altered"


def test_a_signer_s_name_can_not_be_exchanged():
    plain = json.loads(signed_journal().splitlines()[-1])["data"]
    other = SessionSigned(**plain | {"who": "B. Jones"})
    chain = Head()
    for line in lines():
        chain = after(chain, line)
    assert verify(WHOLE + seal(chain, other, stamp(20))).outcome == "altered"


# ---------------------------------------------------------------- sessions by name


def test_a_session_is_found_by_path_name_or_folder(folder):
    path = folder / "s1.jsonl"
    assert find_journal(path) == path
    assert find_journal(folder / "s1") == path
    (folder / "s1.part2.jsonl").touch()
    assert find_journal(folder / "s1.part2.jsonl") == path
    with pytest.raises(UserError, match="2 sessions"):
        find_journal(folder)
    (folder / "s2.jsonl").unlink()
    assert find_journal(folder) == path
    with pytest.raises(UserError, match="no such session"):
        find_journal(folder / "s9")


def test_reading_a_damaged_session_names_file_and_line(folder):
    (folder / "s1.jsonl").write_bytes(WHOLE.replace(b"12.346", b"12.347"))
    with pytest.raises(UserError, match=r"s1\.jsonl: line 7: its checksum"):
        list(Session.open(folder / "s1.jsonl").records())


def test_a_session_must_begin_with_its_opening(folder):
    (folder / "s1.jsonl").write_bytes(b"".join(lines([reading()])))
    with pytest.raises(UserError, match="no session was opened"):
        Session.open(folder / "s1.jsonl").opening()


def test_real_files_are_read_like_fake_ones(folder):
    assert verify_journal(folder / "s1.jsonl", RealDisk()) == verify(WHOLE)


def test_scanner_and_verify_agree_on_the_line():
    bad = WHOLE.replace(b"12.346", b"12.347")
    with pytest.raises(CorruptError) as caught:
        Scanner().feed(bad)
    assert verify(bad).line == caught.value.line == 7
