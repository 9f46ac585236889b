"""Findings on their way into the journal: each once, in order, whatever the bus does."""

import random

import msgspec
from hypothesis import given
from hypothesis import strategies as st

from barrelfit.acquire.bench.results_gate import ResultsGate
from barrelfit.acquire.bench.rules_pipe import ENCODE, Result, Results
from barrelfit.acquire.journal.events import VERSION_OF, kind_of
from barrelfit.rules.events import Asked, PedalPressed
from barrelfit.rules.said import written

SESSION = "s-1"


def finding(number: int) -> Result:
    event = Asked(None, "", written(f"finding {number}"), number, 9)
    data = msgspec.Raw(ENCODE(event))
    return Result(number, kind_of(Asked), VERSION_OF[Asked], data)


def message(first: int, count: int, session: str = SESSION) -> Results:
    return Results(session, first, [finding(n) for n in range(first, first + count)])


class Gate:
    def __init__(self, journaled: int = 0) -> None:
        self.let_in: list[tuple[int, int]] = []
        self.full = False
        self.gate = ResultsGate(SESSION, journaled, self.record)

    def record(self, event, because):
        if self.full:
            return None
        self.let_in.append((event.done, because))
        return len(self.let_in)

    @property
    def numbers(self) -> list[int]:
        assert all(done == because for done, because in self.let_in)
        return [done for done, _ in self.let_in]


@given(st.integers(0, 10_000))
def test_repeats_and_gaps_let_each_finding_in_once_and_in_order(seed):
    chance = random.Random(seed)  # noqa: S311
    made, sent = Gate(), 0
    for _ in range(60):
        first = chance.randint(max(0, sent - 6), sent + 2)
        count = chance.randint(1, 4)
        told = made.gate.take(message(first, count))
        assert ("missing" in told) == (first > sent)
        sent = sent if first > sent else max(sent, first + count)
    assert made.numbers == list(range(len(made.numbers)))


def test_what_the_journal_holds_already_is_not_let_in_again():
    made = Gate(journaled=5)
    made.gate.take(message(0, 5))
    made.gate.take(message(3, 4))
    assert made.numbers == [5, 6]


def test_findings_after_a_gap_wait_for_those_before():
    made = Gate()
    made.gate.take(message(2, 2))
    assert made.numbers == []
    made.gate.take(message(0, 4))
    assert made.numbers == [0, 1, 2, 3]


def test_findings_of_another_session_are_none_of_ours():
    made = Gate()
    assert "another session" in made.gate.take(message(0, 3, session="s-0"))
    assert made.numbers == []


def test_a_finding_that_can_not_be_recorded_is_waited_for():
    made = Gate()
    made.full = True
    assert "recorded" in made.gate.take(message(0, 3))
    made.full = False
    assert made.gate.take(message(0, 3)) == ""
    assert made.numbers == [0, 1, 2]


def test_what_is_no_result_of_the_rules_is_refused_by_name():
    made = Gate()
    event = PedalPressed(1, "next")
    raw = msgspec.Raw(ENCODE(event))
    bad = Result(1, kind_of(PedalPressed), VERSION_OF[PedalPressed], raw)
    assert "pedal_pressed is no finding" in made.gate.take(Results(SESSION, 0, [bad]))
    worse = Result(1, "miracle", 1, raw)
    assert "miracle" in made.gate.take(Results(SESSION, 0, [worse]))
    assert made.numbers == []
