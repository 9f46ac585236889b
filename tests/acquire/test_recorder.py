"""Events into the journal, and the word that they are on disk."""

import asyncio
import contextlib
from datetime import timedelta

import pytest

from barrelfit.acquire.errors import UserError
from barrelfit.acquire.journal.events import ReadingTaken, SessionClosed
from barrelfit.acquire.journal.job_events import JobPaused
from barrelfit.acquire.journal.parts import JournalReader
from barrelfit.acquire.journal.record_events import ClockStepped
from tests.acquire.daemon_parts import JOURNAL, START, Ticks, recorder
from tests.acquire.fake_disk import FakeDisk
from tests.acquire.journal_samples import reading


@contextlib.asynccontextmanager
async def writing(made):
    task = asyncio.create_task(made.run())
    yield
    task.cancel()
    await asyncio.wait({task})


async def test_a_record_is_told_as_durable_only_when_it_is_on_disk():
    made = recorder()
    heard, told = [], []
    made.hear(lambda new: heard.append((new.seq, made.journal.durable_seq)))
    made.tell(lambda seq, _: told.append((seq, made.journal.durable_seq >= seq)))
    seq = made.record(reading())
    assert seq == 1
    assert heard == [(1, 0)]
    assert told == []
    async with writing(made):
        await asyncio.wait_for(made.until_durable(seq), 2)
    assert made.journal.durable_seq == 1
    assert told == [(1, True)]


async def test_many_records_go_to_disk_together_and_in_order():
    disk, told = FakeDisk(), []
    made = recorder(disk)
    made.tell(lambda seq, event: told.append((seq, event.value)))
    before = disk.log.count("sync")
    for number in range(100):
        made.record(reading(f"12.{number:03d}"))
    async with writing(made):
        await asyncio.wait_for(made.until_durable(100), 2)
    assert told == [(number + 1, f"12.{number:03d}") for number in range(100)]
    assert disk.log.count("sync") - before == 1


async def test_whoever_waits_is_woken_and_leaves_nothing_behind():
    made = recorder()
    async with writing(made):
        waits = [asyncio.create_task(made.until_durable(1)) for _ in range(3)]
        await asyncio.sleep(0)
        made.record(reading())
        await asyncio.wait_for(asyncio.gather(*waits), 2)
    assert made._listeners == []


async def test_a_disk_that_refuses_keeps_records_waiting_and_they_are_kept_when_it_comes_back(
    caplog,
):
    disk = FakeDisk()
    clock = Ticks()
    made = recorder(disk, clock)
    told = []
    made.tell(lambda _, event: told.append(type(event)))
    disk._fail = range(disk.operations + 1, disk.operations + 40)
    async with writing(made), asyncio.timeout(5):
        made.record(reading())
        while "not recording" not in caplog.text:  # noqa: ASYNC110  the journal wakes nobody
            await asyncio.sleep(0.01)
        assert told == []
        disk._fail = range(0)
        while made.journal.durable_seq < 3:
            clock.now_ns += 1_000_000_000
            await asyncio.sleep(0.01)
    assert told == [ReadingTaken]
    kinds = [line.split(b'"kind":"')[1].split(b'"')[0] for line in made.journal.lines_since(0)]
    assert kinds == [b"reading_taken", b"recording_stopped", b"recording_resumed"]
    assert "recording again" in caplog.text


def test_the_time_of_a_record_is_when_it_happened_not_when_it_was_written():
    made = recorder()
    made.record(reading(), t_ns=77)
    made.close()
    (line,) = made.journal.lines_since(0)
    assert b'"t":77,' in line


def test_a_close_brings_everything_to_disk_with_the_last_word_last():
    made = recorder()
    told = []
    made.tell(lambda _, event: told.append(type(event)))
    made.record(reading())
    made.close(SessionClosed("done"))
    assert told == [ReadingTaken, SessionClosed]


@pytest.mark.parametrize("last", [SessionClosed("done"), JobPaused("Ada")])
@pytest.mark.parametrize("failures", range(1, 13))
def test_an_end_while_the_disk_fails_is_the_last_record_or_is_no_success(failures, last):
    writes = [at for at, name in enumerate(_ended(FakeDisk(), last)[1].log, 1) if name != "open"]
    for fail_at in range(writes[0], writes[-1] + 1):
        made, disk = _ended(FakeDisk(fail_at, fail_count=failures), last)
        if made is None:
            continue  # it could not even be begun
        records = [r.event for block in JournalReader(JOURNAL, disk).blocks() for r in block]
        assert (type(records[-1]) is type(last)) == (not made.missing), fail_at


def _ended(disk, last):
    """A session of one reading, ended; and its disk."""
    try:
        made = recorder(disk)
    except UserError:
        return None, disk
    made.record(reading())
    made.close(last)
    return made, disk


class Jumping(Ticks):
    """A clock whose wall time is set while it runs."""

    step = timedelta(0)

    def utc(self):
        return super().utc() + self.step


@pytest.mark.parametrize(("seconds", "stepped"), [(0.4, 0), (0.6, 1), (-3600.0, 1)])
def test_a_wall_clock_that_is_set_is_journaled(seconds, stepped):
    clock = Jumping()
    made = recorder(clock=clock)
    found = []
    made.hear(lambda new: found.append(new.event))
    made.watch_clock()
    clock.now_ns += 500_000_000
    clock.step = timedelta(seconds=seconds)
    made.watch_clock()
    made.watch_clock()
    assert [type(event) for event in found] == [ClockStepped] * stepped
    assert clock.utc().year == START.year
