"""A session of another version: redone result by result, and gone on with as it stands."""

import dataclasses
import json
from pathlib import Path

import msgspec
import pytest
from typer.testing import CliRunner

from barrelfit.acquire.bench.findings_queue import FindingsQueue
from barrelfit.acquire.bench.rules_pipe import SAID
from barrelfit.acquire.cli import app
from barrelfit.acquire.fold.handlers import take
from barrelfit.acquire.fold.state import SessionState
from barrelfit.acquire.inputs.setup import setup_of
from barrelfit.acquire.journal.codec import decode
from barrelfit.acquire.journal.events import ReadingTaken, SessionClosed
from barrelfit.acquire.journal.record_events import VersionChanged
from barrelfit.acquire.journal.session import Session
from barrelfit.acquire.redo.redo import Redo
from barrelfit.acquire.redo.redo_journal import wire_of
from barrelfit.rules.bench.state import Bench
from barrelfit.rules.events import Asked, PedalPressed, Sized, TakenBack
from barrelfit.rules.model import FeatureId
from barrelfit.rules.said import written
from tests.spoken import text_of

OLD = Path(__file__).parents[1] / "journals" / "set-0.4.0.jsonl"
SKIRT = FeatureId("P2", "skirt")
OWN = "9.0.0"


@pytest.fixture(scope="module")
def records():
    return list(Session.open(OLD).records())


def redone(records, version=OWN):
    redo = Redo(setup_of, wire_of, version)
    redo.take(records)
    return redo.result()


def changed(records, seq, **fields):
    """The records with other fields in one of them."""
    was = records[seq - 1]
    replace = (
        msgspec.structs.replace if isinstance(was.event, msgspec.Struct) else dataclasses.replace
    )
    record = msgspec.structs.replace(was, event=replace(was.event, **fields))
    return [*records[: seq - 1], record, *records[seq:]]


def test_sizes_are_nearly_the_same_and_verdicts_but_for_a_discard_by_one_sweep(records):
    done = redone(records)
    assert done.difference is None
    assert (done.first.field, done.first.was) == ("size_nm", "84931145")
    today = {at: size.size_nm for at, size in done.bench.sizes.items()}
    then = {sized.at: sized.size_nm for sized in done.sizes}
    assert len(then) == 6
    assert today.keys() == then.keys()
    assert all(abs(today[at] - then[at]) < 200 for at in then)
    sizes = {one.about: one for one in done.compared if one.kind == "size"}
    assert text_of(sizes.pop("P2/skirt").because) == (
        "the same passes; today with what the sweeps of P1/skirt told of the gauge's noise and of"
        " such parts' barrel"
    )
    assert text_of(sizes.pop("P1/skirt").because) == "the same passes, weighed otherwise"
    whys = {text_of(one.because) for one in sizes.values()}
    assert whys == {"the estimator was: rock-fit; today: from the rocks' turns"}
    other = [one for one in done.compared if not one.is_same and one.kind != "size"]
    assert [(one.kind, one.about, text_of(one.was), text_of(one.now)) for one in other] == [
        ("verdict", "P2", "discard", "undecided")
    ]
    assert "one sweep" in text_of(other[0].because)
    assert not done.is_same


def test_what_the_hand_swept_before_it_was_asked_for_something_else_counts_for_nothing_else(
    records,
):
    """The bench may end a sweep sooner today; the hand went on till the record asked for P2."""
    changing = [r for r in records if isinstance(r.event, Sized) and r.event.at.part == "P1"]
    done = redone(changed(records, changing[0].seq - 36, number=7))  # another word, much earlier
    assert done.first.field == "number"
    sizes = {at.part: size.size_nm for at, size in done.bench.sizes.items()}
    assert abs(sizes["P1"] - 84_931_000) < 1000
    assert abs(sizes["P2"] - 84_851_000) < 1000


def test_the_command_says_who_recorded_and_who_redid_it_and_ends_with_1():
    told = CliRunner().invoke(app, ["replay", str(OLD), "--redo"])
    assert told.exit_code == 1
    assert "recorded by barrelfit 0.4.0, redone by " in told.stdout
    assert "* verdict P2: recorded discard; today undecided: one sweep" in told.stdout
    assert "REDO DIFFERS: 0 of 6 sizes the same, 5 of 6 verdicts the same" in told.stdout
    fields = json.loads(CliRunner().invoke(app, ["replay", str(OLD), "--redo", "--json"]).stdout)
    assert (fields["equal"], fields["same_results"], fields["recorded_by"]) == (
        False,
        False,
        "0.4.0",
    )
    verdicts = [one for one in fields["compared"] if one["kind"] == "verdict"]
    assert [one["about"] for one in verdicts if not one["is_same"]] == ["P2"]


