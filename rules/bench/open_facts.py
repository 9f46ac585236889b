"""Which facts the plan still asks for, and what waits for which of them."""

from collections.abc import Iterable
from typing import Final

from barrelfit.rules.bench.state import Bench
from barrelfit.rules.engine.catalogue.rings import LEAVES, leaf_is_tried
from barrelfit.rules.engine.set_facts import standing
from barrelfit.rules.judge.plan import PlannedFeature
from barrelfit.rules.model import FeatureId, Verdict

MEANWHILE_MOST: Final = 3
"""Of how many parts is told what can be done while another one waits."""


def is_told(bench: Bench, planned: PlannedFeature) -> bool:
    """Whether a fact of the plan is known: told, or a mark that is unreadable or not there."""
    telling, at = planned.telling, planned.at
    if telling is None or not at.part:
        return standing(bench.facts.now, at) is not None
    part = bench.setup.engine.part(at.part)
    if at.feature == LEAVES.name:
        return leaf_is_tried(bench.setup.sheet, part, at)
    if telling.mark and telling.mark in {*part.marks.unreadable, *part.marks.absent}:
        return True
    return standing(bench.facts.now, at) is not None


def open_facts(bench: Bench) -> list[PlannedFeature]:
    """The facts that are still asked for, in order; of a part that is discarded none is."""
    out = {about for about, j in bench.judged.items() if j.verdict is Verdict.DISCARD}
    return [
        p
        for p in bench.way
        if p.telling is not None
        and p.at.part not in out
        and p.at not in bench.left
        and not is_told(bench, p)
    ]


def with_facts(bench: Bench, sizes: Iterable[PlannedFeature]) -> list[PlannedFeature]:
    """These open sizes and the open facts, in the way's order, without what waits for a fact.

    What is done to a part and measured on it waits until it is clean, and until its height is
    marked, unless nobody is asked for that any more.
    """
    facts = open_facts(bench)
    place = {p.at: number for number, p in enumerate(bench.way)}
    holding: dict[str, int] = {}
    for fact in facts:
        if fact.telling is not None and fact.telling.holds:
            holding.setdefault(fact.at.part, place[fact.at])
    free = [p for p in (*facts, *sizes) if place[p.at] <= holding.get(p.at.part, place[p.at])]
    return sorted(free, key=lambda p: place[p.at])


def meanwhile(bench: Bench, waiting: PlannedFeature) -> tuple[FeatureId, ...]:
    """What can be done on other parts while one is cleaned or marked: the first thing of each."""
    if waiting.telling is None or not waiting.telling.holds:
        return ()
    sizes = [p for p in bench.plan if p.at not in bench.sizes]
    out = {about for about, j in bench.judged.items() if j.verdict is Verdict.DISCARD}
    first: dict[str, FeatureId] = {}
    for planned in with_facts(bench, sizes):
        if planned.at.part not in {waiting.at.part, *out}:
            first.setdefault(planned.at.part, planned.at)
    return tuple(first.values())[:MEANWHILE_MOST]
