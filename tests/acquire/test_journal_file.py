"""The journal's writer against a disk that fails, fills up or loses its power."""

import errno
import itertools
import random
import threading
from pathlib import Path

import pytest

from barrelfit.acquire.errors import UserError
from barrelfit.acquire.journal.events import SessionClosed, SessionResumed, WireNote
from barrelfit.acquire.journal.lines import Stamp
from barrelfit.acquire.journal.parts import JournalReader, is_part, part_path
from barrelfit.acquire.journal.record_events import RecordingResumed, RecordingStopped, ReserveUsed
from barrelfit.acquire.journal.writer import WAITING_BYTES_MAX, JournalFile, JournalRefusedError
from tests.acquire.fake_disk import FakeDisk, PowerError
from tests.acquire.journal_samples import opened, reading

PATH = Path("/bench/s1.jsonl")


def clock(step_ns=1_000_000_000):
    ticks = itertools.count(1)
    return lambda: Stamp(next(ticks) * step_ns, "2026-11-25T01:02:03.000000Z")


def read(disk, path=PATH):
    reader = JournalReader(path, disk)
    return [r for block in reader.blocks() for r in block], reader


def readings(records):
    return [r.event.length_nm for r in records if hasattr(r.event, "length_nm")]


def chances(seed):
    return random.Random(seed)  # noqa: S311  a test's chance, not a secret


def texts(number):
    return f"12.{number:03d}"


def run_session(disk, confirmed, *, groups=6, size=3):
    """Write a session; `confirmed` gets what the daemon would have shown to the world."""
    journal = JournalFile.create(PATH, disk, clock())
    journal.append(opened())
    journal.flush()
    for group in range(groups):
        for number in range(size):
            journal.append(reading(texts(group * size + number)))
        journal.flush()
        confirmed[:] = journal.lines_since(0)
    journal.append(SessionClosed("done"))
    complete = journal.close()
    confirmed[:] = journal.lines_since(0)
    return complete


def lines_on(disk):
    """Every line that counts, as the reader takes them."""
    _, reader = read(disk)
    return [
        line
        for span in reader.spans
        for line in disk.read(span.path, span.start, span.end - span.start).splitlines(
            keepends=True
        )
    ]


def test_nothing_is_durable_before_flush():
    disk = FakeDisk()
    journal = JournalFile.create(PATH, disk, clock())
    assert journal.append(opened()) == 1
    assert (journal.last_seq, journal.durable_seq, journal.lines_since(0)) == (1, 0, [])
    assert journal.flush() == 1
    assert len(journal.lines_since(0)) == 1
    assert journal.close()
    records, reader = read(disk)
    assert [r.event for r in records] == [opened()]
    assert reader.head.hash == journal.head_hash


@pytest.mark.parametrize("fault", ["error", "short"])
def test_every_single_failing_operation_loses_nothing(fault):
    for fail_at in itertools.count(1):
        disk, confirmed = FakeDisk(fail_at, fault), []
        try:
            complete = run_session(disk, confirmed)
        except UserError:
            assert not confirmed  # it refused to start: nothing was promised
            continue
        assert complete
        records, reader = read(disk)
        assert readings(records) == [int(texts(n).replace(".", "")) * 1000 for n in range(18)]
        assert lines_on(disk) == confirmed
        assert not reader.torn
        if not disk.reached:
            break
    assert fail_at > 15


@pytest.mark.parametrize("length", [2, 3, 5, 9])
def test_several_failing_operations_in_a_row_lose_nothing(length):
    for fail_at in itertools.count(5):
        disk, confirmed = FakeDisk(fail_at, "error", length), []
        try:
            complete = run_session(disk, confirmed)
        except UserError:
            assert not confirmed
            continue
        assert lines_on(disk)[: len(confirmed)] == confirmed
        if complete:
            assert len(readings(read(disk)[0])) == 18
        if not disk.reached:
            break


