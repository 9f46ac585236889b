"""A hole of NUL bytes in a record: told with its place, and what stands behind it is not lost.

A file's length may be on disk before all of its bytes are: a power cut between the two leaves NULs.
"""

import json
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from barrelfit.acquire.cli import run_cli
from barrelfit.acquire.errors import UserError
from barrelfit.acquire.journal.damage import CorruptError, HoleError
from barrelfit.acquire.journal.disk import RealDisk
from barrelfit.acquire.journal.lines import Scanner, line_hash
from barrelfit.acquire.journal.session import Session
from barrelfit.acquire.journal.verify import Claim, verify_journal
from barrelfit.acquire.journal.writer import JournalFile
from barrelfit.acquire.redo.redo_journal import redo_session
from tests.acquire.fake_disk import FakeDisk
from tests.acquire.journal_samples import EVENTS, lines, stamp
from tests.spoken import problems_of, text_of

LINES = lines()
WHOLE = b"".join(LINES)
STARTS = [sum(map(len, LINES[:n])) for n in range(len(LINES) + 1)]
PATH = Path("/bench/s1.jsonl")


def holed(start, end, data=WHOLE):
    return data[:start] + bytes(end - start) + data[end:]


def found_in(data, claims=()):
    disk = FakeDisk()
    disk.append_to(PATH).write(data)
    return verify_journal(PATH, disk, claims)


def hurt_lines(start, end):
    """Numbers of the lines that have a byte in a stretch, counted from 1."""
    return [n + 1 for n in range(len(LINES)) if STARTS[n] < end and start < STARTS[n + 1]]


@given(st.data())
def test_a_hole_anywhere_is_told_with_its_place_and_all_sound_lines_are_read(data):
    start = data.draw(st.integers(0, STARTS[-2] - 1))
    end = data.draw(st.integers(start + 1, STARTS[-2]))
    chunk = data.draw(st.integers(90, 9_000))
    hurt = hurt_lines(start, end)
    journal = holed(start, end)
    scanner = Scanner(past_holes=True)
    records = []
    for at in range(0, len(journal), chunk):
        records += scanner.feed(journal[at : at + chunk])
    assert scanner.end() == 0
    wanted = [event for n, event in enumerate(EVENTS, 1) if n not in hurt]
    assert [r.event for r in records] == wanted
    (hole,) = scanner.holes
    assert (hole.first_seq, hole.last_seq) == (hurt[0], hurt[-1])
    assert hole.start <= start
    assert hole.start + hole.length >= end
    assert hole.nuls == end - start
    found = found_in(journal)
    assert (found.outcome, found.line) == ("holed", hurt[0])
    assert found.records == hurt[0] - 1
    assert found.records + found.behind_holes == len(wanted)
    assert f"{end - start} NUL bytes" in text_of(found.problem)
    with pytest.raises(HoleError, match="sound lines stand behind"):
        Scanner().feed(journal)


def test_a_hole_whose_last_nul_stands_before_a_line_and_one_that_takes_no_line():
    found = found_in(holed(STARTS[3], STARTS[5]))
    assert (found.outcome, found.line, found.records) == ("holed", 4, 3)
    assert "lines 4 to 5 are gone" in text_of(found.problem)
    added = WHOLE[: STARTS[3]] + bytes(4096) + WHOLE[STARTS[3] :]
    found = found_in(added)
    assert found.outcome == "holed"
    assert "no line is gone" in text_of(found.problem)
    assert found.records + found.behind_holes == len(EVENTS)


def test_several_holes_and_a_torn_end():
    data = holed(STARTS[2] + 5, STARTS[2] + 50)
    data = holed(STARTS[5] + 5, STARTS[6] + 50, data) + b'{"seq":'
    found = found_in(data)
    assert (found.outcome, found.line, found.torn_bytes) == ("holed", 3, 7)
    assert "line 3 is gone" in text_of(found.problem)
    assert "lines 6 to 7 are gone" in text_of(found.problem)
    assert "never finished" in text_of(found.problem)


def test_a_hole_of_many_megabytes_is_read_past():
    data = WHOLE[: STARTS[4] + 9] + bytes(9_000_000) + WHOLE[STARTS[5] + 9 :]
    found = found_in(data)
    assert (found.outcome, found.line) == ("holed", 5)
    assert "lines 5 to 6 are gone" in text_of(found.problem)


