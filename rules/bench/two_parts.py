"""The question whether parts that are alike are two parts each: noted, put once, and settled."""

from barrelfit.rules.bench.alike import alike
from barrelfit.rules.bench.state import Bench
from barrelfit.rules.bench.verdicts import judge_pairs, judge_parts
from barrelfit.rules.events import Output, TakenBack, TwoPartsAsked, TwoPartsSettled
from barrelfit.rules.model import FeatureId


def note_alike(bench: Bench, at: FeatureId) -> None:
    """A part's size was found: is it alike to the one that was measured before it?"""
    others = (a.part for a in reversed(bench.history) if a.feature == at.feature)
    before = next((part for part in others if part != at.part), None)
    places = _places(bench, at.part, at.feature)
    if before is None or not all(place in bench.sizes for place in places):
        return
    there = [FeatureId(before, p.feature, p.depth, p.direction) for p in places]
    if not all(place in bench.sizes for place in there):
        return
    found = alike(at.feature, [bench.sizes[p] for p in there], [bench.sizes[p] for p in places])
    if found is not None and (at.feature, *found.names) not in bench.settled:
        bench.alike.append(found)


def question_due(bench: Bench) -> str | None:
    """The kind of feature about whose parts is to be asked now: all of its kind are measured."""
    waiting = {
        p.at.feature for p in bench.plan if p.at not in bench.sizes and p.at not in bench.put_off
    }
    return next((a.feature for a in bench.alike if a.feature not in waiting), None)


def put_question(bench: Bench, feature: str) -> list[Output]:
    """Ask once; what is alike is measured once more until somebody answers."""
    if bench.once_more:
        return []
    pairs = [a for a in bench.alike if a.feature == feature]
    names = {name for pair in pairs for name in pair.names}
    bench.once_more = [p.at for p in bench.plan if p.at.feature == feature and p.at.part in names]
    return [TwoPartsAsked(feature, tuple(pair.parts for pair in pairs))]


def settle(bench: Bench, feature: str, how: str) -> list[Output]:
    """They are two parts each: what is known of them counts."""
    pairs = [a for a in bench.alike if a.feature == feature]
    bench.alike = [a for a in bench.alike if a.feature != feature]
    bench.settled |= {(feature, *pair.names) for pair in pairs}
    bench.once_more = []
    return [TwoPartsSettled(feature, how), *judged(bench, {n for p in pairs for n in p.names})]


def deny(bench: Bench, feature: str) -> list[Output]:
    """One of them was measured twice: nobody knows which, so all of them are measured again."""
    taken = [at for at in bench.once_more if at in bench.sizes]
    for at in taken:
        bench.forget(at)
        bench.forget_alike(at)
    bench.once_more = []
    backs = [TakenBack(at) for at in taken]
    parts = {at.part for at in taken}
    return [TwoPartsSettled(feature, "denied"), *backs, *judged(bench, parts)]


def measured_once_more(bench: Bench, at: FeatureId) -> list[Output]:
    """A part was measured again because nobody answered; after the last of them that settles it."""
    if at in bench.once_more:
        bench.once_more.remove(at)
    return [] if bench.once_more else settle(bench, at.feature, "measured")


def judged(bench: Bench, parts: set[str]) -> list[Output]:
    """What is new about parts and their pairs, in the set's order."""
    ordered = [p.id for p in bench.setup.engine.parts if p.id in parts]
    pairs = [found for part in ordered for found in judge_pairs(bench, part)]
    return [*judge_parts(bench, ordered), *pairs]


def _places(bench: Bench, part: str, feature: str) -> list[FeatureId]:
    return [p.at for p in bench.plan if p.at.part == part and p.at.feature == feature]
