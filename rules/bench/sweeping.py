"""Readings and what happens to gauges: from a contact over passes to a size, or to none."""

from barrelfit.rules.bench.asking import begin_sweep
from barrelfit.rules.bench.enough import AGREEMENT, HOPELESS
from barrelfit.rules.bench.far_off import far_pass, far_press, far_reading, stray
from barrelfit.rules.bench.learning import estimated
from barrelfit.rules.bench.phases import Armed, Hold, Leaving, ToTell, Waiting, Watch
from barrelfit.rules.bench.sizing import of_sweep, size_at_20
from barrelfit.rules.bench.state import Bench
from barrelfit.rules.bench.taking import refuse, take_sweep
from barrelfit.rules.bench.unseen import unknown_stays
from barrelfit.rules.events import (
    Contact,
    GaugeChanged,
    Input,
    Interrupted,
    NotCounted,
    Output,
    Passed,
    PassLost,
    Reading,
    ReadingFault,
    RecordBroken,
    Refused,
    StartedAnew,
    StillDoubtful,
)
from barrelfit.rules.hints import Coached, PartAway
from barrelfit.rules.said import Said, said
from barrelfit.rules.sweep import Left, PassFound, SweepContact, SweepNote, SweepRefused, SweepSized
from barrelfit.rules.sweep import PassLost as LostInSweep
from barrelfit.rules.sweep.movements import entry_of
from barrelfit.rules.told import Weighed

Outputs = tuple[Output, ...]

_NONE = frozenset({"no-contact", "chords-only"})  # refusals of what was no pass at all


def look_beside(bench: Bench, event: Input) -> None:
    """Look at what the gauges hold that are not asked for now."""
    if isinstance(event, Reading):
        watch = bench.beside.get(event.gauge)
        if watch is not None:
            watch.push(event.t_ns, event.length_nm)
    elif isinstance(event, GaugeChanged):
        if event.state != "answering":
            bench.nobody_saw(event.gauge)
    elif isinstance(event, RecordBroken):
        bench.nobody_saw()
    elif isinstance(event, Weighed | ReadingFault):
        _look_at_pan(bench, event)


def _look_at_pan(bench: Bench, event: Weighed | ReadingFault) -> None:
    pan = bench.pans.get(event.gauge)
    if pan is not None and isinstance(event, Weighed):
        pan.push(event.t_ns, event.mass_fg, event.digit_fg)
    elif pan is not None:
        pan.disturbed()


def read_waiting(bench: Bench, waiting: Waiting, event: Reading) -> Outputs:
    """Nothing counts, but something may be swept: it must come away before the ask is met."""
    if event.gauge != waiting.gauge.name:
        return ()
    if waiting.unread_ns is not None and event.t_ns >= waiting.unread_ns:
        begun = begin_sweep(bench, waiting)
        cell = read_armed if isinstance(bench.phase, Armed) else read_leaving
        return (*begun, *cell(bench, bench.phase, event))  # type: ignore[arg-type]
    waiting.watch.push(event.t_ns, event.length_nm)
    return ()


def read_armed(bench: Bench, armed: Armed, event: Reading) -> Outputs:
    """One reading of a sweep; a gauge that is not asked for is part of none."""
    if event.gauge != armed.gauge.name:
        return stray(bench, armed, event)
    if far := far_press(bench, armed, event):
        return far
    departure = armed.departure
    gone = departure is not None and departure.gone(event.t_ns, event.length_nm)
    armed.crest.push(event.length_nm)
    armed.looks.reads(event.t_ns, event.length_nm, armed.crest.nm)
    armed.last_ns = event.t_ns
    notes = armed.sweep.push(event.t_ns, event.length_nm)
    if armed.unseen is not None:
        armed.unseen.push(event.t_ns, event.length_nm)
    if armed.since is not None:
        armed.since.push(event.t_ns, event.length_nm)
    if gone:  # asked for more passes, the hand took the part away: what there is must do
        notes = (*notes, Left(event.t_ns))
    far = far_reading(bench, armed, event) if armed.touched else ()
    return (*far, *_notes(bench, armed, notes)) if notes or far else ()


def read_leaving(bench: Bench, leaving: Leaving, event: Reading) -> Outputs:
    """Watch for the part to come away; passes that are made meanwhile are told not to count."""
    if event.gauge != leaving.gauge.name:
        return ()
    if leaving.gone(event.t_ns, event.length_nm):
        if leaving.unread_ns is not None and event.t_ns < leaving.unread_ns:
            return _left_unread(bench, leaving, leaving.unread_ns, event)
        bench.phase = fresh = Armed.fresh(leaving.ask, leaving.gauge)
        held = entry_of(leaving.gauge.traits.movement).by_press
        return read_armed(bench, fresh, event) if held else ()  # the first press of another part
    at, turned = leaving.ask.at, leaving.departure.turned(event.t_ns)
    away = (PartAway(at, *turned),) if turned is not None else ()
    return (*away, NotCounted(at)) if leaving.departure.begins_to_linger() else away