def test_a_hole_is_no_cover_for_lines_taken_out_or_changed():
    cut = WHOLE[: STARTS[2]] + b"\0" + WHOLE[STARTS[6] :]
    assert found_in(cut).outcome == "altered"
    changed = bytearray(holed(STARTS[2], STARTS[3]))
    changed[STARTS[6] + 60] ^= 1
    assert found_in(bytes(changed)).outcome == "altered"
    assert "a hole of" in text_of(found_in(bytes(changed)).problem)
    again = WHOLE[: STARTS[4]] + bytes(300) + WHOLE[STARTS[2] :]
    assert found_in(again).outcome == "altered"
    with pytest.raises(CorruptError, match="checksum"):
        Scanner(past_holes=True).feed(holed(STARTS[2], STARTS[3]) + b"rubbish\n" + LINES[-1])


def test_what_others_saw_is_still_asked_on_both_sides_of_a_hole():
    journal = holed(STARTS[4] + 1, STARTS[6] - 1)
    right = [Claim(line_hash(LINES[n - 1]), n, f"w{n}") for n in (4, 5, 6, 7)]
    found = found_in(journal, right)
    assert found.outcome == "holed"
    assert found.confirmed == ("w4", "w6", "w7")  # of line 5 nobody can tell any more
    for seq in (4, 6, 7):
        assert found_in(journal, [Claim("0" * 64, seq, "w")]).outcome == "altered"


@pytest.mark.parametrize("tail", [
    bytes(4096), b'{"seq":14,"ki' + bytes(100), bytes(100) + b'4","sum":"00000000"}\n',
    b'{"seq":14,"kind":"re' + bytes(900) + b'"sum":"12345678"}\n' + bytes(50), bytes(9_000_000),
])  # fmt: skip
def test_a_hole_with_nothing_sound_behind_is_a_torn_end(tail):
    found = found_in(WHOLE + tail)
    assert (found.outcome, found.line, found.torn_bytes) == ("torn", len(EVENTS) + 1, len(tail))
    assert f"from byte {len(WHOLE)}" in text_of(found.problem)
    assert "NUL" in text_of(found.problem)


def test_a_session_with_a_hole_is_not_gone_on_with_and_a_torn_end_is_kept_aside(tmp_path):
    disk = FakeDisk()
    open_lines = lines(EVENTS[:6])
    data = b"".join(open_lines)
    at = len(b"".join(open_lines[:3]))
    disk.append_to(PATH).write(data[:at] + bytes(200) + data[at + 200 :])
    with pytest.raises(UserError) as refused:
        JournalFile.resume(PATH, disk, stamp)
    told = problems_of(refused.value)[0]
    assert f"{PATH}: line 4: a hole of 200 NUL bytes in the file's bytes {at} to" in told
    assert "2 sound lines stand behind it" in told
    other = FakeDisk()
    other.append_to(PATH).write(data + bytes(300) + b'"}\n')
    made = JournalFile.resume(PATH, other, stamp)
    made.settle()
    assert other.size(PATH.with_name("s1.torn1")) == 303
    assert verify_journal(PATH, other).outcome == "whole"


@pytest.mark.timeout(120)  # pandas alone may take long to load on a busy machine
def test_who_looks_at_a_record_sees_behind_the_hole_and_who_judges_is_refused(tmp_path, capsys):
    path = tmp_path / "s1.jsonl"
    path.write_bytes(holed(STARTS[3] + 9, STARTS[4] + 9))
    looked = Session.open(path, past_holes=True)
    assert len(list(looked.records())) == len(EVENTS) - 2
    assert [(file, hole.first_seq) for file, hole in looked.holes] == [(path, 4)]
    for judging in (lambda s: list(s.records()), redo_session):
        with pytest.raises(UserError, match=r"lines 4 to 5 are gone; \d+ sound lines stand behind"):
            judging(Session.open(path))
    assert run_cli(["replay", str(path), "--json", "--readings"]) == 2
    said = capsys.readouterr()
    assert [json.loads(line)["seq"] for line in said.out.splitlines()] == [
        n for n in range(1, len(EVENTS) + 1) if n not in {4, 5}
    ]
    assert "lines 4 to 5 are gone" in said.err
    assert run_cli(["export", str(path), "--table", "events", "-o", str(tmp_path / "e.csv")]) == 2
    assert "lines 4 to 5 are gone" in capsys.readouterr().err
    assert run_cli(["verify", str(path)]) == 1
    said = capsys.readouterr().out
    assert said.startswith("HOLED  s1.jsonl, line 4")
    assert "behind a hole" in said
    assert verify_journal(path, RealDisk()).outcome == "holed"
