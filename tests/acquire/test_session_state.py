"""One state of a session for everybody: the rules' own, whatever way the records came."""

from collections import deque
from dataclasses import replace

from hypothesis import given, settings
from hypothesis import strategies as st

from barrelfit.acquire.fold.handlers import take
from barrelfit.acquire.fold.state import Opened, SessionState
from barrelfit.acquire.journal.events import SessionClosed
from barrelfit.acquire.journal.override_events import Overridden, OverrideAsked
from barrelfit.acquire.journal.recorder import JustRecorded
from barrelfit.rules.events import (
    Asked,
    Contact,
    EntryMade,
    GaugeChanged,
    Judged,
    Matched,
    NotCounted,
    Passed,
    PedalPressed,
    Refused,
    SetDone,
    Sized,
    StillDoubtful,
    TemperatureTaken,
    Wanted,
)
from barrelfit.rules.hints import Coached, PartAway
from barrelfit.rules.model import Verdict
from barrelfit.rules.said import written
from tests.acquire.answered_late import BORE, SKIRTS, AnsweredLate
from tests.acquire.journal_samples import opened

P1, P2, P3 = SKIRTS
TEXT = {P1: "84.931", P2: "84.932", P3: "84.933", BORE: "85.003"}
SLIP = "8.4931"

WORDS = ("undo", "undo", "undo", "next", "again", "back")
HAPPENINGS = st.lists(
    st.one_of(
        st.tuples(st.just("typed"), st.sampled_from((*SKIRTS, BORE))),
        st.tuples(st.just("slipped"), st.sampled_from((*SKIRTS, BORE))),
        st.tuples(st.just("pressed"), st.sampled_from(WORDS)),
        st.tuples(st.just("wanted"), st.sampled_from(SKIRTS)),
        st.tuples(st.just("let"), st.integers(1, 6)),
    ),
    max_size=14,
)


def worked(happenings):
    """The records of what happened, with the rules' answers as late as it says."""
    made = AnsweredLate()
    for what, value in happenings:
        if what == "typed":
            made.typed(value, TEXT[value])
        elif what == "slipped":
            made.typed(value, SLIP)
        elif what == "pressed":
            made.pressed(value)
        elif what == "wanted":
            made.happens(Wanted(len(made.records), value, "A. Smith"))
        else:
            made.let(value)
    return made


def folded(records, state=None):
    state = SessionState() if state is None else state
    for record in records:
        take(state, record)
    return state


def sizes(state):
    return {at: stood.event.size_nm for at, stood in state.sizes.items()}


@settings(deadline=None, max_examples=60)
@given(HAPPENINGS)
def test_at_any_record_what_stands_is_what_the_rules_held_when_they_found_it(happenings):
    made = worked(happenings)
    made.let()
    state, answered = SessionState(), 1
    for record in made.records:
        take(state, record)
        answered = record.because or answered
        assert sizes(state) == made.standing[answered], record
    assert state.undos == []
    assert {key: stood.event.text for key, stood in state.held.items()} == made.bench.held


def test_two_undos_before_the_rules_have_answered_take_back_two_sizes():
    made = worked([("typed", P1), ("let", 99), ("typed", P2), ("let", 99)])
    for _ in range(2):
        made.pressed("undo")
    state = folded(made.records)
    assert list(sizes(state)) == [P1, P2]  # pressed, but not answered
    assert len(state.undos) == 2
    made.let(1)
    assert list(sizes(folded(made.records))) == [P1]
    made.let()
    state = folded(made.records)
    assert sizes(state) == {}
    assert [undone.at for undone in state.undone] == [P2, P1]


