"""The rules service's half of the way back: nothing found is lost, doubled or reordered."""

import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from barrelfit.acquire.bench.findings_queue import FindingsQueue, GapError
from barrelfit.acquire.bench.results_gate import ResultsGate
from barrelfit.acquire.bench.rules_pipe import SAID
from barrelfit.acquire.inputs.setup import setup_of
from barrelfit.acquire.journal.events import OUTPUT_TYPES
from barrelfit.rules.events import Asked, EntryMade, Sized
from barrelfit.rules.model import FeatureId
from barrelfit.rules.said import written
from tests.acquire.journal_samples import reading
from tests.acquire.recorded import opening

SESSION = "s-1"
SETUP = setup_of(opening())
ENTRIES = [
    EntryMade(n, FeatureId(f"P{n % 4 + 1}", "skirt"), f"84.9{n}0", "mm", "A. Smith")
    for n in range(8)
]


class Journal:
    """A session's records and the gate into it, with a bus between that may lose anything."""

    def __init__(self) -> None:
        self.events: list = [opening(session=SESSION)]
        self.causes: list[int | None] = [None]
        self.gate = ResultsGate(SESSION, 0, self.record)

    def record(self, event, because=None) -> int:
        self.events.append(event)
        self.causes.append(because)
        return len(self.events)

    def fed(self, queue: FindingsQueue) -> None:
        """Everything the queue has not read yet."""
        for seq in range(queue.seq + 1, len(self.events) + 1):
            queue.take(seq, self.events[seq - 1], seq, self.causes[seq - 1])


def fresh() -> FindingsQueue:
    return FindingsQueue(SESSION, SETUP, "0.1.0")


def quiet(events: list) -> list:
    """Everything that happened when nothing is lost and nobody dies."""
    journal, queue = Journal(), fresh()
    for event in [None, *events]:
        if event is not None:
            journal.record(event)
        while True:
            journal.fed(queue)
            message = queue.unsent(0)
            if message is None:
                break
            journal.gate.take(SAID.decode(message[0]))
    return [e for e in journal.events if isinstance(e, OUTPUT_TYPES)]


EXPECTED = quiet(ENTRIES)


@pytest.mark.slow
@settings(max_examples=8, deadline=None)
@given(st.integers(0, 10_000))
def test_lost_messages_and_killed_services_lose_and_double_nothing(seed):
    chance = random.Random(seed)  # noqa: S311
    journal, queue, sent = Journal(), fresh(), 0
    entries = list(ENTRIES)
    for _ in range(200):
        if chance.random() < 0.02:
            queue, sent = fresh(), 0  # killed: begins again from the journal
        if entries and not queue.waiting and queue.seq == len(journal.events):
            journal.record(entries.pop(0))
        if chance.random() < 0.5:
            journal.fed(queue)
        sent = said(journal, queue, sent if chance.random() < 0.7 else 0, chance.random() < 0.6)
    while entries or queue.waiting or queue.seq < len(journal.events):
        if entries and not queue.waiting:
            journal.record(entries.pop(0))
        journal.fed(queue)
        said(journal, queue, 0, arrives=True)
    assert [e for e in journal.events if isinstance(e, OUTPUT_TYPES)] == EXPECTED


def said(journal: Journal, queue: FindingsQueue, sent: int, arrives: bool) -> int:
    """Send the next findings; the bus loses them when they don't arrive."""
    message = queue.unsent(sent)
    if message is None:
        return sent
    if arrives:
        journal.gate.take(SAID.decode(message[0]))
    return message[1]


def test_findings_are_numbered_and_count_as_said_when_they_come_back():
    queue = fresh()
    queue.take(1, opening(session=SESSION), 1)
    before = queue.waiting
    assert before > 0
    payload, after = queue.unsent(0)
    message = SAID.decode(payload)
    assert (message.first, len(message.results)) == (0, after)
    assert queue.unsent(after) is None or after < before
    queue.take(2, Asked(None, "", written(""), 0, 0), 2, because=1)
    assert (queue.waiting, queue.first) == (before - 1, 1)


def test_a_record_taken_twice_counts_once_and_a_missing_one_is_noticed():
    queue = fresh()
    queue.take(1, opening(session=SESSION), 1)
    queue.take(2, ENTRIES[0], 2)
    waiting = queue.waiting
    queue.take(2, ENTRIES[0], 2)
    assert queue.waiting == waiting
    with pytest.raises(GapError) as gap:
        queue.take(4, reading(), 4)
    assert gap.value.seq == 3
    assert queue.seq == 2


def test_a_finding_says_which_record_led_to_it():
    queue, sent = fresh(), 0
    queue.take(1, opening(session=SESSION), 1)
    queue.take(2, ENTRIES[0], 2)
    because = []
    while (message := queue.unsent(sent)) is not None:
        payload, sent = message
        because += [(r.because, r.kind) for r in SAID.decode(payload).results]
    assert (2, "sized") in because
    assert any(isinstance(event, Sized) for event in EXPECTED)
    assert {seq for seq, _ in because} == {1, 2}


@pytest.mark.parametrize("told", [1, 2, 9])
def test_what_another_version_said_is_neither_repeated_nor_taken_for_something_later(told):
    journal, older = Journal(), fresh()
    journal.fed(older)
    said(journal, older, 0, arrives=True)
    journal.record(ENTRIES[0])
    cause = len(journal.events)
    journal.fed(older)
    today = older.waiting
    for _ in range(told):
        journal.record(Asked(None, "", written(""), 0, 0), cause)
    journal.record(ENTRIES[1])
    queue = fresh()
    journal.fed(queue)
    message = SAID.decode(queue.unsent(0)[0])
    assert message.first == sum(isinstance(e, OUTPUT_TYPES) for e in journal.events)
    of_entry = [r for r in message.results if r.because == cause]
    later = [r for r in message.results if r.because == queue.seq]
    assert len(of_entry) == max(today - told, 0)  # told by halves, perhaps: the rest is sent
    assert later
    assert len(of_entry) + len(later) == len(message.results)
