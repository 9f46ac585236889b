"""The recorder: nobody is told of a record before it is on disk; a finished session is signed."""

import asyncio
import threading
from pathlib import Path

import pytest

from barrelfit.acquire.clock import RunningClock
from barrelfit.acquire.journal.disk import RealDisk
from barrelfit.acquire.journal.events import SessionClosed
from barrelfit.acquire.journal.recorder import Recorder, stamp_of
from barrelfit.acquire.journal.signing import sign_head
from barrelfit.acquire.journal.verify import verify_journal
from barrelfit.acquire.journal.writer import JournalFile
from tests.acquire.fake_disk import FakeDisk
from tests.acquire.journal_samples import opened, reading
from tests.acquire.test_signing import KEY

PATH = Path("/bench/s1.jsonl")


def recorder(disk, path=PATH, signer=None):
    clock = RunningClock()
    journal = JournalFile.create(path, disk, lambda: stamp_of(clock))
    return Recorder(journal, clock, signer)


async def test_tellers_hear_of_records_once_they_are_on_disk_and_hearers_before():
    disk, order = FakeDisk(), []
    recording = recorder(disk)
    recording.hear(lambda made: order.append(("heard", made.seq, recording.journal.durable_seq)))
    recording.tell(lambda seq, _: order.append(("told", seq, recording.journal.durable_seq)))
    task = asyncio.create_task(recording.run())
    recording.record(opened())
    recording.record(reading())
    await asyncio.wait_for(recording.until_durable(2), 5)
    await asyncio.sleep(0)
    task.cancel()
    assert order == [("heard", 1, 0), ("heard", 2, 0), ("told", 1, 2), ("told", 2, 2)]


def test_nothing_is_told_while_the_disk_refuses_and_all_of_it_afterwards():
    disk, told = FakeDisk(), []
    recording = recorder(disk)
    recording.tell(lambda seq, _: told.append(seq))
    disk.room = 0
    recording.record(opened())
    recording.journal.flush()
    assert recording.journal.trouble == "No space left on device"
    assert told == []
    disk.room = None
    recording.close()
    assert told[0] == 1


class BrokenDisk(FakeDisk):
    """Fails in a way that no disk does, once the journal is open."""

    breaks = False

    def append_to(self, path):
        file = super().append_to(path)
        was = file.sync

        def sync():
            if self.breaks:
                msg = "a fault of our own"
                raise RuntimeError(msg)
            was()

        file.sync = sync
        return file


async def test_a_fault_of_our_own_while_writing_ends_the_recording_aloud():
    disk = BrokenDisk()
    recording = recorder(disk)
    disk.breaks = True
    task = asyncio.create_task(recording.run())
    recording.record(opened())
    with pytest.raises(RuntimeError, match="of our own"):
        await asyncio.wait_for(task, 5)


async def test_what_is_recorded_while_a_go_is_under_way_is_written_with_the_next():
    recording = recorder(FakeDisk())
    task = asyncio.create_task(recording.run())
    for _ in range(50):
        seq = recording.record(reading())
        await asyncio.sleep(0)
    await asyncio.wait_for(recording.until_durable(seq), 5)
    task.cancel()
    await asyncio.wait({task})
    assert recording.journal.last_seq == 50


async def test_a_recording_that_was_ended_leaves_no_thread():
    recording = recorder(FakeDisk())
    before = set(threading.enumerate())
    task = asyncio.create_task(recording.run())
    recording.record(opened())
    await asyncio.wait_for(recording.until_durable(1), 5)
    (writing,) = set(threading.enumerate()) - before
    task.cancel()
    await asyncio.wait({task})
    await asyncio.to_thread(writing.join, 5)
    assert not writing.is_alive()


def test_closing_signs_what_was_closed(tmp_path):
    path = tmp_path / "s1.jsonl"
    recording = recorder(RealDisk(), path, lambda head: sign_head(KEY, head, "B. Jones"))
    told = []
    recording.tell(lambda seq, _: told.append(seq))
    recording.record(opened())
    recording.close(SessionClosed("done"))
    found = verify_journal(path, RealDisk())
    assert (found.outcome, found.closed, found.signed_by) == ("whole", True, ("B. Jones",))
    assert told == [1, 2, 3]


def test_an_unfinished_session_is_neither_closed_nor_signed(tmp_path):
    path = tmp_path / "s1.jsonl"
    recording = recorder(RealDisk(), path, lambda head: sign_head(KEY, head, "B. Jones"))
    recording.record(opened())
    recording.close()
    found = verify_journal(path, RealDisk())
    assert (found.closed, found.signed_by, found.records) == (False, (), 1)
