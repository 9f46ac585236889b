"""The journal's file taken away, changed or replaced while it is written, on a real folder."""

import itertools
import os
import secrets
import shutil
import stat
from pathlib import Path

import pytest

from barrelfit.acquire.errors import UserError
from barrelfit.acquire.journal.disk import RealDisk
from barrelfit.acquire.journal.events import ReadingTaken
from barrelfit.acquire.journal.lines import Stamp
from barrelfit.acquire.journal.parts import JournalReader, part_path
from barrelfit.acquire.journal.record_events import (
    EndUnsaved,
    RecordGone,
    RecordingResumed,
    RecordingStopped,
    RecordPutBack,
)
from barrelfit.acquire.journal.verify import verify_journal
from barrelfit.acquire.journal.writer import RECENT_LINES, JournalFile
from tests.acquire.fake_disk import FakeDisk
from tests.acquire.journal_samples import opened, reading
from tests.spoken import text_of

UTC = "2026-11-25T01:02:03.000000Z"


def clock():
    ticks = itertools.count(1)
    return lambda: Stamp(next(ticks) * 1_000_000_000, UTC)


@pytest.fixture
def path(tmp_path):
    folder = tmp_path / "sessions"
    folder.mkdir()
    return folder / "b-20261125T010203Z.jsonl"


def begin(path, number=20, disk=None):
    """A journal with its opening and `number` readings on disk."""
    journal = JournalFile.create(path, disk or RealDisk(), clock())
    journal.append(opened())
    for n in range(number):
        journal.append(reading(f"12.{n:03d}"))
    assert journal.flush() == number + 1
    return journal


def read(path):
    reader = JournalReader(path, RealDisk())
    return [r for block in reader.blocks() for r in block]


def lengths(records):
    return [r.event.length_nm for r in records if isinstance(r.event, ReadingTaken)]


def kinds(records):
    wanted = (RecordingStopped, RecordGone, RecordPutBack, RecordingResumed)
    return [type(r.event) for r in records if isinstance(r.event, wanted)]


def remove_folder(path):
    shutil.rmtree(path.parent)


def remove(path):
    path.unlink()


def rename(path):
    path.rename(path.with_name("elsewhere"))


def rename_folder(path):
    path.parent.rename(path.parent.with_name(f"moved{secrets.token_hex(4)}"))


def replace_by_a_copy(path):
    copy = path.with_name("copy")
    copy.write_bytes(path.read_bytes())
    copy.replace(path)


def replace_by_nothing(path):
    empty = path.with_name("empty")
    empty.touch()
    empty.replace(path)


def replace_by_a_link(path):
    path.rename(path.with_name("elsewhere"))
    path.symlink_to(path.with_name("elsewhere"))


def cut_to_nothing(path):
    os.truncate(path, 0)


def cut_within_a_line(path):
    os.truncate(path, path.stat().st_size - 10)


def cut_between_lines(path):
    content = path.read_bytes()
    os.truncate(path, content[:-1].rindex(b"\n") + 1)


def write_behind(path):
    with path.open("ab") as file:
        file.write(b"somebody else's line\n")


def write_half_a_line_behind(path):
    with path.open("ab") as file:
        file.write(b'{"seq":')


HARMS = [
    remove_folder,
    remove,
    rename,
    rename_folder,
    replace_by_a_copy,
    replace_by_nothing,
    replace_by_a_link,
    cut_to_nothing,
    cut_within_a_line,
    cut_between_lines,
    write_behind,
    write_half_a_line_behind,
]


@pytest.mark.parametrize("idle", [False, True], ids=["writing", "idle"])
@pytest.mark.parametrize("harm", HARMS)
def test_it_is_told_at_once_and_nothing_recorded_is_lost(path, harm, idle):
    journal = begin(path)
    before = journal.durable_seq
    harm(path)
    if not idle:
        journal.append(reading("13.000"))
    assert journal.flush() == before  # nothing is confirmed that is not on disk
    assert "by somebody else" in journal.trouble
    for n in range(1, 5):
        journal.append(reading(f"13.{n:03d}"))
    assert journal.flush(now=True) > before
    assert journal.trouble == ""
    assert journal.close()
    records = read(path)
    assert lengths(records)[:20] == [12_000_000 + n * 1000 for n in range(20)]
    assert lengths(records)[20:] == [13_000_000 + n * 1000 for n in range(idle, 5)]
    assert kinds(records) == [RecordingStopped, RecordGone, RecordPutBack, RecordingResumed]
    assert verify_journal(path, RealDisk()).outcome == "whole"
    assert journal.lost == 0
    assert [r.seq for r in records] == list(range(1, len(records) + 1))