def test_the_same_version_is_held_to_every_word(records):
    done = redone(records, "0.4.0")
    assert done.compared == []
    assert text_of(done.difference.because).startswith("same version")


def test_a_size_that_was_altered_is_named(records):
    seq = [r.seq for r in records if isinstance(r.event, Sized)][-1]
    size_nm = records[seq - 1].event.size_nm
    done = redone(changed(records, seq, size_nm=size_nm + 1000))
    at = records[seq - 1].event.at
    (other,) = [one for one in done.compared if one.about == str(at)]
    assert not other.is_same
    assert text_of(other.was).startswith("85.0304 mm")
    assert other.because


def test_other_bytes_are_a_difference_in_any_version(records):
    seq = [r.seq for r in records if isinstance(r.event, ReadingTaken)][-5]
    length_nm = records[seq - 1].event.length_nm
    difference = redone(changed(records, seq, length_nm=length_nm + 1000)).difference
    assert (difference.seq, difference.field) == (seq, "length_nm")


# ---------------------------------------------------------------- gone on with


def cut(records, share):
    """The first part of a session, and this version going on with it."""
    kept = [r for r in records[: int(share * len(records))] if type(r.event) is not SessionClosed]
    last = kept[-1]
    change = VersionChanged("0.4.0", OWN)
    return kept, msgspec.structs.replace(records[0], seq=last.seq + 1, t_ns=last.t_ns, event=change)


def gone_on(records, share):
    """What the rules service says when it goes on there, and the bench it goes on with."""
    kept, change = cut(records, share)
    queue = FindingsQueue("set-0.4.0", setup_of(records[0].event), OWN)
    for record in [*kept, change]:
        queue.take(record.seq, record.event, record.t_ns, record.because)
    sent, said = 0, []
    while (message := queue.unsent(sent)) is not None:
        payload, sent = message
        results = SAID.decode(payload).results
        assert {r.because for r in results} == {change.seq}
        said += [decode(r.kind, r.version, bytes(r.data)) for r in results]
    return kept, change, queue.bench, said


def sizes_of(bench: Bench) -> dict:
    return {at: size.size_nm for at, size in bench.sizes.items()}


@pytest.mark.parametrize("share", [0.05, 0.3, 0.45, 0.6, 0.9, 1.0])
def test_what_stands_in_the_record_stands_and_nothing_is_asked_twice(records, share):
    kept, _, bench, said = gone_on(records, share)
    recorded = {r.event.at: r.event.size_nm for r in kept if isinstance(r.event, Sized)}
    assert sizes_of(bench) == recorded
    assert not any(isinstance(one, Sized | TakenBack) for one in said)
    (asked,) = [one for one in said if isinstance(one, Asked)]
    assert asked.at == bench.asked.at
    repeats = {SKIRT}  # the discard that one sweep decided
    assert asked.at not in set(recorded) - repeats


def test_an_undo_that_nobody_had_answered_takes_its_size_back(records):
    kept, change = cut(records, 0.6)
    sized = [r.event.at for r in kept if isinstance(r.event, Sized)]
    pressed = msgspec.structs.replace(
        change, seq=change.seq, because=None, event=PedalPressed(change.t_ns, "undo")
    )
    change = msgspec.structs.replace(change, seq=change.seq + 1)
    queue = FindingsQueue("set-0.4.0", setup_of(records[0].event), OWN)
    for record in [*kept, pressed, change]:
        queue.take(record.seq, record.event, record.t_ns, record.because)
    assert set(queue.bench.sizes) == set(sized[:-1])
    state = SessionState()  # as the board and the report have it once the rules said anything
    for record in [*kept, pressed, change]:
        take(state, record)
    answer = msgspec.structs.replace(change, seq=change.seq + 1, because=change.seq)
    take(state, msgspec.structs.replace(answer, event=Asked(None, "", written(""), 0, 0)))
    assert set(state.sizes) == set(queue.bench.sizes)


@pytest.mark.parametrize("share", [0.3, 0.6, 1.0])
def test_a_redo_goes_on_as_the_bench_did(records, share):
    kept, change, bench, said = gone_on(records, share)
    seqs = range(change.seq + 1, change.seq + 1 + len(said))
    new = [
        msgspec.structs.replace(change, seq=seq, because=change.seq, event=event)
        for seq, event in zip(seqs, said, strict=True)
    ]
    done = redone([*kept, change, *new])
    assert done.difference is None
    assert text_of(done.recorders) == f"0.4.0, from record {change.seq} on by {OWN}"
    assert sizes_of(done.bench) == sizes_of(bench)
    lost = redone([*kept, change, *changed_first(new)])
    assert lost.difference is not None
    assert lost.difference.seq == new[0].seq


def changed_first(new):
    """The same, with another first finding."""
    return [msgspec.structs.replace(new[0], event=TakenBack(SKIRT)), *new[1:]]
