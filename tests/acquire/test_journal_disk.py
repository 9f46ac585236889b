"""The journal's writer on this machine's disk: it does what the disk in memory does."""

from pathlib import Path

import pytest

from barrelfit.acquire.errors import UserError
from barrelfit.acquire.journal.disk import RealDisk
from barrelfit.acquire.journal.events import SessionClosed
from barrelfit.acquire.journal.writer import JournalFile
from tests.acquire.fake_disk import FakeDisk
from tests.acquire.journal_samples import opened, reading
from tests.acquire.test_journal_file import PATH, clock, read, readings, texts


def test_the_real_disk_does_what_the_fake_does(tmp_path):
    path = tmp_path / "s1.jsonl"
    for disk, place in ((RealDisk(), path), (FakeDisk(), PATH)):
        journal = JournalFile.create(place, disk, clock())
        journal.append(opened())
        journal.append(reading())
        journal.flush()
        file = disk.append_to(place)
        file.write(b'{"seq":3,"k')
        file.close()
        journal = JournalFile.resume(place, disk, clock())
        journal.append(SessionClosed("done"))
        assert journal.close()
    real, fake = read(RealDisk(), path)[0], read(disk)[0]
    assert [r.event for r in real] == [r.event for r in fake]
    assert sorted(p.name for p in tmp_path.iterdir()) == ["s1.jsonl", "s1.torn1"]


def test_a_plain_full_device_refuses_at_once():
    full = Path("/dev/full")
    if not full.exists():
        pytest.skip("no /dev/full on this system")
    file = RealDisk().append_to(full)
    with pytest.raises(OSError, match="No space left"):
        file.write(b"x")
    file.close()


def test_a_short_write_at_a_file_size_limit_leaves_no_half_record(tmp_path):
    resource = pytest.importorskip("resource")
    import signal  # noqa: PLC0415  not on every system

    path = tmp_path / "s1.jsonl"
    journal = JournalFile.create(path, RealDisk(), clock())
    journal.append(opened())
    journal.flush()
    old = resource.getrlimit(resource.RLIMIT_FSIZE)
    handler = signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    try:
        resource.setrlimit(resource.RLIMIT_FSIZE, (4096, old[1]))
        for number in range(40):
            journal.append(reading(texts(number)))
            journal.flush()
        assert journal.trouble == "File too large"
        assert path.read_bytes().endswith(b"\n")
        assert path.stat().st_size <= 4096
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, old)
        signal.signal(signal.SIGXFSZ, handler)
    assert journal.close()
    assert len(readings(read(RealDisk(), path)[0])) == 40


def test_a_folder_that_is_not_there(tmp_path):
    with pytest.raises(UserError, match="can't record here: No such file"):
        JournalFile.create(tmp_path / "nowhere" / "s.jsonl", RealDisk(), clock())
