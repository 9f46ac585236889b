"""Facts told at a running bench: taken or held, judged at once, and the same as in a set file."""

from dataclasses import replace

import pytest

from barrelfit.rules.bench.phases import Armed
from barrelfit.rules.bench.setup import Setup
from barrelfit.rules.bench.taken_over import take_over
from barrelfit.rules.engine.set_writer import set_file_text
from barrelfit.rules.engine.setfile import set_from
from barrelfit.rules.events import (
    Asked,
    EntryMade,
    Judged,
    Matched,
    SetDone,
    Sized,
    TakenBack,
    Wanted,
)
from barrelfit.rules.judge import judge_set
from barrelfit.rules.judge.evidence import Evidence
from barrelfit.rules.model import FeatureId, Verdict
from barrelfit.rules.told import FactHeld, FactSettled, FactTaken
from tests.rules.fact_sets import (
    SETS,
    facts_of,
    parsed,
    set_of,
    shipped_sheet,
    told,
    without_facts,
)
from tests.rules.step_rig import GOOD_MM, P1, P2, WHO, Hand, measured, replayed, standing_of

LOOKED, STAMP = FeatureId("P1", "looked"), FeatureId("P1", "size_stamp")
KIND = FeatureId("B1", "kind")


def verdict(hand: Hand, part: str) -> Verdict:
    return hand.bench.judged[part].verdict


def tell(hand: Hand, at: FeatureId, value: str, unit: str = "", **more) -> list:
    event = replace(told(at, value, unit, **more), t_ns=hand.now_ns())
    return list(hand.feed(event))


def of(found: list, kind: type) -> list:
    return [one for one in found if isinstance(one, kind)]


def test_a_fact_is_judged_at_once_like_a_size():
    hand = Hand()
    found = tell(hand, LOOKED, "cracked")
    (taken,) = of(found, FactTaken)
    assert (taken.value, taken.before, taken.who) == ("cracked", "", WHO)
    assert [j.verdict for j in of(found, Judged) if j.about == "P1"] == [Verdict.DISCARD]
    assert hand.bench.asked.at == P2  # the part that fails by eye costs no more time


def test_a_sweep_under_way_goes_on_while_another_part_is_told_of():
    hand = Hand()
    hand.rest(1.0)
    hand.sweep(GOOD_MM, 3)
    passes = hand.passes
    assert not of(tell(hand, FeatureId("B2", "looked"), "good"), Asked)
    assert passes > 0
    assert hand.passes == passes
    assert isinstance(hand.bench.phase, Armed)


def test_a_contradiction_is_shown_and_leaves_the_part_undecided():
    hand = measured()
    assert verdict(hand, "P1") is Verdict.SERVICEABLE
    tell(hand, LOOKED, "good")
    found = tell(hand, LOOKED, "cracked", who="B. Jones")
    (held,) = of(found, FactHeld)
    assert (held.before, held.value, held.who, held.open) == ("good", "cracked", "B. Jones", True)
    assert hand.bench.setup.engine.part("P1").looked == ("good",)
    assert verdict(hand, "P1") is Verdict.UNDECIDED  # nobody knows which is right
    assert not of(tell(hand, LOOKED, "cracked", who="B. Jones"), FactTaken)  # a double click
    found = tell(hand, LOOKED, "cracked", who="B. Jones", confirms=True)
    assert [t.before for t in of(found, FactTaken)] == ["good"]
    assert of(found, FactSettled)
    assert verdict(hand, "P1") is Verdict.DISCARD


def test_what_was_held_is_settled_by_what_stands_told_again():
    hand = measured()
    tell(hand, LOOKED, "good")
    tell(hand, LOOKED, "cracked")
    found = tell(hand, LOOKED, "good")
    assert of(found, FactSettled)
    assert verdict(hand, "P1") is Verdict.SERVICEABLE
    assert not hand.bench.facts.held


def test_a_barrel_that_was_dropped_after_measuring_is_judged_by_its_score():
    hand = measured()
    tell(hand, FeatureId("B1", "looked"), "good")
    assert verdict(hand, "B1") is Verdict.SERVICEABLE
    before = len(hand.bench.sizes)
    found = tell(hand, FeatureId("B1", "looked"), "scored-bore", why="dropped after measuring")
    assert verdict(hand, "B1") is Verdict.REWORK
    assert len(hand.bench.sizes) == before  # what was measured stands
    assert of(found, Matched)
    assert of(found, SetDone)  # the set is matched anew


def test_a_fact_is_taken_back():
    hand = measured()
    tell(hand, LOOKED, "cracked")
    assert verdict(hand, "P1") is Verdict.DISCARD
    (taken,) = of(tell(hand, LOOKED, "", why="it was oil"), FactTaken)
    assert (taken.value, taken.before) == ("", "cracked")
    assert hand.bench.setup.engine.part("P1").looked is None
    assert verdict(hand, "P1") is not Verdict.DISCARD