def _left_unread(bench: Bench, leaving: Leaving, unread_ns: int, event: Reading) -> Outputs:
    """The gauge is empty before anybody can have read what is asked for: nothing counts yet."""
    ask, gauge, now_ns = leaving.ask, leaving.gauge, bench.now_ns
    bench.phase = fresh = Waiting(ask, gauge, bench.asks, Watch(gauge), now_ns, unread_ns=unread_ns)
    held = entry_of(gauge.traits.movement).by_press
    return read_waiting(bench, fresh, event) if held else ()  # the first press of another part


def read_to_tell(bench: Bench, phase: ToTell, event: Reading) -> Outputs:
    """No size is asked for: what is swept stays in the record, counts for nothing, and is told."""
    watch = bench.beside.get(event.gauge)
    if watch is None or not watch.swept:
        phase.swept.discard(event.gauge)
        return ()
    if event.gauge in phase.swept:
        return ()
    phase.swept.add(event.gauge)
    return (NotCounted(phase.ask.at, "fact-asked"),)


def fault_armed(_bench: Bench, armed: Armed, event: ReadingFault) -> Outputs:
    """Something that is no reading: time passed without one."""
    if event.gauge == armed.gauge.name:
        armed.sweep.fault(event.t_ns)
        if armed.since is not None:
            armed.since.fault(event.t_ns)
    return ()


def gauge_armed(bench: Bench, armed: Armed, event: GaugeChanged) -> Outputs:
    """A gauge that goes or comes back ends the sweep it was in: its passes are of no size."""
    if event.gauge != armed.gauge.name or event.state == "answering":
        return ()
    bench.begin_unseen(armed)
    if not armed.passes:
        return ()
    sentence = said("gauge_went_away", gauge=event.gauge)
    if event.state != "lost" and event.reason:
        sentence = said("gauge_during_sweep", gauge=event.gauge, reason=event.reason)
    return (Refused(armed.ask.at, "gauge-lost", sentence, said("do_look_at_gauge")),)


def gauge_waiting(bench: Bench, waiting: Waiting, event: GaugeChanged) -> Outputs:
    """What was in the gauge may be there still when it comes back."""
    if event.gauge == waiting.gauge.name and event.state != "answering":
        waiting.watch.interrupted(bench.stood_asked(waiting.gauge.name))
    return ()


def gauge_leaving(_bench: Bench, leaving: Leaving, event: GaugeChanged) -> Outputs:
    """The part may still be there when the gauge comes back: watch anew."""
    if event.gauge == leaving.gauge.name and event.state != "answering":
        leaving.watch_anew()
    return ()


def interrupted_armed(bench: Bench, armed: Armed, event: RecordBroken) -> Outputs:
    """A sweep that goes over a hole in the record is void: what is missing may be its crest."""
    bench.begin_unseen(armed)
    if not armed.passes:
        return ()
    sentence = said("record_interrupted", reason=event.reason)
    return (Refused(armed.ask.at, "record-gone", sentence, said("do_sweep_again")),)


def interrupted_waiting(bench: Bench, waiting: Waiting, _event: RecordBroken) -> Outputs:
    """Nobody saw what came of what was in the gauge."""
    waiting.watch.interrupted(bench.stood_asked(waiting.gauge.name))
    return ()


def interrupted_leaving(_bench: Bench, leaving: Leaving, _event: RecordBroken) -> Outputs:
    """Nobody saw whether the part came away meanwhile: watch anew."""
    leaving.watch_anew()
    return ()


def _notes(bench: Bench, armed: Armed, notes: tuple[SweepNote, ...]) -> Outputs:
    found: list[Output] = []
    for note in notes:
        if bench.phase is not armed:  # a size or a refusal ended the sweep
            break
        if isinstance(note, Left):
            found += _left(bench, armed)
        elif isinstance(note, SweepContact):
            armed.touched_at(note.t_ns)
            found.append(Contact(armed.ask.at, note.t_ns))
        elif isinstance(note, LostInSweep):
            found.append(PassLost(armed.ask.at, note.t_ns))
        else:
            found += _pass_found(bench, armed, note)
    return tuple(found)


