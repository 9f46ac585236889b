"""What a late viewer is told: the fold over a session's records."""

import json

from barrelfit.acquire.bus.snapshot import Snapshot
from barrelfit.acquire.journal.override_events import Overridden
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
from tests.acquire.journal_samples import opened, reading

P1 = FeatureId("P1", "skirt")
P2 = FeatureId("P2", "skirt")


def empty() -> Snapshot:
    planned = [{"at": at, "gauge": "m", "from_edge_nm": 12_000_000} for at in (P1, P2)]
    return Snapshot("stand", "s-1", planned)


def sized(at: FeatureId, size_nm: int) -> Sized:
    line = BudgetLine("digit", "B", "rectangular", 289.0, None)
    return Sized(at, size_nm, size_nm, 500.0, size_nm - 1, size_nm + 1, (size_nm,), "e", "r",
                 budget=(line,))  # fmt: skip


def told(snapshot: Snapshot) -> dict:
    return json.loads(snapshot.payload(7, "2026-11-25T01:02:03.000000Z"))


def test_an_empty_one_says_what_will_be_measured():
    message = told(empty())
    assert (message["session"], message["seq"], message["bench"]) == ("s-1", 7, "stand")
    assert [feature["at"]["part"] for feature in message["features"]] == ["P1", "P2"]
    assert message["asked"] is None
    assert message["sizes"] == message["judged"] == []


def test_the_latest_size_and_verdict_of_each_stand_and_a_refusal_goes_with_the_next_size():
    made = empty()
    made.take(Refused(P1, "r", "s", "a"))
    assert told(made)["refused"]["reason"] == "r"
    made.take(sized(P1, 1))
    made.take(sized(P2, 2))
    made.take(sized(P1, 3))
    made.take(Judged("P1", Verdict.UNDECIDED, (), ""))
    made.take(Judged("P1", Verdict.SERVICEABLE, (), ""))
    message = told(made)
    assert [(size["at"]["part"], size["size_nm"]) for size in message["sizes"]] == [
        ("P1", 3),
        ("P2", 2),
    ]
    assert [judged["verdict"] for judged in message["judged"]] == ["serviceable"]
    assert message["refused"] is None


def test_readings_passes_and_budgets_are_no_part_of_it():
    made = empty()
    assert not made.take(reading())
    assert not made.take(Passed(P1, 1, 1, 1, 1))
    made.take(sized(P1, 1))
    assert told(made)["sizes"][0]["budget"] == []


def test_gauges_stand_with_their_state_and_the_job_with_the_opening():
    made = empty()
    made.take(GaugeChanged("m", 1, "lost", "cable"))
    made.take(opened())
    assert told(made)["gauges"] == {"m": {"state": "lost", "reason": "cable"}}
    assert told(made)["job"] == "job 7"


def test_a_set_that_is_opened_again_is_not_finished():
    made = empty()
    made.take(Asked(None, "", "done", 2, 2))
    made.take(SetDone(1, 0, 0, 0))
    assert made.finished
    made.take(PedalPressed(1, "undo"))
    made.take(Asked(P1, "m", "again", 1, 2))
    assert not made.finished
    assert told(made)["set_done"] is None


def test_an_override_goes_with_the_verdict_it_was_of():
    made = empty()
    made.take(Judged("P1", Verdict.DISCARD, (), ""))
    override = Overridden("P1", "serviceable", "discard", 7, "a lead", "a reason", "request")
    assert made.take(override)
    assert len(told(made)["overridden"]) == 1
    made.take(Judged("P1", Verdict.UNDECIDED, (), ""))
    assert told(made)["overridden"] == []


def test_a_size_taken_back_is_listed_no_more():
    made = empty()
    made.take(sized(P1, 1))
    made.take(Asked(P2, "m", "next", 1, 2))
    made.take(sized(P2, 2))
    made.take(PedalPressed(1, "undo"))
    assert [size["at"]["part"] for size in told(made)["sizes"]] == ["P1", "P2"]
    made.take(Asked(P2, "m", "again", 1, 2))
    assert [size["at"]["part"] for size in told(made)["sizes"]] == ["P1"]
    made.take(sized(P2, 3))
    made.take(Asked(P2, "m", "once more, too near a limit", 2, 2))  # no undo: its size stays
    assert [size["size_nm"] for size in told(made)["sizes"]] == [1, 3]


def test_findings_on_their_way_when_undo_was_pressed_take_nothing_else_back():
    made = empty()
    made.take(sized(P1, 1))
    made.take(PedalPressed(1, "undo"))
    made.take(sized(P2, 2))
    made.take(Asked(None, "", "done", 2, 2))
    made.take(Asked(P2, "m", "again", 1, 2))
    assert [size["size_nm"] for size in told(made)["sizes"]] == [1]


def test_undo_with_nothing_to_take_back_takes_nothing():
    made = empty()
    made.take(PedalPressed(1, "undo"))
    made.take(sized(P1, 1))
    made.take(Asked(P1, "m", "once more", 1, 2))
    assert len(told(made)["sizes"]) == 1
    made.take(PedalPressed(1, "next"))
    made.take(Asked(P1, "m", "once more", 1, 2))
    assert len(told(made)["sizes"]) == 1