@pytest.mark.parametrize("tail", ["none", "prefix", "nuls"])
@pytest.mark.parametrize("seed", range(5))
def test_a_power_cut_at_every_operation_loses_nothing_confirmed(tail, seed):
    for fail_at in itertools.count(1):
        disk, confirmed = FakeDisk(fail_at, "off"), []
        try:
            run_session(disk, confirmed)
        except PowerError:
            pass
        else:
            break
        after = disk.power_cut(chances(seed), tail=tail)
        if PATH not in after.files:
            assert not confirmed
            continue
        left = lines_on(after)
        assert left[: len(confirmed)] == confirmed
        if read(after)[0] and isinstance(read(after)[0][-1].event, SessionClosed):
            continue
        journal = JournalFile.resume(PATH, after, clock())
        journal.append(reading("99.000"))
        assert journal.close()
        assert lines_on(after)[: len(left)] == left
        assert readings(read(after)[0])[-1] == 99_000_000


@pytest.mark.parametrize("seed", range(40))
def test_a_power_cut_after_a_failed_sync_loses_nothing_confirmed(seed):
    chance = chances(seed)
    disk, confirmed = FakeDisk(chance.randint(5, 30), "error", chance.randint(1, 6)), []
    try:
        run_session(disk, confirmed)
    except UserError:
        return
    after = disk.power_cut(chance)
    assert lines_on(after)[: len(confirmed)] == confirmed


def test_a_sync_error_moves_the_session_to_a_new_file():
    disk = FakeDisk()
    journal = JournalFile.create(PATH, disk, clock())
    journal.append(opened())
    journal.flush()
    disk.step = failing(disk.step, "sync")
    journal.append(reading())
    assert journal.flush() == 2
    assert journal.trouble == ""
    second = part_path(PATH, 2)
    assert second.name == "s1.part2.jsonl"
    assert is_part(second)
    assert not is_part(PATH)
    assert set(disk.files) == {PATH, second, PATH.with_name("s1.reserve")}
    journal.append(reading("12.346"))
    journal.close()
    assert readings(read(disk)[0]) == [12_345_000, 12_346_000]


def failing(step, name, count=1, error=errno.EIO):
    """Wrap a disk's operations: the next `count` ones called `name` fail."""
    left = [count]

    def wrapped(operation, size=0):
        if operation == name and left[0]:
            left[0] -= 1
            raise OSError(error, "Input/output error")
        return step(operation, size)

    return wrapped


def test_a_part_whose_earlier_lines_are_gone_is_refused():
    disk = FakeDisk()
    journal = JournalFile.create(PATH, disk, clock())
    journal.append(opened())
    journal.append(reading())
    journal.flush()
    disk.step = failing(disk.step, "sync")
    journal.append(reading())
    journal.close()
    first = disk.files[PATH].seen
    del first[first.index(b"\n") + 1 :]
    with pytest.raises(UserError, match="line 2: missing"):
        JournalFile.resume(PATH, disk, clock())


def test_a_full_disk_stops_recording_and_says_so_and_goes_on_when_there_is_room():
    disk = FakeDisk()
    journal = JournalFile.create(PATH, disk, clock())
    journal.append(opened())
    journal.flush()
    disk.room = sum(len(node.seen) for node in disk.files.values()) + 100
    journal.append(reading())
    assert journal.flush() == 2  # the reserve was given up for it
    assert journal.trouble == ""
    journal.flush()
    room_left = disk.room - sum(len(node.seen) for node in disk.files.values())
    count = room_left // 200
    for _ in range(count):
        journal.append(reading())
    before = journal.durable_seq
    assert journal.flush() == before
    assert journal.trouble == "No space left on device"
    length = len(disk.files[PATH].seen)
    assert disk.files[PATH].seen[-1:] == b"\n"  # no half record stays behind
    assert journal.lines_since(before) == []
    disk.room = None
    assert journal.flush() > before
    assert journal.trouble == ""
    assert len(disk.files[PATH].seen) > length
    assert journal.close()
    events = [r.event for r in read(disk)[0]]
    kinds = [type(e) for e in events]
    assert kinds.index(ReserveUsed) < kinds.index(RecordingStopped) < kinds.index(RecordingResumed)
    assert sum(hasattr(e, "length_nm") for e in events) == count + 1