@pytest.mark.parametrize("harm", HARMS)
def test_it_may_happen_again_and_the_session_is_gone_on_with(path, harm):
    journal = begin(path)
    for _ in range(3):
        if path.exists():
            harm(path)
        journal.append(reading("13.000"))
        journal.settle()
    assert journal.close()
    journal = JournalFile.resume(path, RealDisk(), clock())
    journal.append(reading("14.000"))
    assert journal.close()
    assert lengths(read(path)) == [*(12_000_000 + n * 1000 for n in range(20)), *[13_000_000] * 3,
                                   14_000_000]  # fmt: skip


def test_another_s_file_in_its_place_is_kept(path):
    journal = begin(path, 3)
    path.unlink()
    path.write_text("somebody's notes\n", encoding="ascii")
    journal.append(reading())
    assert journal.close()
    put_back = next(r.event for r in read(path) if isinstance(r.event, RecordPutBack))
    assert path.with_name(put_back.aside).read_text(encoding="ascii") == "somebody's notes\n"
    assert verify_journal(path, RealDisk()).outcome == "whole"


def test_what_was_written_behind_is_kept_aside(path):
    journal = begin(path, 3)
    write_behind(path)
    journal.append(reading())
    assert journal.close()
    put_back = next(r.event for r in read(path) if isinstance(r.event, RecordPutBack))
    assert path.with_name(put_back.aside).read_bytes() == b"somebody else's line\n"
    assert path.with_name(put_back.file).name == part_path(path, 2).name


def test_what_can_not_be_put_back_is_named_and_counted(path, monkeypatch):
    monkeypatch.setattr("barrelfit.acquire.journal.writer.RECENT_LINES", 5)
    journal = begin(path, 20)
    cut_to_nothing(path)
    journal.append(reading("13.000"))
    assert journal.close()
    assert journal.lost == 16
    last = [line for line in part_path(path, 2).read_bytes().splitlines() if b"put_back" in line]
    assert b'"lost_from":1,"lost_to":16' in last[0]
    found = verify_journal(path, RealDisk())
    assert (found.outcome, found.line) == ("altered", 1)
    assert "missing" in text_of(found.problem)
    assert RECENT_LINES > 5


def test_where_nothing_can_be_put_back_it_waits_and_says_so(path):
    journal = begin(path, 3)
    remove_folder(path)
    path.parent.write_text("a file where the folder was", encoding="ascii")
    journal.append(reading())
    assert journal.flush() == 4
    assert journal.flush(now=True) == 4
    assert journal.trouble
    path.parent.unlink()
    assert journal.flush(now=True) > 4
    assert journal.close()
    assert len(lengths(read(path))) == 4


def test_an_end_without_its_folder_says_what_is_not_saved(path):
    journal = begin(path, 3)
    remove_folder(path)
    path.parent.write_text("a file where the folder was", encoding="ascii")
    journal.append(reading())
    assert not journal.close()
    assert journal.unsaved.readings == 1


def test_a_full_disk_at_the_end_is_told_in_the_journal_itself():
    disk = FakeDisk()
    path = Path("/s/s1.jsonl")
    journal = begin(path, 3, disk)
    disk.room = sum(len(node.seen) for node in disk.files.values())
    for _ in range(3000):
        journal.append(reading())
    journal.flush(now=True)
    assert journal.trouble == "No space left on device"
    durable = journal.durable_seq
    assert not journal.close()
    assert journal.unsaved.readings > 0
    records = [r for block in JournalReader(path, disk).blocks() for r in block]
    assert records[-1].seq >= durable
    last = next(r.event for r in records if isinstance(r.event, EndUnsaved))
    assert last == journal.unsaved
    disk.room = None
    journal = JournalFile.resume(path, disk, clock())
    journal.append(reading())
    assert journal.close()


def test_a_journal_is_its_owner_s_alone(path):
    journal = begin(path, 1)
    for file in path.parent.iterdir():
        assert stat.S_IMODE(file.stat().st_mode) == 0o600, file
    journal.close()


def test_a_journal_is_never_written_through_a_link(path):
    victim = path.with_name("victim")
    victim.write_text("precious", encoding="ascii")
    path.with_name(path.stem + ".reserve").symlink_to(victim)
    path.symlink_to(path.with_name("elsewhere"))
    with pytest.raises(UserError, match="symbolic link"):
        JournalFile.create(path, RealDisk(), clock())
    path.unlink()
    JournalFile.create(path, RealDisk(), clock()).close()
    assert victim.read_text(encoding="ascii") == "precious"
    assert not path.with_name("elsewhere").exists()
