"""The journal on its way to the bus: in order, only what is on disk, again when it may be lost."""

import asyncio
import json

from barrelfit.acquire.bus import publisher
from barrelfit.acquire.bus.proof import Speaker, new_key, opened
from barrelfit.acquire.bus.publisher import (
    ALONG_MAX,
    BATCH_BYTES,
    BATCH_RECORDS,
    IN_FLIGHT_MAX,
    Publisher,
)
from barrelfit.acquire.journal.record_events import ClockStepped
from tests.acquire.daemon_parts import FakeBus, recorder, turns
from tests.acquire.journal_samples import reading

KEY = new_key()


class Sending:
    """A recorder, a publisher and a bus; records are flushed by hand."""

    def __init__(self, before: int = 0, *, keeps_order: bool = False) -> None:
        self.recorder, self.bus = recorder(), FakeBus()
        self.record(before)
        self.recorder.journal.flush(now=True)
        self.publisher = Publisher(
            *(self.recorder, self.bus, "stand", "s-1", Speaker(KEY).seal), keeps_order=keeps_order
        )

    def record(self, count: int) -> None:
        for _ in range(count):
            self.recorder.record(reading())

    async def flush(self) -> None:
        self.recorder.journal.flush(now=True)
        for listener in self.recorder._listeners:
            listener()
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


async def test_only_what_is_on_disk_is_sent_in_order_and_once():
    made = Sending()
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
    made = Sending()
    made.record(30)
    await made.flush()
    assert made.seqs == []
    made.publisher.connected(True)  # noqa: FBT003
    await turns()
    assert made.seqs == list(range(1, 31))


async def test_after_the_bus_was_away_sending_goes_on_from_what_it_has_confirmed():
    made = Sending()
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
    made = Sending()
    made.publisher.connected(True)  # noqa: FBT003
    made.publisher.connected(False)  # noqa: FBT003
    made.record(100)
    await made.flush()
    made.publisher.connected(True)  # noqa: FBT003
    await turns()
    assert made.seqs == list(range(61, 101))


async def test_what_the_journal_holds_at_the_start_is_not_sent_again():
    made = Sending(before=300)
    made.publisher.connected(True)  # noqa: FBT003
    await turns()
    assert made.seqs == []
    made.record(2)
    await made.flush()
    assert made.seqs == [301, 302]


async def test_a_batch_that_failed_is_sent_again_and_no_seq_is_missing(monkeypatch):
    monkeypatch.setattr(publisher, "FAILED_S", 0.01)
    made = Sending()
    failing = iter([True, False, True])
    made.bus.fails = lambda _: next(failing, False)
    made.publisher.connected(True)  # noqa: FBT003
    made.record(100)
    await made.flush()
    async with asyncio.timeout(3):
        while set(made.seqs) != set(range(1, 101)):  # noqa: ASYNC110  no end to wake up for
            await asyncio.sleep(0.01)


async def test_a_record_is_taken_only_when_all_before_it_are():
    made = Sending()
    failing = iter([False, True, False, False])
    made.bus.fails = lambda _: next(failing, False)
    made.publisher.connected(True)  # noqa: FBT003
    made.record(4 * BATCH_RECORDS)
    await made.flush()
    assert made.seqs == [*range(1, 21), *range(41, 81)]  # the second batch is lost
    assert made.publisher.taken_seq == BATCH_RECORDS


async def test_batches_may_be_confirmed_in_any_order():
    made = Sending()
    made.bus.confirms = False
    made.publisher.connected(True)  # noqa: FBT003
    made.record(3 * BATCH_RECORDS)
    await made.flush()
    for told in reversed(made.bus.unconfirmed[1:]):
        told("")
    assert made.publisher.taken_seq == 0
    made.bus.unconfirmed[0]("")
    assert made.publisher.taken_seq == 3 * BATCH_RECORDS
    assert made.seqs == list(range(1, 61))


async def test_lines_that_cant_be_read_are_no_message_and_are_sent_once_they_can(monkeypatch):
    made = Sending()
    made.publisher.connected(True)  # noqa: FBT003
    made.record(3)
    with monkeypatch.context() as patched:
        patched.setattr(made.recorder.journal, "lines_since", lambda *_: [])
        await made.flush()
        assert made.bus.taken == []
    await made.flush()
    assert made.seqs == [1, 2, 3]


async def test_a_batch_stays_small_enough_for_any_broker():
    made = Sending()
    made.publisher.connected(True)  # noqa: FBT003
    made.record(400)
    await made.flush()
    await turns(400)
    assert made.seqs == list(range(1, 401))
    assert max(map(len, made.bus.taken)) <= BATCH_BYTES + 200


async def test_where_the_order_is_kept_most_readings_wait_for_the_word_on_the_next():
    made = Sending(keeps_order=True)
    made.publisher.connected(True)  # noqa: FBT003
    for number in range(1, 2 * ALONG_MAX + 4):
        made.record(1)
        await made.flush()
        whole = number // (ALONG_MAX + 1) * (ALONG_MAX + 1)
        assert made.publisher.taken_seq == whole
    assert made.seqs == list(range(1, 2 * ALONG_MAX + 4))
    assert len(made.bus.sent_along) == 2 * ALONG_MAX + 1


async def test_what_is_no_reading_is_confirmed_at_once():
    made = Sending(keeps_order=True)
    made.publisher.connected(True)  # noqa: FBT003
    made.record(1)
    await made.flush()
    made.record(1)
    made.recorder.record(ClockStepped(1))
    await made.flush()
    assert made.publisher.taken_seq == 3


async def test_what_was_sent_along_and_is_lost_with_the_bus_is_sent_again():
    made = Sending(keeps_order=True)
    made.publisher.connected(True)  # noqa: FBT003
    made.record(1)
    await made.flush()
    lost, made.bus.along = made.bus.along, []
    made.publisher.connected(False)  # noqa: FBT003
    for told in lost:
        told("disconnected")
    made.publisher.connected(True)  # noqa: FBT003
    await turns()
    assert made.seqs == [1, 1]


async def test_no_more_is_on_its_way_than_the_bus_may_have_at_once():
    made = Sending(keeps_order=True)
    made.bus.confirms = False
    made.publisher.connected(True)  # noqa: FBT003
    made.record(3 * IN_FLIGHT_MAX * BATCH_RECORDS)
    await made.flush()
    assert len(made.bus.taken) == IN_FLIGHT_MAX
    while made.bus.unconfirmed:
        made.bus.unconfirmed.pop(0)("")
    assert made.seqs == list(range(1, 3 * IN_FLIGHT_MAX * BATCH_RECORDS + 1))
