"""What a person does at the bench beside sweeping: the pedal, values typed in, temperatures."""

from dataclasses import replace

from barrelfit.rules.bench.asking import ask, ask_for, ask_next, skip
from barrelfit.rules.bench.fact_told import pressed_at_fact, undo_fact
from barrelfit.rules.bench.phases import (
    DOUBTED,
    READ_NS,
    Armed,
    ByHand,
    Done,
    Leaving,
    Phase,
    ToTell,
    Waiting,
)
from barrelfit.rules.bench.sizing import gauge_off_bench, of_entry, size_at_20, sized_by_hand
from barrelfit.rules.bench.state import Bench
from barrelfit.rules.bench.taking import take
from barrelfit.rules.bench.two_parts import deny, judged, settle, undone_once_more
from barrelfit.rules.events import (
    EntryMade,
    Output,
    PedalPressed,
    Refused,
    Sized,
    TakenBack,
    TemperatureTaken,
    Wanted,
)
from barrelfit.rules.judge.entry import Accepted, Typed, check_entry, last_digit_nm
from barrelfit.rules.judge.expected import expected_at
from barrelfit.rules.judge.plan import PlannedFeature
from barrelfit.rules.judge.twice import SWEPT
from barrelfit.rules.model import FeatureId, Size
from barrelfit.rules.said import Said, length, said
from barrelfit.rules.told import AtBench
from barrelfit.rules.uncertainty.temperature import check_temperature

Outputs = tuple[Output, ...]
Asking = Waiting | Armed | Leaving | ToTell | ByHand


def pressed(bench: Bench, phase: Phase, event: PedalPressed) -> Outputs:
    """What the pedal's word does; whatever was swept since the last size is dropped.

    `next` puts the asked feature off, `again` begins its sweep anew, `back` goes to the one that
    was measured before, `undo` takes back what came last, a size or what was told. A fact that is
    asked for says itself what `next` and `again` mean (`rules.bench.fact_told`). To the question
    whether parts that are alike are two each, `next` says yes and `again` no (`_said_yes`). What
    was swept stays in the journal.
    """
    if event.action == "back" or (event.action == "undo" and bench.done):
        return tuple(_undo(bench) if event.action == "undo" else _back(bench, phase))
    if isinstance(phase, Done):
        return ()
    if isinstance(phase, ToTell) and event.action != "undo":
        return pressed_at_fact(bench, phase, event)
    if phase.ask.why in DOUBTED:
        if event.action == "next":
            return _said_yes(bench, phase, event)
        return (*deny(bench, phase.ask.at.feature), *ask_next(bench))
    return tuple(skip(bench, phase.ask) if event.action == "next" else ask(bench, phase.ask))


def _said_yes(bench: Bench, phase: Asking, event: PedalPressed) -> Outputs:
    """Parts are two each once two presses say so, each after what it answers could be read.

    One alone may be a slip of the foot, or mean to put off what is measured once more; a slip that
    counted left a part that was put in twice under two names. So it is asked once more, and a press
    while the hand measures on is a first one again.
    """
    if not _was_read(bench, phase, event):
        return (_too_soon(phase.ask.at),)
    if phase.ask.why != "sure" or _measures_on(phase):
        return tuple(ask(bench, replace(phase.ask, why="sure")))
    return (*settle(bench, phase.ask.at.feature, "pressed"), *ask_next(bench))


def _measures_on(phase: Asking) -> bool:
    """Whether the hand has swept since it was asked, be it that it does not count."""
    match phase:
        case Armed(touched=touched, passes=passes):
            return touched or passes > 0
        case Leaving(departure=departure):
            return departure.came_back
        case _:
            return False


def _was_read(bench: Bench, phase: Phase, event: PedalPressed) -> bool:
    """Whether what is asked was there to be read for long enough when a pedal was pressed."""
    return not isinstance(phase, Waiting) and event.t_ns - bench.heard_ns >= READ_NS


def _too_soon(at: FeatureId) -> Refused:
    return Refused(at, "too-soon", said("pressed_too_soon"), said("do_read_then_press"))