class BeforeTakenBack:
    """Records as they were made when the rules did not say which size an undo took back."""

    def __init__(self):
        self.records, self.on_their_way = [], deque()
        self.sizes, self.history, self.standing = {}, [], {0: {}}

    def happens(self, what, at):
        event = EntryMade(1, at, "84.9", "mm", "Kim") if what == "typed" else PedalPressed(1, what)
        seq = self.record(event, None)
        found = [Asked(at, "m", written("next"), 1, 3)]
        if what == "typed":
            self.sizes[at] = 84_000_000 + seq
            self.history.append(at)
            found.insert(0, sized(at, 84_000_000 + seq))
        elif what == "undo" and self.history:
            last = self.history.pop()
            self.sizes.pop(last, None)
            found = [Judged(last.part, Verdict.UNDECIDED, (), written("")), *found]
        self.standing[seq] = dict(self.sizes)
        self.on_their_way.extend((event, seq) for event in found)

    def record(self, event, because):
        self.records.append(JustRecorded(len(self.records) + 1, because, event))
        return len(self.records)

    def let(self, number):
        for _ in range(min(number, len(self.on_their_way))):
            self.record(*self.on_their_way.popleft())


@settings(deadline=None, max_examples=100)
@given(
    st.lists(
        st.one_of(
            st.tuples(st.sampled_from(("typed", "undo", "undo", "next")), st.sampled_from(SKIRTS)),
            st.tuples(st.just("let"), st.integers(1, 5)),
        ),
        max_size=24,
    )
)
def test_of_older_sessions_the_order_of_the_records_tells_what_an_undo_took_back(happenings):
    made = BeforeTakenBack()
    for what, value in happenings:
        made.let(value) if what == "let" else made.happens(what, value)
    made.let(1_000)
    state, answered = SessionState(), 0
    for record in made.records:
        take(state, record)
        answered = record.because or answered
        assert sizes(state) == made.standing[answered]
    assert state.undos == []


def test_an_undo_takes_back_a_size_that_was_on_its_way_when_it_was_pressed():
    made = worked([("typed", P1), ("let", 99), ("typed", P2)])
    made.pressed("undo")
    made.let()
    assert list(sizes(folded(made.records))) == [P1]


def test_an_undo_of_nothing_takes_nothing():
    made = worked([("pressed", "undo"), ("let", 99), ("typed", P1), ("let", 99)])
    assert list(sizes(folded(made.records))) == [P1]
    assert folded(made.records).undone == []


def test_of_a_feature_measured_twice_the_first_undo_leaves_nothing():
    made = worked([("typed", P1), ("typed", P1), ("let", 99)])
    made.pressed("undo")
    made.let()
    assert sizes(folded(made.records)) == {}
    made.typed(P1, TEXT[P1])
    made.pressed("undo")
    made.pressed("undo")
    made.let()
    assert sizes(folded(made.records)) == {}


def test_a_held_entry_stands_until_its_value_is_taken():
    made = worked([("slipped", P1), ("let", 99)])
    (held,) = folded(made.records).held.values()
    assert held.event.text == SLIP
    refusal = folded(made.records).refused[P1]
    assert (refusal.event.reason, refusal.times) == ("entry-held", 1)
    made.typed(P1, TEXT[P1])
    made.let()
    state = folded(made.records)
    assert (state.held, state.refused) == ({}, {})


def numbered(*events):
    """Records of a session, each caused by the one before."""
    return [JustRecorded(seq, seq - 1 or None, event) for seq, event in enumerate(events, 1)]


def sized(at, size_nm):
    return Sized(at, size_nm, size_nm, 500.0, size_nm - 1, size_nm + 1, (size_nm,), "e", "r")


def test_a_finished_set_that_is_opened_again_is_neither_finished_nor_paired():
    pairing, done = Matched("matched", (), 0, ()), SetDone(1, 0, 0, 0)
    records = numbered(sized(P1, 1), pairing, Asked(None, "", written("done"), 1, 1), done)
    assert folded(records).finished
    assert folded(records).matched is not None
    records += [
        JustRecorded(5, None, PedalPressed(1, "undo")),
        JustRecorded(6, 5, Asked(P1, "m", written("again"), 0, 1)),
    ]
    assert not folded(records).finished
    assert folded(records).matched is None
    assert folded(records[:5]).finished


