"""The journal on its way to the bus: in order, only what is on disk, again when it may be lost."""

import asyncio
import contextlib
import json

from barrelfit.acquire.bus import publisher
from barrelfit.acquire.bus.proof import Speaker, new_key, opened
from barrelfit.acquire.bus.publisher import BATCH_BYTES, BATCH_RECORDS, Publisher
from tests.acquire.daemon_parts import FakeBus, recorder, turns
from tests.acquire.journal_samples import reading

KEY = new_key()


class Sending:
    """A recorder, a publisher and a bus; records are flushed by hand."""

    def __init__(self, before: int = 0) -> None:
        self.recorder, self.bus = recorder(), FakeBus()
        self.record(before)
        self.recorder.journal.flush(now=True)
        self.publisher = Publisher(self.recorder, self.bus, "stand", "s-1", Speaker(KEY).seal)

    def record(self, count: int) -> None:
        for _ in range(count):
            self.recorder.record(reading())

    async def flush(self) -> None:
        self.recorder.journal.flush(now=True)
        for news in self.recorder._listeners:
            news.set()
        await turns()

    @property
    def batches(self) -> list[list[int]]:
        """Seqs of every batch the bus took."""
        proved = [opened(KEY, "barrelfit/stand/journal", payload) for payload in self.bus.taken]
        found = [json.loads(message.payload) for message in proved if message is not None]
        assert len(found) == len(self.bus.taken)
        assert all(batch["session"] == "s-1" for batch in found)
        return [[event["seq"] for event in batch["events"]] for batch in found]

    @property
    def seqs(self) -> list[int]:
        return [seq for batch in self.batches for seq in batch]


@contextlib.asynccontextmanager
async def sending():
    made = Sending()
    task = asyncio.create_task(made.publisher.run())
    await turns()
    yield made
    task.cancel()
    await asyncio.wait({task})


async def test_only_what_is_on_disk_is_sent_in_order_and_once():
    async with sending() as made:
        made.publisher.connected(True)  # noqa: FBT003
        made.record(50)
        await turns()
        assert made.seqs == []
        await made.flush()
        assert made.seqs == list(range(1, 51))
        assert max(map(len, made.batches)) <= BATCH_RECORDS
        made.record(1)
        await made.flush()
        assert made.seqs == list(range(1, 52))


async def test_nothing_is_sent_while_there_is_no_bus_and_all_of_it_after():
    async with sending() as made:
        made.record(30)
        await made.flush()
        assert made.seqs == []
        made.publisher.connected(True)  # noqa: FBT003
        await turns()
        assert made.seqs == list(range(1, 31))


async def test_after_the_bus_was_away_sending_goes_on_from_what_it_has_confirmed():
    async with sending() as made:
        made.publisher.connected(True)  # noqa: FBT003
        made.record(60)
        await made.flush()
        made.publisher.connected(False)  # noqa: FBT003
        made.record(30)
        await made.flush()
        made.bus.taken.clear()
        made.publisher.connected(True)  # noqa: FBT003
        await turns()
        assert made.seqs == list(range(61, 91))


async def test_after_a_long_outage_the_newest_records_do_not_wait_behind_all_the_others(
    monkeypatch,
):
    monkeypatch.setattr(publisher, "BEHIND_RECORDS", 40)
    async with sending() as made:
        made.publisher.connected(True)  # noqa: FBT003
        made.publisher.connected(False)  # noqa: FBT003
        made.record(100)
        await made.flush()
        made.publisher.connected(True)  # noqa: FBT003
        await turns()
        assert made.seqs == list(range(61, 101))


async def test_what_the_journal_holds_at_the_start_is_not_sent_again():
    made = Sending(before=300)
    task = asyncio.create_task(made.publisher.run())
    made.publisher.connected(True)  # noqa: FBT003
    await turns()
    assert made.seqs == []
    made.record(2)
    await made.flush()
    assert made.seqs == [301, 302]
    task.cancel()
    await asyncio.wait({task})


async def test_a_batch_that_failed_is_sent_again_and_no_seq_is_missing(monkeypatch):
    monkeypatch.setattr(publisher, "FAILED_S", 0.01)
    async with sending() as made:
        failing = iter([True, False, True])
        made.bus.fails = lambda _: next(failing, False)
        made.publisher.connected(True)  # noqa: FBT003
        made.record(100)
        await made.flush()
        async with asyncio.timeout(3):
            while set(made.seqs) != set(range(1, 101)):  # noqa: ASYNC110  no end to wake up for
                await asyncio.sleep(0.01)


async def test_a_batch_stays_small_enough_for_any_broker():
    async with sending() as made:
        made.publisher.connected(True)  # noqa: FBT003
        made.record(400)
        await made.flush()
        await turns(400)
        assert made.seqs == list(range(1, 401))
        assert max(map(len, made.bus.taken)) <= BATCH_BYTES + 200