def _undo(bench: Bench) -> list[Output]:
    last, before = bench.done.pop(), bench.doubted
    if not isinstance(last, FeatureId):
        return undo_fact(bench, last)
    bench.forget(last)
    bench.forget_alike(last)
    found = [TakenBack(last), *judged(bench, {last.part} | before)]
    is_once_more = undone_once_more(bench, last)
    return [*found, *(ask_next(bench) if is_once_more else ask_for(bench, last))]


def _back(bench: Bench, phase: Phase) -> list[Output]:
    """Ask for what was measured last, or before what is measured anew; it keeps its size so far.

    Where nothing was measured before, the way back is to what was put off last.
    """
    asked = None if isinstance(phase, Done) else phase.ask.at
    measured = list(dict.fromkeys(bench.history))
    if asked in measured:
        measured = measured[: measured.index(asked)]
    planned = {p.at for p in bench.may_ask} - {asked}
    before = measured or [at for at in bench.put_off if at in planned]
    return ask_for(bench, before[-1]) if before else []


def wanted(bench: Bench, _phase: Phase, event: Wanted) -> Outputs:
    """A person takes up a feature: an open one, or one that has a size, which stands till then."""
    if all(p.at != event.at for p in bench.may_ask):
        sentence, advice = said("not_of_this_plan"), said("do_choose_of_plan")
        return (Refused(event.at, "not-planned", sentence, advice),)
    return tuple(ask_for(bench, event.at))


def entry(bench: Bench, _phase: Phase, event: EntryMade) -> Outputs:
    """Take a typed value for a planned feature, or hold it with a question."""
    planned = next((p for p in bench.plan if p.at == event.at), None)
    if planned is None:
        return (_held(event, said("not_of_this_plan"), said("do_choose_of_plan")),)
    key = (event.at, event.who)
    repeated = bench.held.get(key) == event.text or bool(event.why)
    typed = Typed(event.text, event.unit, confirms=event.confirms and repeated)
    checked = check_entry(typed, expected_at(bench.evidence, event.at))
    if not isinstance(checked, Accepted):
        bench.held[key] = event.text
        return (_held(event, checked.question, said("do_type_again")),)
    swept = bench.sizes.get(event.at)
    if swept is not None and swept.source == SWEPT and not event.why:
        bench.held[key] = event.text
        return (_of_gauge(event, swept),)
    bench.held.pop(key, None)
    size, sized = _sized(bench, planned, event, checked.length_nm)
    if swept is not None and swept.source == SWEPT:
        size_nm, at = length(swept.size_nm), str(event.at)
        note = said("typed_in_place", who=event.who, at=at, size=size_nm, why=event.why)
        sized = replace(sized, notes=(*sized.notes, note))
    return tuple(take(bench, size, sized))


def _sized(
    bench: Bench, planned: PlannedFeature, event: EntryMade, length_nm: int
) -> tuple[Size, Sized]:
    if planned.gauge_kind == "hand":
        return sized_by_hand(event.at, length_nm)
    gauge = bench.setup.gauge_for(planned.gauge_kind, planned.about_nm)
    gauge = gauge or gauge_off_bench(bench, planned, last_digit_nm(event.text, event.unit))
    return size_at_20(bench, event.at, gauge, of_entry(length_nm, gauge.traits.digit_nm))


def _of_gauge(event: EntryMade, swept: Size) -> Refused:
    """A typed size never takes the place of a gauge's by itself: both numbers are told."""
    found = said("gauge_found", size=length(swept.size_nm), read=length(swept.read_nm))
    return _held(event, found, said("do_measure_or_say_why"))


def _held(event: EntryMade, why: Said, advice: Said) -> Refused:
    sentence = said("entry_held", text=event.text, unit=event.unit, why=why)
    return Refused(event.at, "entry-held", sentence, advice)


def signed_on(bench: Bench, _phase: Phase, event: AtBench) -> Outputs:
    """Somebody else is at the bench: what the pedal or a scale tells from now on is theirs."""
    bench.who = event.who
    return ()


def temperature(bench: Bench, _phase: Phase, event: TemperatureTaken) -> Outputs:
    """Take a temperature for the sizes to come.

    Raises:
        RulesError: it is out of all reason; whoever takes one in checks it first.
    """
    check_temperature(event.milli_celsius, event.of)
    bench.set_temperature(event.of, event.milli_celsius)
    return ()