def _pass_found(bench: Bench, armed: Armed, note: PassFound) -> list[Output]:
    at, looks = armed.ask.at, armed.looks
    if _came_unseen(bench, armed, note):
        return [NotCounted(at, "asked-late")]
    armed.passes += 1
    found: list[Output] = [Passed(at, note.number, note.size_nm, note.start_ns, note.end_ns)]
    found += far_pass(bench, armed, note)
    looks.passed(note)
    armed.coach.passed(note)
    armed.sweep.waits(looks.gone_ns)
    if armed.since is not None and _disagrees(bench, armed):
        armed.start_anew(armed.since, note)
        bench.begun_anew.add(at)
        return [*found, StartedAnew(at, armed.passes)]
    if armed.passes < armed.gauge.passes:
        return found + _early_coached(bench, armed) if armed.coach.is_due(armed.passes) else found
    return found + _look(bench, armed)


def _came_unseen(bench: Bench, armed: Armed, note: PassFound) -> bool:
    """Whether a part that came in while nobody saw it is swept for what is asked for later.

    It must come away first.
    """
    unseen, of = armed.unseen, armed.of
    armed.unseen = None
    if unseen is None or of is not None or not unseen.may_hold(armed.gauge, note):
        return False
    hold = Hold(armed.gauge, None, unknown_stays(armed.gauge, note.size_nm))
    bench.phase = Leaving(armed.ask, armed.gauge, hold)
    return True


def _early_coached(bench: Bench, armed: Armed) -> list[Output]:
    """What would help is best heard before the asked passes are made."""
    result = estimated(bench, armed)
    if isinstance(result, SweepRefused):
        return _told(armed, armed.coach.of_refusal(result))
    _, so_far = size_at_20(bench, armed.ask.at, armed.gauge, of_sweep(result))
    return _told(armed, armed.coach.of_size(result, armed.passes, so_far.u_nm))


def _told(armed: Armed, advice: Said | None) -> list[Output]:
    return [Coached(armed.ask.at, armed.passes, advice)] if advice is not None else []


def _disagrees(bench: Bench, armed: Armed) -> bool:
    """Whether what came back is another part than was put down."""
    result = estimated(bench, armed)
    return isinstance(result, SweepRefused) and result.reason in AGREEMENT


def _look(bench: Bench, armed: Armed) -> list[Output]:
    """There are passes enough: is there a size, and is it sure?"""
    looks, result = armed.looks, estimated(bench, armed)
    if isinstance(result, SweepRefused):
        return refuse(bench, armed, result) if looks.is_refused(result, armed.passes) else []
    _, so_far = size_at_20(bench, armed.ask.at, armed.gauge, of_sweep(result))
    if looks.is_enough(result, armed.passes, so_far.u_nm):
        return take_sweep(bench, armed, result)
    armed.departure = armed.departure or armed.stays.departure(armed.gauge.traits)
    span = (so_far.size_nm, so_far.low_nm, so_far.high_nm)
    doubtful = StillDoubtful(armed.ask.at, armed.passes, *span)
    advice = armed.coach.of_size(result, armed.passes, so_far.u_nm)
    return [doubtful, *_told(armed, advice)]


def _left(bench: Bench, armed: Armed) -> list[Output]:
    """The part came away: take what there is, wait for it to come back, or say why it is no size.

    With fewer passes than were asked for at least, it was put down and may come back.
    """
    if armed.of is None:  # no pass was told of what came in while nobody saw it
        bench.phase = Armed.fresh(armed.ask, armed.gauge)
        return []
    result = estimated(bench, armed)
    passes = _passes_of(armed, result)
    if 0 < passes < armed.gauge.passes:
        armed.interrupted()
        return [Interrupted(armed.ask.at, passes, armed.gauge.passes)]
    armed.touched = False
    found: list[Output] = []
    if not isinstance(result, SweepRefused):
        found = take_sweep(bench, armed, result)
    elif result.reason != "no-contact":
        found = refuse(bench, armed, result)
    if isinstance(bench.phase, Leaving):
        bench.phase = Armed.fresh(bench.phase.ask, bench.phase.gauge)
    elif bench.phase is armed:
        bench.phase = Armed.fresh(armed.ask, armed.gauge)
    return found


def _passes_of(armed: Armed, result: SweepSized | SweepRefused) -> int:
    """How many passes there are to go on with; 0 where none of them is worth it."""
    if not isinstance(result, SweepRefused):
        return max(armed.passes, len(result.pass_sizes_nm))
    return 0 if result.reason in HOPELESS | _NONE else armed.passes
