"""A bench that is set up otherwise while a job is under way: other gauges, what stands stands."""

from dataclasses import replace

from barrelfit.rules.bench.asking import Outputs, ask, gauge_of
from barrelfit.rules.bench.phases import Ask, Done
from barrelfit.rules.bench.scales import Pan
from barrelfit.rules.bench.setup import Setup
from barrelfit.rules.bench.state import Bench


def set_anew(bench: Bench, setup: Setup) -> Outputs:
    """Go on with other gauges: what is asked for is asked anew, of the gauge that measures it now.

    Sizes and facts stay, with their budgets by the gauges that found them. What a sweep had come to
    is dropped, and what is in a gauge is not known. Temperatures are the new ones where the bench
    file says others than before.

    Args:
        bench: the bench; changed in place.
        setup: as the session has it from here on; its engine is what was told of it.
    """
    was, phase = bench.setup, bench.phase
    if setup.temperatures != was.temperatures:
        bench.temperatures = setup.temperatures
    bench.setup = replace(setup, engine=was.engine, keys=was.keys, who=was.who)
    bench.beside = {}
    bench.pans = {name: Pan(scale) for name, scale in setup.scales.items()}
    bench.phase = Done()
    bench.look_beside()
    if isinstance(phase, Done):
        return ()
    planned = phase.ask.planned
    return tuple(ask(bench, Ask(planned, gauge_of(bench, planned), phase.ask.why)))
