"""The question whether parts that are alike are two parts each: noted, put once, and settled."""

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise, product, takewhile

from barrelfit.rules.bench.alike import Alike, alike
from barrelfit.rules.bench.state import Bench
from barrelfit.rules.bench.verdicts import judge_pairs, judge_parts
from barrelfit.rules.events import Output, TakenBack, TwoPartsAsked, TwoPartsSettled
from barrelfit.rules.judge.twice import agree
from barrelfit.rules.model import FeatureId, Size


def note_alike(bench: Bench, at: FeatureId, before: tuple[str, ...] = ()) -> None:
    """A part's size was found: is it alike to one that was measured just before or after it?

    Parts are compared when nothing of either is open but what was put off, by the places that both
    have: a place that was put off may be the last of all to be measured. Where a second sweep does
    not agree with the first, `before` is the order of the parts at the first one: those beside it
    then were compared with what stands no more.
    """
    pairs = (*pairwise(in_order(bench, at.feature)), *pairwise(before))
    for earlier, later in dict.fromkeys(pairs):
        names = {earlier, later}
        known = _is_noted(bench, at.feature, names)
        settled = {(at.feature, earlier, later), (at.feature, later, earlier)} & bench.settled
        if earlier == later or at.part not in names or known or settled:
            continue
        if not all(_is_measured(bench, part, at.feature) for part in names):
            continue
        found = _compared(bench, at.feature, earlier, later)
        if found is not None:
            bench.alike.append(found)
    _note_came_back(bench, at)


def _note_came_back(bench: Bench, at: FeatureId) -> None:
    """A gauge came back for some places of a part alone: it may have stayed in the part before.

    All places of both parts together don't show that. Whether they were two parts before says
    nothing of it. What is measured once more is compared when all of it is. After a sweep that came
    to nothing the gauge was out as well, and what it came back into is measured from then on.
    """
    feature, part = at.feature, at.part
    measured = [a for a in reversed(bench.history) if a.feature == feature]
    here = list(takewhile(lambda a: a.part == part, measured))
    before = next((a.part for a in measured if a.part != part), None)
    came_back = [here] if any(a.part == part for a in measured[len(here) :]) else []
    if before is None or not _is_measured(bench, part, feature):
        return
    if any(a.part == part for a in bench.once_more):
        return
    for places in (*came_back, *_begun_anew(bench, here)):
        there = [(a, replace(a, part=before)) for a in places]
        both = [(bench.sizes[b], bench.sizes[a]) for a, b in there if b in bench.sizes]
        earlier, later = [one for one, _ in both], [other for _, other in both]
        found = alike(feature, earlier, later, bench.went_on)
        if found is not None and not _is_noted(bench, feature, {before, part}):
            bench.alike.append(found)


def _is_noted(bench: Bench, feature: str, names: set[str]) -> bool:
    """Whether two parts are known to be alike, whichever was measured first."""
    return any(a.feature == feature and set(a.names) == names for a in bench.alike)


def _begun_anew(bench: Bench, here: Sequence[FeatureId]) -> list[Sequence[FeatureId]]:
    """The places of a part, newest first, that were measured after each sweep that was begun anew.

    Up to the next one: what was measured before the first of them is in none.
    """
    ends = [n + 1 for n, a in enumerate(here) if a in bench.begun_anew]
    return [here[start:end] for start, end in pairwise((0, *ends))]


def _compared(bench: Bench, feature: str, earlier: str, later: str) -> Alike | None:
    """Compare two parts by the places that both have.

    Of a place with two sizes that do not agree nobody knows which is true: either may be.
    """
    for one, other in product(_answers(bench, earlier, feature), _answers(bench, later, feature)):
        common = [place for place in one if place in other]
        places = [one[p] for p in common], [other[p] for p in common]
        found = alike(feature, *places, bench.went_on)
        if found is not None:
            return found
    return None


def in_order(bench: Bench, feature: str) -> tuple[str, ...]:
    """The parts whose feature has a size, as they were measured."""
    return tuple(at.part for at in bench.history if at.feature == feature)


def question_due(bench: Bench) -> str | None:
    """The kind of feature about whose parts is to be asked now: all of its kind are measured.

    What is measured once more, because nobody answered, may have no size just now.
    """
    out = {*bench.sizes, *bench.put_off, *bench.once_more}
    waiting = {p.at.feature for p in bench.plan if p.at not in out}
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
    bench.once_more = []
    return _settle(bench, [a for a in bench.alike if a.feature == feature], how)


def _settle(bench: Bench, pairs: list[Alike], how: str) -> list[Output]:
    """These are two parts each."""
    if not pairs:
        return []
    bench.alike = [a for a in bench.alike if a not in pairs]
    bench.settled |= {(pair.feature, *pair.names) for pair in pairs}
    parts = {(pair.feature, name) for pair in pairs for name in pair.names}
    bench.begun_anew = {a for a in bench.begun_anew if (a.feature, a.part) not in parts}
    settled = TwoPartsSettled(pairs[0].feature, how)
    return [settled, *judged(bench, {n for pair in pairs for n in pair.names})]


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


def undone_once_more(bench: Bench, at: FeatureId) -> bool:
    """A size was taken back; whether it is one of those that are measured once more, and is so."""
    doubted = any(a.feature == at.feature and at.part in a.names for a in bench.alike)
    if not (doubted and bench.once_more):
        return False
    if at not in bench.once_more:
        bench.once_more.append(at)
    return True


def measured_once_more(bench: Bench, at: FeatureId) -> list[Output]:
    """A part was measured again because nobody answered.

    After the last of them those that differ now are two. Those that agree again may be one that was
    put in for both once more: of them it is asked until somebody answers.
    """
    if at in bench.once_more:
        bench.once_more.remove(at)
    if bench.once_more:
        return []
    pairs = [a for a in bench.alike if a.feature == at.feature]
    again = {a: _compared(bench, a.feature, *a.names) for a in pairs}
    bench.alike = [again.get(a) or a for a in bench.alike]
    return _settle(bench, [a for a in pairs if again[a] is None], "measured")


def judged(bench: Bench, parts: set[str]) -> list[Output]:
    """What is new about parts and their pairs, in the set's order."""
    ordered = [p.id for p in bench.setup.engine.parts if p.id in parts]
    return [*judge_parts(bench, ordered), *judge_pairs(bench, ordered)]


def _is_measured(bench: Bench, part: str, feature: str) -> bool:
    places = (p.at for p in bench.plan if p.at.part == part and p.at.feature == feature)
    return all(at in bench.sizes or at in bench.put_off for at in places)


def _answers(bench: Bench, part: str, feature: str) -> list[dict[tuple[str, str], Size]]:
    """The sizes of a part by place, in the plan's order; with those before them, if they differ."""
    places = [p.at for p in bench.plan if p.at.part == part and p.at.feature == feature]
    sizes = {(at.depth, at.direction): bench.sizes[at] for at in places if at in bench.sizes}
    firsts = {
        (at.depth, at.direction): bench.firsts[at]
        for at in places
        if at in bench.sizes and at in bench.firsts
        if not agree(bench.firsts[at], bench.sizes[at])
    }
    return [sizes, sizes | firsts] if firsts else [sizes]
