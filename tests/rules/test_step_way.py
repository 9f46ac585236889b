"""The whole way of a job: facts are asked for as sizes are, each in its step."""

import pytest

from barrelfit.rules.bench.open_facts import with_facts
from barrelfit.rules.bench.phases import READ_NS, Armed, Leaving, Waiting
from barrelfit.rules.engine.catalogue.nouns import CAUTIONS, STEP_OF
from barrelfit.rules.engine.parts import STEPS
from barrelfit.rules.events import (
    Asked,
    Judged,
    NotCounted,
    SetDone,
    Sized,
    Wanted,
    WentOn,
)
from barrelfit.rules.judge.plan import whole_way
from barrelfit.rules.manner import told
from barrelfit.rules.model import FeatureId, Verdict
from barrelfit.rules.telling import AskShown, BoardAwaited, TellingChanged
from barrelfit.rules.told import FactTaken, FactTold
from tests.rules.step_rig import GOOD_MM, WHO, Hand, replayed, with_steps
from tests.rules.way_rig import SETUP, answer, at_feeler, of, press, through, way


def test_the_way_is_the_trades_order_and_ends_in_a_matched_set():
    hand = way()
    asked = through(hand)
    steps = list(dict.fromkeys(_step(name) for name in asked))
    assert steps == ["look", "identify", "clean", "mark", "measure", "rings", "pins", "mass",
                     "heights"]  # fmt: skip
    (done,) = of(hand.said, SetDone)[-1:]
    open_now = {f.code for j in hand.bench.judged.values() for f in j.findings if f.severity == 1}
    assert not open_now
    assert done.serviceable == 12
    last = of(hand.said, Asked)[-1]
    assert (last.at, last.done) == (None, last.total)


def _step(name: str) -> str:
    return next(p.step for p in whole_way(SETUP.sheet, SETUP.engine) if p.at.feature == name)


def test_without_the_key_a_set_asks_for_sizes_alone():
    hand = way(steps=None)
    assert hand.bench.way == hand.bench.plan
    assert isinstance(hand.bench.phase, Waiting | Armed)


@pytest.mark.parametrize("step", STEPS)
def test_a_step_that_is_not_asked_for_is_left_out(step):
    hand = way(steps=tuple(s for s in STEPS if s != step))
    facts = [p for p in hand.bench.way if p.telling is not None]
    assert step not in {p.step for p in facts}
    assert len({p.step for p in facts}) == len(STEPS) - 1


@pytest.mark.parametrize("step", dict.fromkeys(STEP_OF.values()))
def test_each_step_has_its_caution(step):
    """The hazards that shops' safety sheets name; the maker's manual and a qualified person."""
    words = told(CAUTIONS[step])
    assert "manual" in words
    assert "qualified person" in words
    hazards = {
        "look": ("cut", "gloves"),
        "identify": ("guessed",),
        "clean": ("Solvents", "blasting dust", "lungs", "eyes", "ventilate", "flames"),
        "mark": ("scribed",),
        "measure": ("Edges", "seize"),
        "rings": ("sharp", "gloves", "eyes"),
        "pins": ("force", "eyes"),
        "mass": ("Lighten",),
        "heights": ("hot gas",),
    }
    assert all(word in words for word in hazards[step])


def test_every_ask_names_its_step_and_every_step_has_a_caution():
    assert {p.step for p in whole_way(SETUP.sheet, SETUP.engine)} == set(CAUTIONS)


# ---------------------------------------------------------------- an ask of a fact


def test_a_part_that_fails_by_eye_is_asked_for_nothing_more():
    hand = way(steps=("look", "identify", "clean", "mark"))
    assert str(hand.bench.asked.at) == "P1/looked"
    found = answer(hand, "cracked")
    assert [j.verdict for j in of(found, Judged) if j.about == "P1"] == [Verdict.DISCARD]
    through(hand, "skirt")
    asked = {a.at.part for a in of(hand.said, Asked)[2:] if a.at}
    assert "P1" not in asked
    assert {"P2", "B1", "W1"} <= asked


def test_a_discard_in_the_midst_of_a_part_stops_its_asks():
    """A groove too wide for a new ring: nobody tries the rest of the piston."""
    hand = at_feeler()
    assert hand.bench.asked.at.part == "P1"
    found = answer(hand, "in")
    assert [j.verdict for j in of(found, Judged) if j.about == "P1"] == [Verdict.DISCARD]
    assert hand.bench.asked.at.part == "P2"


def test_an_answer_before_its_ask_is_a_record_answers_nothing():
    hand = way()
    hand.link = False
    answer(hand, "good")  # now P2 is asked for, and its ask is under way
    assert str(hand.bench.asked.at) == "P2/looked"
    (held,) = answer(hand, "good")
    assert (held.reason, held.open) == ("too-soon", False)
    hand.linked()
    (held,) = answer(hand, "good", ask=hand.bench.phase.number - 1)  # of P1, pressed once more
    assert held.reason == "not-asked"
    assert of(answer(hand, "good"), FactTaken)


def test_an_answer_sooner_than_anybody_can_read_answers_nothing():
    hand = way()
    answer(hand, "good")
    hand.t_s += READ_NS / 1e9 - 0.1
    (held,) = press(hand, after_s=0.0)
    assert (held.reason, held.value) == ("too-soon", "good")
    assert str(hand.bench.asked.at) == "P2/looked"
    assert of(press(hand, after_s=0.2), FactTaken)