def test_what_is_no_fact_changes_nothing_and_waits_for_nothing():
    hand = Hand()
    for at, value in ((LOOKED, "banana"), (FeatureId("P9", "looked"), "good"), (P1, "84.92")):
        (held,) = tell(hand, at, value)
        assert isinstance(held, FactHeld)
        assert not held.open
    assert not hand.bench.facts.held
    assert not hand.bench.facts.questions


def test_a_doubtful_value_is_asked_about_and_leaves_the_part_undecided():
    hand = measured()
    mass = FeatureId("P1", "mass_g")
    (held,) = of(tell(hand, mass, "5120", "g"), FactHeld)
    assert held.reason == "doubt"
    assert verdict(hand, "P1") is Verdict.UNDECIDED
    tell(hand, mass, "512", "g")
    assert verdict(hand, "P1") is Verdict.SERVICEABLE
    assert hand.bench.setup.engine.part("P1").mass_mg == 512_000


def test_a_contradiction_about_the_engine_leaves_every_part_undecided():
    hand = measured()
    (held,) = of(tell(hand, FeatureId("", "group"), "I"), FactHeld)
    assert (held.before, held.value) == ("II", "I")
    assert {j.verdict for about, j in hand.bench.judged.items() if "+" not in about} == {
        Verdict.UNDECIDED
    }
    tell(hand, FeatureId("", "group"), "II")
    assert verdict(hand, "P1") is Verdict.SERVICEABLE


# ---------------------------------------------------------------- parts of their own


def test_a_discarded_piston_is_replaced_from_the_shelf():
    hand = measured()
    tell(hand, FeatureId("P3", "looked"), "cracked")
    assert verdict(hand, "P3") is Verdict.DISCARD
    found = tell(hand, FeatureId("P5", "id"), "piston replaces P3")
    assert [t.value for t in of(found, FactTaken)] == ["piston replaces P3"]
    assert hand.bench.asked.at == FeatureId("P5", "skirt")  # nothing of it is known yet
    assert not any(at.part == "P5" for at in hand.bench.sizes)
    assert tell(hand, FeatureId("P5", "serial"), "SHELF-12")
    tell(hand, FeatureId("P5", "position"), "2")
    found = list(hand.feed(EntryMade(hand.now_ns(), FeatureId("P5", "skirt"), "84.920", "mm", WHO)))
    part = hand.bench.setup.engine.part("P5")
    assert (part.serial, part.position, part.replaces, part.spare) == ("SHELF-12", 2, "P3", True)
    typed_through(hand)
    (match,) = of(hand.said, Matched)[-1:]
    assert match.outcome == "matched"
    assert {pair.piston for pair in match.pairs} == {"P1", "P2", "P4", "P5"}


def test_another_part_has_a_name_of_its_own_that_stays():
    hand = Hand()
    for part, value in (
        ("P1", "piston"),  # there is one
        ("p1", "piston"),  # looks like it
        ("P5", "piston replaces P9"),
        ("P5", "piston replaces B1"),
        ("P5", "crankshaft"),
        ("P5", "piston for P1"),
        ("5 P", "piston"),
        ("W1", "pin"),  # nobody says whose
        ("W1", "pin replaces P1"),
        ("", "piston"),
    ):
        (held,) = tell(hand, FeatureId(part, "id"), value)
        assert isinstance(held, FactHeld), (part, value)
        assert not held.open
    assert of(tell(hand, FeatureId("P5", "id"), "piston"), FactTaken)
    assert of(tell(hand, FeatureId("W5", "id"), "pin of P5"), FactTaken)
    assert hand.bench.setup.engine.pin_of("P5").id == "W5"
    (held,) = tell(hand, FeatureId("P5", "id"), "", why="put back")
    assert isinstance(held, FactHeld)  # a part stays: what became of it is told
    assert of(tell(hand, FeatureId("P6", "id"), "piston replaces P1"), FactTaken)
    (held,) = tell(hand, FeatureId("P7", "id"), "piston replaces P1")
    assert isinstance(held, FactHeld)


def test_a_spare_that_nobody_needs_changes_no_pairing():
    hand = measured()
    before = of(hand.said, Matched)[-1]
    tell(hand, FeatureId("P5", "id"), "piston")
    hand.feed(EntryMade(hand.now_ns(), FeatureId("P5", "skirt"), "84.920", "mm", WHO))
    typed_through(hand)
    assert {p.piston for p in of(hand.said, Matched)[-1].pairs} == {p.piston for p in before.pairs}


def test_an_early_part_is_measured_again_and_nothing_after_it_is_lost():
    hand = measured()
    sizes = dict(hand.bench.sizes)
    hand.feed(Wanted(hand.now_ns(), P1, WHO))
    assert hand.bench.asked.at == P1
    assert hand.bench.sizes == sizes  # what it was stands until there is another
    hand.size(84.905)
    typed_through(hand)
    assert hand.bench.sizes[P1].source == "sweep"
    assert {at: s for at, s in hand.bench.sizes.items() if at != P1} == {
        at: s for at, s in sizes.items() if at != P1
    }
    assert of(hand.said, SetDone)


