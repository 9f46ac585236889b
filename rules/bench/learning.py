"""What the bench learns of one sweep for the next (`rules.sweep.lessons`), and of which.

A lesson stands with its size: one that is taken back, measured anew or typed in instead takes it
along. So what a sweep may learn follows from the sizes that stand, and what was sized before stays
as it is.

Only parts that are made alike learn of one another, by one gauge. What may be another part than it
is named teaches nothing, nor does a place whose two sweeps do not agree. And no place learns of its
own sweep before: two sweeps of one place are to bear each other out.
"""

from barrelfit.rules.bench.phases import Armed
from barrelfit.rules.bench.setup import GaugeOnBench
from barrelfit.rules.bench.state import Bench
from barrelfit.rules.engine.parts import Part
from barrelfit.rules.judge.twice import agree
from barrelfit.rules.model import FeatureId
from barrelfit.rules.sweep import Lesson, SweepRefused, SweepSized


def estimated(bench: Bench, armed: Armed) -> SweepSized | SweepRefused:
    """What the sweep under way comes to, with what those before it taught."""
    return armed.sweep.estimate(list(lessons_for(bench, armed.ask.at, armed.gauge).values()))


def lessons_for(bench: Bench, at: FeatureId, gauge: GaugeOnBench) -> dict[FeatureId, Lesson]:
    """What a sweep of `at` by `gauge` may learn, by the feature that tells it, as measured."""
    found = {other: _lesson(bench, other, gauge) for other in bench.history}
    return {
        other: lesson
        for other, lesson in found.items()
        if lesson is not None and _teaches(bench, other, at)
    }


def _lesson(bench: Bench, at: FeatureId, gauge: GaugeOnBench) -> Lesson | None:
    """What the sweep of a feature told, where it was by this gauge: the barrel is its anvils'."""
    as_found = bench.read_as.get(bench.sizes[at])
    if as_found is None or as_found.gauge.name != gauge.name:
        return None
    same = as_found.gauge.traits.anvil_nm == gauge.traits.anvil_nm
    return as_found.found.lesson if same else None


def _teaches(bench: Bench, other: FeatureId, at: FeatureId) -> bool:
    """Whether a sweep of `at` may learn of that of another feature."""
    if other == at or other.feature != at.feature or other.part in bench.doubted:
        return False
    first = bench.firsts.get(other)
    if first is not None and not agree(first, bench.sizes[other]):
        return False
    parts = {part.id: part for part in bench.setup.engine.parts}
    one, two = parts.get(other.part), parts.get(at.part)
    return one is not None and two is not None and _made_alike(one, two)


def _made_alike(one: Part, other: Part) -> bool:
    """Whether both are of this engine, and nothing told says that they are made otherwise."""
    if one.kind != other.kind or one.spare or other.spare:
        return False
    return not (one.crown and other.crown) or one.crown == other.crown