def test_a_fact_that_nobody_saw_asked_needs_as_long_when_it_is_said_anew():
    hand = way()
    hand.link = False
    answer(hand, "good")
    assert str(hand.bench.asked.at) == "P2/looked"
    hand.lost.clear()  # the ask for P2 never reached the record
    hand.link = True
    hand.feed(WentOn(hand.now_ns()))
    hand.t_s += READ_NS / 1e9 - 0.3
    (held,) = press(hand, after_s=0.0)
    assert held.reason == "too-soon"
    assert of(press(hand, after_s=0.4), FactTaken)


def test_what_is_told_by_itself_needs_no_ask():
    hand = way()
    told_now = FactTold(hand.now_ns(), FeatureId("P3", "looked"), "good", who=WHO)
    assert of(list(hand.feed(told_now)), FactTaken)
    assert str(hand.bench.asked.at) == "P1/looked"  # what is asked for goes on


def test_nothing_is_answered_while_nobody_sees_the_ask():
    hand = way()
    hand.feed(TellingChanged(hand.now_ns(), "bus", there=False))
    (held,) = press(hand)
    assert held.reason == "too-soon"
    hand.feed(TellingChanged(hand.now_ns(), "bus", there=True))
    assert of(press(hand), FactTaken)


def test_an_ask_arms_only_when_the_benchs_own_board_has_shown_it():
    hand = way()
    hand.feed(BoardAwaited(hand.now_ns()))
    answer(hand, "good")
    (held,) = press(hand)
    assert held.reason == "too-soon"
    hand.feed(AskShown(hand.now_ns(), hand.bench.phase.number))
    assert of(press(hand), FactTaken)


def test_what_is_swept_while_a_fact_is_asked_counts_for_nothing_and_is_told():
    hand = way(steps=("mark",))
    hand.rest(2.0)
    found = hand.sweep(GOOD_MM, 6)
    assert [n.why for n in of(found, NotCounted)] == ["fact-asked"]
    assert not of(found, Sized)
    through(hand, "skirt")
    assert isinstance(hand.bench.phase, Leaving)  # it must come away first
    assert not of(hand.sweep(GOOD_MM, 4), Sized)
    assert of(hand.size(GOOD_MM), Sized)


def test_a_mark_that_cannot_be_read_or_is_not_there_is_an_answer():
    hand = way(steps=("identify",))
    through(hand, "size_stamp")
    (taken,) = of(answer(hand, "absent"), FactTaken)
    assert (str(taken.at), taken.value) == ("P1/absent", "size")
    (taken,) = of(press(hand, "again"), FactTaken)  # a long press: unreadable
    assert (str(taken.at), taken.value, taken.by) == ("P1/unreadable", "group", "pedal")
    assert str(hand.bench.asked.at) == "P1/clearance_stamp"
    answer(hand, "absent")
    assert hand.bench.setup.engine.part("P1").marks.absent == ("size", "clearance")


def test_stamps_that_contradict_are_shown_at_once():
    hand = way(steps=("identify",))
    through(hand, "size_stamp")
    found = answer(hand, "84.95")
    found += answer(hand, "I") if hand.bench.asked.at.feature == "group_stamp" else []
    codes = {f.code for j in of(found, Judged) if j.about == "P1" for f in j.findings}
    assert codes & {"K102", "K103", "K104", "K106", "K107"}, codes


def test_crowns_of_two_forms_are_shown_at_once():
    hand = way(steps=("identify",))
    through(hand, "crown")
    answer(hand, "flat")
    hand.feed(FactTold(hand.now_ns(), FeatureId("P2", "crown"), "dished", who=WHO))
    codes = {f.code for about in ("P1", "P2") for f in hand.bench.judged[about].findings}
    assert "S107" in codes


# ---------------------------------------------------------------- later, meanwhile


def test_what_is_put_off_is_asked_again_at_the_end_and_then_left():
    hand = way(steps=("look",))
    press(hand, "again")  # a long press has no answer to a look: it is asked once more
    assert str(hand.bench.asked.at) == "P1/looked"
    skip_now(hand)
    assert str(hand.bench.asked.at) == "P2/looked"
    for _ in range(11):
        skip_now(hand)
    assert hand.bench.asked.at.feature == "skirt"
    through(hand, "looked")
    assert str(hand.bench.asked.at) == "P1/looked"
    for _ in range(12):
        skip_now(hand)
    assert of(hand.said, SetDone)
    assert {f.code for f in hand.bench.judged["P1"].findings} >= {"E101"}  # it stands as lacking
    hand.feed(Wanted(hand.now_ns(), FeatureId("P1", "looked"), WHO))
    assert str(hand.bench.asked.at) == "P1/looked"


def test_a_part_in_the_bath_waits_and_what_can_be_done_meanwhile_is_said():
    hand = way(steps=("clean", "mark"))
    asked = of(hand.said, Asked)[-1]
    assert str(asked.at) == "P1/cleaned"
    assert [at.part for at in asked.meanwhile] == ["P2", "P3", "P4"]
    telling = hand.bench.asked.telling
    assert telling.holds
    skip_now(hand)
    assert str(hand.bench.asked.at) == "P2/cleaned"
    for _ in range(7):
        answer(hand, "done")
    assert {at.part for at in _free(hand)} >= {"P2"}
    assert "P1" not in {at.part for at in _free(hand) if at.feature != "cleaned"}


def _free(hand: Hand) -> list[FeatureId]:
    sizes = [p for p in hand.bench.plan if p.at not in hand.bench.sizes]
    return [p.at for p in with_facts(hand.bench, sizes)]


def skip_now(hand: Hand) -> None:
    """Put what is asked off, as the board's own button does."""
    answer(hand, "later")


def test_the_same_again():
    hand = way()
    for action in ("next", "next", "again", "undo", "next", "back"):
        press(hand, action)
    through(hand, "height_marked")
    assert replayed(hand.fed, with_steps(SETUP, steps=STEPS)) == hand.said