def test_the_latest_result_is_a_size_or_a_refusal_until_its_size_is_taken_back():
    records = numbered(
        Refused(P2, "r", written("s"), written("a")),
        sized(P1, 1),
        Refused(P2, "r", written("t"), written("a")),
    )
    assert folded(records[:1]).latest.event.sentence.values["text"] == "s"
    assert folded(records[:2]).latest.event == sized(P1, 1)
    assert folded(records).latest.event.sentence.values["text"] == "t"
    assert folded(records).latest.times == 2
    records += [
        JustRecorded(4, None, PedalPressed(1, "undo")),
        JustRecorded(5, 4, Asked(P1, "m", written("again"), 0, 1)),
    ]
    assert folded(records).latest is None


def test_an_override_is_of_one_verdict_and_so_is_the_wish_for_one():
    verdict = Judged("P1", Verdict.DISCARD, (), written(""))
    wish = OverrideAsked("P1", "Kim", "look")
    override = Overridden("P1", "serviceable", "discard", 1, "a lead", "a reason", "request")
    state = folded(numbered(verdict, wish))
    assert list(state.override_asked) == ["P1"]
    state = folded(numbered(verdict, wish, replace(verdict, todo="again")))
    assert state.override_asked == {}
    state = folded(numbered(verdict, wish, override))
    assert (list(state.override_asked), list(state.overridden)) == ([], ["P1"])
    state = folded(numbered(verdict, override, replace(verdict, todo="again"), wish))
    assert (list(state.override_asked), list(state.overridden)) == (["P1"], [])
    assert [stood.event for stood in state.outdated] == [override]


def test_a_sweep_stands_with_its_passes_and_its_doubt():
    contact, doubt = Contact(P1, 7), StillDoubtful(P1, 2, 84_000_000, 83_999_000, 84_001_000)
    passes = [Passed(P1, number, 84_000_000, 1, 2) for number in (1, 2)]
    state = folded(numbered(contact, *passes, doubt))
    assert (state.sweep.contact_ns, len(state.sweep.passes)) == (7, 2)
    assert state.sweep.doubt.high_nm == 84_001_000
    state = folded(numbered(contact, *passes, doubt, sized(P1, 84_000_000), NotCounted(P2)))
    assert (len(state.sweep.passes), state.sweep.doubt, state.not_counted) == (2, None, True)
    assert not folded(numbered(NotCounted(P2), Contact(P2, 1))).not_counted


def test_what_would_help_and_a_part_that_is_away_stand_until_they_are_over():
    helps, contact = Coached(P1, 3, written("slower")), Contact(P1, 7)
    assert folded(numbered(contact, helps)).coached == written("slower")
    assert folded(numbered(contact, helps, sized(P1, 84_000_000))).coached is None
    away, back = PartAway(P2, 5, 1_200_000_000), PartAway(P2, 6, 0)
    assert folded(numbered(away)).away == away
    for over in (back, Contact(P2, 8)):
        assert folded(numbered(away, over)).away is None


def test_gauges_temperatures_and_how_a_session_ended():
    state = folded(
        numbered(
            opened(),
            GaugeChanged("m", 1, "lost", written("cable")),
            TemperatureTaken(1, "part", 21_500),
            SessionClosed("done"),
        )
    )
    assert state.opened == Opened("bench1", "job 7", "A. Smith", simulated=False)
    assert state.gauges["m"].reason == written("cable")
    assert state.milli_celsius == {"part": 21_500}
    assert state.closed == "done"


def test_a_copy_goes_its_own_way():
    made = worked([("typed", P1), ("slipped", P2), ("let", 99), ("pressed", "undo")])
    state = folded(made.records)
    before, copy = state.copy(), state.copy()
    made.let()
    folded(made.records[copy.seq :], copy)
    assert state == before
    assert sizes(copy) == {}
