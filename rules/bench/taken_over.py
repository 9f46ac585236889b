"""Goes on with a session that another version of the rules recorded: what stands there stands.

Today's rules may find something else in the same readings, and would ask for something else after
it. So they are not asked: the sizes are those of the record, and only what comes next is today's.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from barrelfit.rules.bench.asking import Outputs, ask_next
from barrelfit.rules.bench.enough import Stays
from barrelfit.rules.bench.fact_told import with_keys
from barrelfit.rules.bench.facts import facts_after
from barrelfit.rules.bench.phases import Ask, Hold, Leaving
from barrelfit.rules.bench.setup import Setup
from barrelfit.rules.bench.state import Bench
from barrelfit.rules.bench.two_parts import judged, note_alike
from barrelfit.rules.events import Judged
from barrelfit.rules.model import FeatureId, Size
from barrelfit.rules.sweep.movements import entry_of
from barrelfit.rules.told import FactHeld, FactTaken
from barrelfit.rules.uncertainty.temperature import Temperatures


@dataclass(frozen=True, slots=True)
class Standing:
    """What stands in a session's record.

    `sizes` are in the order in which they were taken; `firsts` stand beside them. `asked_again` are
    features that were measured again already, `settled` parts that are two for sure (feature and
    both parts), `judged` the verdicts as they were said last, `asks` the number of the last ask.
    `facts` are those that were taken, in order, `facts_held` those that wait for an answer.
    """

    sizes: tuple[Size, ...]
    firsts: Mapping[FeatureId, Size]
    asked_again: frozenset[FeatureId]
    settled: frozenset[tuple[str, str, str]]
    judged: Mapping[str, Judged]
    asks: int
    temperatures: Temperatures
    facts: tuple[FactTaken, ...] = ()
    facts_held: tuple[FactHeld, ...] = ()


def take_over(setup: Setup, standing: Standing) -> tuple[Bench, Outputs]:
    """Begin where another version ended: say what is judged otherwise, and ask for what is open.

    What was measured last may still be in its gauge, and must come away first.
    """
    bench = Bench(setup, {}, standing.temperatures, asks=standing.asks)
    facts = facts_after(setup.keys, standing.facts, standing.facts_held, setup.sheet)
    if standing.facts:
        with_keys(bench, facts.now)
    bench.facts = facts
    bench.judged = dict(standing.judged)
    bench.settled = set(standing.settled)
    sized = {size.at for size in standing.sizes}
    bench.firsts = {at: s for at, s in standing.firsts.items() if at in sized}
    for size in standing.sizes:
        bench.sizes[size.at] = size
        bench.history.append(size.at)
        bench.done.append(size.at)
        note_alike(bench, size.at)
    bench.asked_again = {at for at in standing.asked_again if at in sized}
    said = judged(bench, {part.id for part in bench.setup.engine.parts})
    bench.look_beside()
    _hold_last(bench)
    return bench, (*said, *ask_next(bench))


def _hold_last(bench: Bench) -> None:
    """What was swept last may be in its gauge still.

    Of a gauge that sends only on its button a pause tells that it left; a new start is one.
    """
    last = bench.sizes[bench.history[-1]] if bench.history else None
    planned = next((p for p in bench.plan if last is not None and p.at == last.at), None)
    if last is None or planned is None:
        return
    gauge = bench.setup.gauge_for(planned.gauge_kind, planned.about_nm)
    if gauge is not None and not entry_of(gauge.traits.movement).by_press:
        hold = Hold(gauge, last.at, Stays(last.read_nm))
        bench.phase = Leaving(Ask(planned, gauge), gauge, hold)