def test_a_part_that_is_told_of_while_the_phone_rings_waits_for_nobody():
    """Five minutes in which nothing happens but a fact: the sweep goes on where it was."""
    hand = Hand()
    hand.rest(1.0)
    hand.sweep(GOOD_MM, 2)
    hand.rest(2.0)
    hand.t_s += 300.0
    tell(hand, FeatureId("P4", "looked"), "good")
    assert hand.bench.asked.at == P1
    assert of(hand.size(GOOD_MM), Sized)


# ---------------------------------------------------------------- a part of another material


def warm() -> Hand:
    """A bench at 26 °C, whose barrel B1 was measured as an iron one."""
    hand = Hand()
    temperatures = replace(hand.bench.temperatures, part_milli_celsius=26_000)
    hand.begin(replace(hand.bench.setup, temperatures=temperatures))
    return hand


def typed_through(hand: Hand) -> Hand:
    for number in range(400):
        asked = hand.bench.asked
        if asked is None:
            break
        mm = "84.920" if asked.at.feature == "skirt" else "85.010"
        hand.feed(EntryMade(number, asked.at, mm, "mm", WHO))
    return hand


def two_kinds(setup: Setup) -> Setup:
    """The same with a kind of barrel of light alloy, and nothing said of the barrels' kinds."""
    sheet = setup.sheet
    iron = sheet.barrel.kinds[0]
    alloy = replace(iron, id="plated", material="light-alloy")
    barrel = replace(sheet.barrel, kinds=(iron, alloy))
    table = parsed(set_file_text(setup.keys))
    for one in table["barrel"]:
        one.pop("kind")
    file = set_from(table, replace(sheet, barrel=barrel), "set")
    return replace(setup, sheet=replace(sheet, barrel=barrel), engine=file.engine, keys=file.filled)


def test_sizes_are_the_same_whether_the_kind_is_told_before_or_after_measuring():
    setup = two_kinds(warm().bench.setup)
    before, after = Hand(setup=setup), Hand(setup=setup)
    for one in ("B1", "B2", "B3", "B4"):
        tell(before, FeatureId(one, "kind"), "plated")
    typed_through(before)
    typed_through(after)
    bores = [at for at in after.bench.sizes if at.feature == "bore"]
    assert any(before.bench.sizes[at].size_nm != after.bench.sizes[at].size_nm for at in bores)
    for one in ("B1", "B2", "B3", "B4"):
        found = tell(after, FeatureId(one, "kind"), "plated")
        assert {s.at.part for s in of(found, Sized)} == {one}
    assert after.bench.sizes == before.bench.sizes
    assert after.bench.judged["B1"].verdict == before.bench.judged["B1"].verdict


def test_a_size_of_which_nobody_knows_how_it_was_read_is_measured_again():
    setup = two_kinds(warm().bench.setup)
    hand = typed_through(Hand(setup=setup))
    hand.bench, _ = take_over(setup, standing_of(hand))
    found = tell(hand, KIND, "plated")
    backs = {t.at for t in of(found, TakenBack)}
    assert backs
    assert {at.part for at in backs} == {"B1"}
    assert hand.bench.asked.at in backs


# ---------------------------------------------------------------- a session and a set file


@pytest.mark.parametrize("name", ["01-all-good", "11-rings-and-pins"])
def test_a_set_told_at_the_bench_has_the_verdicts_of_the_file(name):
    """Facts are told one by one at a bench; its set file judges the same, and the file's own."""
    sheet = shipped_sheet("flat-four-85")
    text = (SETS / f"{name}.toml").read_text(encoding="utf-8")
    whole = set_of(text, sheet)
    bare = set_from(without_facts(parsed(text)), sheet, "set")
    hand = Hand(setup=replace(Hand().bench.setup, keys=bare.filled, engine=bare.engine))
    for at, value in facts_of(whole.filled):
        assert of(tell(hand, at, value), FactTaken), at
    typed_through(hand)
    bench = hand.bench
    assert bench.setup.engine == whole.engine
    written = set_of(set_file_text(bench.facts.now), sheet)
    by_file = Evidence(
        bench.setup.sheet, written.engine, bench.sizes, bench.setup.guard_factor, (), bench.firsts
    )
    for judgement in judge_set(by_file).parts:
        said = bench.judged[judgement.about]
        assert (said.verdict, said.findings) == (judgement.verdict, judgement.findings)


def test_the_same_again():
    hand = Hand()
    tell(hand, LOOKED, "good")
    hand.size(GOOD_MM)
    tell(hand, LOOKED, "scored-skirt", why="seen under the lens")
    tell(hand, KIND, "")
    assert replayed(hand.fed) == hand.said