@pytest.mark.slow
def test_what_cannot_wait_in_memory_is_turned_away_aloud_and_counted():
    disk = FakeDisk()
    journal = JournalFile.create(PATH, disk, clock())
    disk.room = 0
    big = WireNote("micrometer", "00" * 500_000, "noise")
    for _ in range(WAITING_BYTES_MAX // 1_000_000 + 1):
        journal.append(big)
        journal.flush()
    for _ in range(2):
        with pytest.raises(JournalRefusedError, match="No space left"):
            journal.append(big)
    disk.room = None
    journal.flush()
    journal.append(reading())
    assert journal.close()
    resumed = [r.event for r in read(disk)[0] if isinstance(r.event, RecordingResumed)]
    assert [e.refused for e in resumed] == [2]


def test_the_disk_is_left_alone_for_half_a_second_after_a_failure():
    disk = FakeDisk()
    journal = JournalFile.create(PATH, disk, clock(step_ns=100_000_000))
    disk.step = failing(disk.step, "write", count=10**9)
    journal.append(opened())
    journal.flush()
    writes = disk.log.count("truncate")
    for _ in range(3):
        journal.flush()
    assert disk.log.count("truncate") == writes
    for _ in range(3):
        journal.flush()
    assert disk.log.count("truncate") > writes


def test_a_torn_tail_is_kept_aside_cut_and_noted():
    # a line cut by a power cut, then a new record: neither swallows the other
    disk = FakeDisk()
    journal = JournalFile.create(PATH, disk, clock())
    journal.append(opened())
    journal.append(reading())
    journal.close()
    torn = b'{"seq":3,"kind":"reading_ta'
    disk.files[PATH].seen += torn
    journal = JournalFile.resume(PATH, disk, clock())
    journal.append(reading("12.347"))
    journal.close()
    events = [r.event for r in read(disk)[0]]
    assert events[2] == SessionResumed(last_seq=2, torn_bytes=len(torn), torn_file="s1.torn1")
    assert readings(read(disk)[0]) == [12_345_000, 12_347_000]
    assert bytes(disk.files[PATH.with_name("s1.torn1")].seen) == torn


def test_a_second_torn_tail_does_not_overwrite_the_first():
    disk = FakeDisk()
    JournalFile.create(PATH, disk, clock()).close()
    for tail in (b'{"seq":1,"ki', b'{"seq":1,"kind":"session_opened"'):
        disk.files[PATH].seen += tail
        JournalFile.resume(PATH, disk, clock()).close()
    assert bytes(disk.files[PATH.with_name("s1.torn1")].seen) == b'{"seq":1,"ki'
    assert bytes(disk.files[PATH.with_name("s1.torn2")].seen).endswith(b'opened"')


def test_a_damaged_line_is_never_gone_on_with():
    disk = FakeDisk()
    run_session(disk, [])
    disk.files[PATH].seen[900] ^= 1
    with pytest.raises(UserError, match=r"s1\.jsonl: line \d+: .*begin a new session"):
        JournalFile.resume(PATH, disk, clock())


def test_a_closed_session_is_never_gone_on_with():
    disk = FakeDisk()
    run_session(disk, [])
    with pytest.raises(UserError, match="was closed"):
        JournalFile.resume(PATH, disk, clock())


def test_a_session_name_is_used_once():
    disk = FakeDisk()
    run_session(disk, [])
    with pytest.raises(UserError, match="already"):
        JournalFile.create(PATH, disk, clock())


def test_a_session_that_is_not_there():
    with pytest.raises(UserError, match="no such session"):
        JournalFile.resume(PATH, FakeDisk(), clock())


def test_lines_are_found_again_from_any_seq(monkeypatch):
    monkeypatch.setattr("barrelfit.acquire.journal.writer.RECENT_LINES", 5)
    monkeypatch.setattr("barrelfit.acquire.journal.part_files.SPAN_BYTES", 1000)
    disk, confirmed = FakeDisk(12, "error", 3), []
    run_session(disk, confirmed)
    journal = JournalFile.create(PATH.with_name("t.jsonl"), disk, clock())
    journal.append(opened())
    for number in range(40):
        journal.append(reading(texts(number)))
        if number % 3 == 0:
            journal.flush()
    journal.flush()
    everything = journal.lines_since(0)
    assert len(everything) == 41
    for seq in range(45):
        assert journal.lines_since(seq, 7) == everything[seq : seq + 7]


def test_append_and_flush_from_two_threads():
    disk = FakeDisk()
    journal = JournalFile.create(PATH, disk, clock())
    journal.append(opened())
    done = threading.Event()

    def flush():
        while not done.is_set():
            journal.flush()

    thread = threading.Thread(target=flush)
    thread.start()
    for number in range(2000):
        journal.append(reading(texts(number % 1000)))
    done.set()
    thread.join()
    assert journal.close()
    assert len(readings(read(disk)[0])) == 2000
