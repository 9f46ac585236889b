"""The one step of a bench: an event in, what follows from it out. Live and replay run this.

Hands-free: contact begins a sweep of the asked feature, enough agreeing passes finish it, the plan
moves on by itself. What counts for a feature was read after the record in which it was asked for:
an ask comes back as a record before the bench arms. After a size or a refusal the part must come
away before the next sweep begins, so that the last passes of one feature never count for the next.

The state is owned by the step, which changes it in place (a redo takes hundreds of thousands of
readings through here); given the same setup and events, the same things come out.
"""

from collections.abc import Callable, Mapping
from typing import Final, Never

from barrelfit.rules.bench.asking import (
    Outputs,
    ask_next,
    board_awaited,
    heard,
    shown,
    telling_changed,
    went_on,
)
from barrelfit.rules.bench.fact_told import fact_told
from barrelfit.rules.bench.hand import entry, pressed, signed_on, temperature, wanted
from barrelfit.rules.bench.phases import Armed, ByHand, Done, Leaving, Phase, ToTell, Waiting
from barrelfit.rules.bench.setup import Setup
from barrelfit.rules.bench.state import Bench
from barrelfit.rules.bench.sweeping import (
    fault_armed,
    gauge_armed,
    gauge_leaving,
    gauge_waiting,
    interrupted_armed,
    interrupted_leaving,
    interrupted_waiting,
    look_beside,
    read_armed,
    read_leaving,
    read_to_tell,
    read_waiting,
)
from barrelfit.rules.bench.verdicts import judge_parts
from barrelfit.rules.bench.weighing import weighed_to_tell
from barrelfit.rules.events import (
    Asked,
    EntryMade,
    GaugeChanged,
    Input,
    PedalPressed,
    Reading,
    ReadingFault,
    RecordBroken,
    TemperatureTaken,
    Wanted,
    WentOn,
)
from barrelfit.rules.telling import AskShown, BoardAwaited, TellingChanged
from barrelfit.rules.told import AtBench, FactTold, Weighed


def begin(setup: Setup) -> tuple[Bench, Outputs]:
    """Open a session: judge what can be judged already, and ask for the first feature."""
    bench = Bench(setup, {}, setup.temperatures)
    bench.look_beside()
    found = [*judge_parts(bench, [p.id for p in setup.engine.parts]), *ask_next(bench)]
    return bench, tuple(found)


def step(bench: Bench, event: Input) -> tuple[Bench, Outputs]:
    """Take one event; returns the bench and what follows, in order.

    Raises:
        RulesError: a temperature out of all reason; whoever takes one in checks it first.
    """
    if not isinstance(event, Asked):
        bench.now_ns = max(bench.now_ns, event.t_ns)  # a press may have waited in a stop
    bench.chosen_ns = None
    if isinstance(event, EntryMade | PedalPressed | Wanted):
        bench.chosen_ns = event.t_ns
    look_beside(bench, event)
    cell = TABLE[type(bench.phase)][type(event)]
    return bench, cell(bench, bench.phase, event)  # type: ignore[arg-type]


def nothing(_bench: Bench, _phase: Phase, _event: Input) -> Outputs:
    """What happened has no meaning in this phase."""
    return ()


# Each cell takes the bench, its phase and the event, of the very types that its place says.
Cell = Callable[[Bench, Never, Never], Outputs]
_ALWAYS: Final[Mapping[type[Input], Cell]] = {
    AtBench: signed_on,
    BoardAwaited: board_awaited,
    EntryMade: entry,
    FactTold: fact_told,
    PedalPressed: pressed,
    TemperatureTaken: temperature,
    TellingChanged: telling_changed,
    Wanted: wanted,
    WentOn: went_on,
}
TABLE: Final[Mapping[type[Phase], Mapping[type[Input], Cell]]] = {
    Waiting: {
        Reading: read_waiting,
        Weighed: nothing,
        ReadingFault: nothing,
        GaugeChanged: gauge_waiting,
        RecordBroken: interrupted_waiting,
        Asked: heard,
        AskShown: shown,
        **_ALWAYS,
    },
    Armed: {
        Reading: read_armed,
        Weighed: nothing,
        ReadingFault: fault_armed,
        GaugeChanged: gauge_armed,
        RecordBroken: interrupted_armed,
        Asked: nothing,
        AskShown: nothing,
        **_ALWAYS,
    },
    Leaving: {
        Reading: read_leaving,
        Weighed: nothing,
        ReadingFault: nothing,
        GaugeChanged: gauge_leaving,
        RecordBroken: interrupted_leaving,
        Asked: nothing,
        AskShown: nothing,
        **_ALWAYS,
    },
    ToTell: {
        Reading: read_to_tell,
        Weighed: weighed_to_tell,
        ReadingFault: nothing,
        GaugeChanged: nothing,
        RecordBroken: nothing,
        Asked: heard,
        AskShown: shown,
        **_ALWAYS,
    },
    ByHand: {
        Reading: nothing,
        Weighed: nothing,
        ReadingFault: nothing,
        GaugeChanged: nothing,
        RecordBroken: nothing,
        Asked: nothing,
        AskShown: nothing,
        **_ALWAYS,
    },
    Done: {
        Reading: nothing,
        Weighed: nothing,
        ReadingFault: nothing,
        GaugeChanged: nothing,
        RecordBroken: nothing,
        Asked: nothing,
        AskShown: nothing,
        **_ALWAYS,
    },
}
"""What each phase does with each event."""
