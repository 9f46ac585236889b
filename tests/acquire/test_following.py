"""Records that come in any order, twice, or behind a snapshot: the same state."""

import random

from hypothesis import given, settings
from hypothesis import strategies as st

from barrelfit.acquire.fold import following
from barrelfit.acquire.fold.following import Came, Following
from tests.acquire.answered_late import SKIRTS
from tests.acquire.journal_samples import reading
from tests.acquire.test_session_state import HAPPENINGS, JustRecorded, folded, worked

P1, P2, _ = SKIRTS


def records_of(happenings):
    """A session's records, every finding among them."""
    made = worked(happenings)
    made.let()
    return made.records


@settings(deadline=None, max_examples=40)
@given(HAPPENINGS, st.integers(0, 2**32))
def test_in_any_order_and_repeated_they_give_one_state(happenings, seed):
    chance, records = random.Random(seed), records_of(happenings)  # noqa: S311
    coming = records + chance.choices(records, k=len(records) // 2)
    chance.shuffle(coming)
    made = Following()
    heard = set()
    for record in coming:
        came = made.take(record)
        assert (came is Came.AGAIN) == (record.seq in heard)
        heard.add(record.seq)
        known = [r for r in records if r.seq in heard]
        assert without_seq(made.state) == without_seq(folded(known))
        assert made.whole == (heard == set(range(1, max(heard) + 1)))
    assert made.state == folded(records)
    assert (made.whole, made.missed) == (True, 0)


def without_seq(state):
    made = state.copy()
    made.seq = 0
    return made


@settings(deadline=None, max_examples=40)
@given(HAPPENINGS, st.integers(0, 2**32))
def test_from_any_snapshot_on_with_losses_before_it_they_give_the_same_state(happenings, seed):
    chance, records = random.Random(seed), records_of(happenings)  # noqa: S311
    at = chance.randint(1, len(records))
    early = [r for r in records[:at] if chance.random() < 0.6]
    late = records[at:]
    coming = early + late
    if chance.random() < 0.5:
        chance.shuffle(coming)
    made, place = Following(), chance.randint(0, len(coming))
    for record in coming[:place]:
        made.take(record)
    made.take_snapshot(folded(records[:at]))
    for record in coming[place:]:
        made.take(record)
    for _ in range(following.PATIENCE):
        made.wait()
    assert made.state == folded(records)
    assert (made.whole, made.missed) == (True, 0)


def test_a_snapshot_ahead_of_its_records_waits_for_them_but_not_for_ever():
    records = records_of([("typed", P1), ("let", 99), ("typed", P2), ("let", 99)])
    made = Following()
    for record in records[:5]:
        made.take(record)
    assert not made.take_snapshot(folded(records))
    assert not made.wait()
    assert made.take(records[5]) is Came.NEXT
    assert not made.wait()
    assert made.wait()
    assert made.state == folded(records)
    assert made.take(records[6]) is Came.AGAIN


def test_a_snapshot_that_came_before_a_gap_was_seen_fills_it():
    records = records_of([("typed", P1), ("let", 99), ("typed", P2), ("let", 99)])
    for last in (12, 8):  # the records come as far as the snapshot, or don't
        made = Following()
        for record in records[:5]:
            made.take(record)
        made.take_snapshot(folded(records[:10]))
        for record in records[6:last]:
            made.take(record)
        assert made.whole == (last > 10)
        for _ in range(following.PATIENCE):
            made.wait()
        assert made.state == folded(records[: max(last, 10)])
        assert (made.whole, made.missed) == (True, 0)


def test_after_an_outage_the_snapshot_of_the_reconnect_fills_the_gap():
    records = records_of([("typed", P1), ("let", 99), ("typed", P2), ("let", 99)])
    made = Following()
    for record in records[:5]:
        made.take(record)
    made.take_snapshot(folded(records))
    made.take(JustRecorded(records[-1].seq + 4, None, reading()))
    assert made.state.sizes == folded(records).sizes
    assert made.missed == 0  # readings that were taken before it heard again are none of it


def test_a_gap_is_counted_from_the_first_record_that_was_heard():
    made = Following()
    made.take(JustRecorded(100, None, reading()))
    assert (made.whole, made.missed) == (False, 0)
    made.take(JustRecorded(104, None, reading()))
    assert made.missed == 3
    assert made.take(JustRecorded(102, None, reading())) is Came.LATE
    assert made.missed == 2
    made.take(JustRecorded(200_000, None, reading()))
    assert made.missed == 2 + 199_895
    made.take_snapshot(folded([JustRecorded(200_000, None, reading())]))
    assert (made.whole, made.missed) == (True, 0)


def test_what_is_kept_behind_a_gap_has_an_end(monkeypatch):
    monkeypatch.setattr(following, "KEPT_MAX", 6)
    records = records_of([("typed", P1), ("let", 99), ("typed", P2), ("let", 99)])
    made = Following()
    for record in [*records[:4], *records[5:-2], records[-1]]:
        made.take(record)
    assert len(made._after) <= 6
    assert made.missed == 2
    assert made.take(records[4]) is Came.AGAIN  # too late
    assert made.take(records[-2]) is Came.LATE
    assert (made.whole, made.missed) == (False, 1)
    made.take_snapshot(folded(records))
    assert (made.whole, made.missed) == (True, 0)
    assert made.state == folded(records)
