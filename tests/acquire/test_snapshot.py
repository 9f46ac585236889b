"""What a late viewer is told: the state of a session, as a message."""

import json
import random
from dataclasses import fields, replace

from hypothesis import given, settings
from hypothesis import strategies as st

from barrelfit.acquire.bus.payloads import ENCODE
from barrelfit.acquire.bus.plan_told import Planned, SetTold
from barrelfit.acquire.bus.snapshot import FRAME, SNAPSHOTS, Snapshot, Telling, state_of
from barrelfit.acquire.fold.state import SessionState, Stood
from barrelfit.acquire.journal.recorder import JustRecorded
from barrelfit.rules.events import (
    Asked,
    BudgetLine,
    GaugeChanged,
    Judged,
    Passed,
    PedalPressed,
    Refused,
    SetDone,
    Sized,
)
from barrelfit.rules.model import FeatureId, Verdict
from barrelfit.rules.said import written
from tests.acquire.journal_samples import opened, reading
from tests.acquire.test_session_state import HAPPENINGS, folded, worked

P1 = FeatureId("P1", "skirt")
P2 = FeatureId("P2", "skirt")


@settings(deadline=None, max_examples=25)
@given(HAPPENINGS, st.integers(0, 2**32))
def test_whoever_joins_by_a_snapshot_at_any_record_comes_to_the_same_state(happenings, seed):
    chance, made = random.Random(seed), worked(happenings)  # noqa: S311
    made.let()
    at = chance.randint(1, len(made.records))
    telling = Telling("stand", "s-1", lambda _: SetTold())
    for record in made.records[:at]:
        telling.take(record)
    payload = telling.payload(at, "")
    snapshot = SNAPSHOTS.decode(payload)
    assert folded(made.records[at:], state_of(snapshot)) == lean(folded(made.records), at)
    assert ENCODE(snapshot) == payload  # what was told stays as it was told


def lean(state: SessionState, at: int) -> SessionState:
    """A state whose sizes up to a record have no budgets: those are in the journal alone."""
    for key, stood in state.sizes.items():
        if stood.seq <= at:
            state.sizes[key] = Stood(stood.seq, replace(stood.event, budget=()))
    return state


def test_a_snapshot_tells_all_that_the_state_knows():
    known = {field.name for field in fields(SessionState)}
    assert known | FRAME == set(Snapshot.__struct_fields__)


class Teller:
    """Tells of events, each caused by the record before."""

    def __init__(self) -> None:
        planned = [Planned(at, "m", 12_000_000) for at in (P1, P2)]
        self.telling, self.seq = Telling("stand", "s-1", lambda _: SetTold(planned)), 0

    def take(self, event, because: int = 0) -> bool:
        self.seq += 1
        return self.telling.take(JustRecorded(self.seq, because or self.seq - 1 or None, event))


def sized(at: FeatureId, size_nm: int) -> Sized:
    line = BudgetLine("digit", "B", "rectangular", 289.0, None)
    return Sized(at, size_nm, size_nm, 500.0, size_nm - 1, size_nm + 1, (size_nm,), "e", "r",
                 budget=(line,))  # fmt: skip


def told(made: Teller) -> dict:
    return json.loads(made.telling.payload(7, "2026-11-25T01:02:03.000000Z"))


def test_an_empty_one_says_what_will_be_measured():
    message = told(Teller())
    assert (message["session"], message["seq"], message["bench"]) == ("s-1", 7, "stand")
    assert [feature["at"]["part"] for feature in message["features"]] == ["P1", "P2"]
    assert {"asked", "sizes", "judged"}.isdisjoint(message)  # nothing of it has happened


def test_the_latest_size_and_verdict_of_each_stand_and_a_refusal_goes_with_the_next_size():
    made = Teller()
    made.take(Refused(P1, "r", written("s"), written("a")))
    assert told(made)["refused"][0]["event"]["reason"] == "r"
    made.take(sized(P1, 1))
    made.take(sized(P2, 2))
    made.take(sized(P1, 3))
    made.take(Judged("P1", Verdict.UNDECIDED, (), written("")))
    made.take(Judged("P1", Verdict.SERVICEABLE, (), written("")))
    message = told(made)
    assert [(s["event"]["at"]["part"], s["event"]["size_nm"]) for s in message["sizes"]] == [
        ("P1", 3),
        ("P2", 2),
    ]
    assert [judged["event"]["verdict"] for judged in message["judged"]] == ["serviceable"]
    assert "refused" not in message


def test_readings_passes_and_budgets_are_no_reason_to_tell():
    made = Teller()
    assert not made.take(reading())
    assert not made.take(Passed(P1, 1, 1, 1, 1))
    assert made.take(sized(P1, 1))
    assert told(made)["sizes"][0]["event"]["budget"] == []


def test_gauges_stand_with_their_state_and_the_job_with_the_opening():
    made = Teller()
    made.take(GaugeChanged("m", 1, "lost", written("cable")))
    made.take(opened())
    (gauge,) = told(made)["gauges"]
    assert (gauge["gauge"], gauge["state"], gauge["reason"]) == (
        "m",
        "lost",
        {"key": "written", "values": {"text": "cable"}},
    )
    assert told(made)["opened"]["job"] == "job 7"


def test_a_set_that_is_opened_again_is_not_finished():
    made = Teller()
    made.take(Asked(None, "", written("done"), 2, 2))
    made.take(SetDone(1, 0, 0, 0))
    assert made.telling.finished
    made.take(PedalPressed(1, "undo"))
    made.take(Asked(P1, "m", written("again"), 1, 2))
    assert not made.telling.finished
    assert "done" not in told(made)


def test_a_size_taken_back_is_listed_until_the_rules_have_answered_and_then_no_more():
    made = Teller()
    for at in (P1, P2):
        made.take(sized(at, 1))
    made.take(PedalPressed(1, "undo"))
    made.take(PedalPressed(1, "undo"))
    assert [size["event"]["at"]["part"] for size in told(made)["sizes"]] == ["P1", "P2"]
    made.take(Asked(P2, "m", written("again"), 1, 2), because=3)
    assert [size["event"]["at"]["part"] for size in told(made)["sizes"]] == ["P1"]
    made.take(Asked(P1, "m", written("again"), 1, 2), because=4)
    assert "sizes" not in told(made)
