"""What to ask for next, and the ask's way: said, recorded, heard again, and only then armed."""

from typing import Final

from barrelfit.rules.bench.open_facts import is_told, meanwhile, with_facts
from barrelfit.rules.bench.phases import (
    DOUBTED,
    LATE_NS,
    READ_NS,
    REPEATS,
    Armed,
    Ask,
    ByHand,
    Done,
    Leaving,
    Phase,
    ToTell,
    Waiting,
    Watch,
    Why,
)
from barrelfit.rules.bench.setup import GaugeOnBench
from barrelfit.rules.bench.state import Bench
from barrelfit.rules.bench.two_parts import judged, put_question, question_due
from barrelfit.rules.bench.verdicts import judge_all
from barrelfit.rules.engine.catalogue import feature
from barrelfit.rules.events import Asked, NotCounted, Output, WentOn
from barrelfit.rules.judge import second_place, still_to_measure
from barrelfit.rules.judge.plan import PlannedFeature
from barrelfit.rules.model import FeatureId
from barrelfit.rules.said import Said, said
from barrelfit.rules.sweep.movements import entry_of
from barrelfit.rules.telling import AskShown, BoardAwaited, TellingChanged

Outputs = tuple[Output, ...]
NEVER: Final = -1  # the number of no ask

MUST_LEAVE = REPEATS | DOUBTED  # what is measured apart from the sweep before


def ask_next(bench: Bench) -> list[Output]:
    """Choose the next open feature and ask for it, or end the set.

    What is asked for already goes on as it is. Without a job there is nothing to ask for.
    """
    if not bench.setup.engine.parts:
        bench.asks += 1
        return [Asked(None, "", said("no_job"), 0, 0, bench.asks)]
    once_more = _once_more(bench)
    if once_more is not None:
        return _ask_this(bench, once_more, "discard")
    feature = question_due(bench)
    if feature is not None:
        question = put_question(bench, feature)
        first = next(p for p in bench.plan if p.at in bench.once_more)
        return question + _ask_this(bench, first, "alike")
    chosen = _choose(bench)
    if chosen is None:
        return _end(bench)
    return _ask_this(bench, chosen, "undecided" if chosen.at in bench.sizes else "first")


def _ask_this(bench: Bench, planned: PlannedFeature, why: Why) -> list[Output]:
    wanted = _with_gauge(bench, planned, why)
    if isinstance(bench.phase, Done) or bench.phase.ask != wanted:
        return ask(bench, wanted)
    said = _said(bench, wanted)
    if isinstance(bench.phase, Waiting | ToTell):
        bench.phase.number, bench.phase.recorded = bench.asks, False
    if isinstance(bench.phase, ToTell):
        bench.phase.heard_ns = None
    return [said]


def ask_for(bench: Bench, at: FeatureId) -> list[Output]:
    """Ask for a feature or fact of the plan that a person wants to measure or tell now."""
    if at in bench.put_off:
        bench.put_off.remove(at)
    bench.left.discard(at)
    planned = next(p for p in bench.may_ask if p.at == at)
    return ask(bench, _with_gauge(bench, planned, "anew" if at in bench.sizes else "first"))


def skip(bench: Bench, skipped: Ask) -> list[Output]:
    """Put a feature off that has no size; one that has keeps it, and is asked no more.

    A fact that is put off a second time is asked no more: it stands as lacking.
    """
    if skipped.planned.telling is not None and skipped.at in bench.put_off:
        bench.left.add(skipped.at)
    if skipped.why == "first":
        if skipped.at in bench.put_off:
            bench.put_off.remove(skipped.at)
        bench.put_off.append(skipped.at)
    elif skipped.why in REPEATS:
        bench.asked_again.add(skipped.at)
    return [*judged(bench, bench.doubted), *ask_next(bench)]


def _with_gauge(bench: Bench, planned: PlannedFeature, why: Why) -> Ask:
    return Ask(planned, gauge_of(bench, planned), why)


def gauge_of(bench: Bench, planned: PlannedFeature) -> GaugeOnBench | None:
    """The gauge that measures a feature of the plan, None where no gauge of the bench does."""
    return bench.setup.gauge_for(planned.gauge_kind, planned.about_nm)


def ask(bench: Bench, wanted: Ask) -> list[Output]:
    """Ask for a feature; what was swept since the ask before is dropped."""
    said = _said(bench, wanted)
    bench.put_aside()
    bench.phase = _phase_of(bench, wanted)
    return [said]


def _said(bench: Bench, wanted: Ask) -> Asked:
    bench.asks += 1
    way = bench.way
    done = sum(p.at in bench.sizes if p.telling is None else is_told(bench, p) for p in way)
    name = wanted.gauge.name if wanted.gauge is not None else _scale_for(bench, wanted)
    free = meanwhile(bench, wanted.planned)
    sentence = _sentence(bench, wanted)
    return Asked(wanted.at, name, sentence, done, len(way), bench.asks, free)


def _scale_for(bench: Bench, wanted: Ask) -> str:
    """The scale that tells what is asked for, empty where it is no mass, or typed in."""
    is_mass = wanted.planned.gauge_kind == "scale"
    return next(iter(bench.setup.scales), "") if is_mass else ""


def heard(bench: Bench, waiting: Waiting | ToTell, event: Asked) -> Outputs:
    """An ask stands in the record: what was swept before it is of nothing that was asked.

    While nobody can see it nothing is begun by it: it is said again when they can.
    """
    if bench.untold or event.at != waiting.ask.at or event.ask not in {0, waiting.number}:
        return ()
    if bench.awaits_board:
        waiting.recorded = True
        return ()
    return _begun(bench, waiting)


def shown(bench: Bench, waiting: Waiting | ToTell, event: AskShown) -> Outputs:
    """The bench's own board shows what is asked for: what was swept before counts for nothing."""
    is_it = waiting.recorded and event.ask == waiting.number
    return _begun(bench, waiting) if is_it and not bench.untold else ()


def board_awaited(bench: Bench, _phase: Phase, _event: BoardAwaited) -> Outputs:
    """From now on nothing is begun before the bench's own board has shown what is asked for."""
    bench.awaits_board = True
    return ()


def _begun(bench: Bench, waiting: Waiting | ToTell) -> Outputs:
    """What is asked for can be seen.

    A hand that was about to do what was asked before goes on with that for a moment: what comes
    into the gauge meanwhile must come away first. What is shown in time finds the part that was
    measured in the gauge still, and no hand can have taken another; what is shown late may find one
    that is just leaving, as another one comes that was taken after a look at what stood there.
    """
    if isinstance(waiting, ToTell):
        if waiting.heard_ns is None:
            waiting.heard_ns, bench.seen = bench.now_ns, waiting.ask.at
        return ()
    if waiting.unread_ns is not None:  # it is seen already
        return ()
    bench.heard_ns = bench.now_ns
    is_new = bench.seen not in {None, waiting.ask.at}
    chosen_ns = waiting.chosen_ns
    is_awaited = chosen_ns is not None and bench.now_ns - chosen_ns < READ_NS
    unread_ns = None if is_awaited or not is_new else bench.now_ns + READ_NS
    if unread_ns is not None and waiting.watch.hold is None:
        waiting.unread_ns = unread_ns
        return ()
    is_late = bench.now_ns - waiting.since_ns >= LATE_NS
    begun = begin_sweep(bench, waiting)
    if is_late and isinstance(bench.phase, Leaving):
        bench.phase.unread_ns = unread_ns
    return begun


def begin_sweep(bench: Bench, waiting: Waiting) -> Outputs:
    """What comes into the gauge from now on is what is asked for."""
    ask, gauge, hold = waiting.ask, waiting.gauge, waiting.watch.hold
    bench.seen = ask.at
    if hold is None or (hold.at == ask.at and ask.why not in MUST_LEAVE):  # the right part is there
        bench.phase = fresh = Armed.fresh(ask, gauge, hold)
        fresh.unseen = waiting.watch.unseen
        return ()
    swept = waiting.watch.swept
    looks_on = swept and not entry_of(gauge.traits.movement).by_press
    bench.phase = Leaving(ask, gauge, hold, waiting.watch if looks_on else None)
    return (NotCounted(ask.at, "asked-late"),) if swept else ()


def went_on(bench: Bench, phase: Phase, _event: WentOn) -> Outputs:
    """Ask anew, unless a sweep is under way: nobody may have seen the ask before the end.

    An ask that another version of the rules would have said never comes, either. What was away
    before is begun anew, too, and told when it does not come.
    """
    bench.untold.clear()
    bench.awaits_board = False
    bench.nobody_saw()
    if isinstance(phase, Waiting):
        phase.watch.interrupted(bench.stood_asked(phase.gauge.name))
        return tuple(ask(bench, phase.ask))
    if isinstance(phase, ToTell):
        return tuple(ask(bench, phase.ask))
    _begin_nothing(bench, phase)
    return _said_anew(bench, bench.phase)


def telling_changed(bench: Bench, phase: Phase, event: TellingChanged) -> Outputs:
    """Nobody sees what is asked for, or everybody does again.

    A hand that is told nothing goes on with what it has: a sweep under way is of what was asked
    when it began, but nothing new is begun. What is asked for is said anew when it can be seen.
    """
    blind = bool(bench.untold)
    (bench.untold.discard if event.there else bench.untold.add)(event.service)
    if event.there or isinstance(phase, ByHand | Done):
        return _said_anew(bench, phase) if blind and not bench.untold else ()
    _begin_nothing(bench, phase)
    return ()


def _begin_nothing(bench: Bench, phase: Phase) -> None:
    """Nothing new is begun until what is asked for is said again; what is under way goes on."""
    if isinstance(phase, Waiting):
        phase.number = NEVER if phase.unread_ns is not None else phase.number
        phase.unread_ns = None
    elif isinstance(phase, ToTell):
        phase.number, phase.heard_ns = NEVER, None
    elif isinstance(phase, Leaving) or (isinstance(phase, Armed) and not phase.passes):
        watch = bench.watch_on(phase)
        bench.phase = Waiting(phase.ask, phase.gauge, NEVER, watch, bench.now_ns)


def _said_anew(bench: Bench, phase: Phase) -> Outputs:
    return tuple(ask(bench, phase.ask)) if isinstance(phase, Waiting | ToTell) else ()


def _phase_of(bench: Bench, wanted: Ask) -> Phase:
    gauge, before = wanted.gauge, bench.phase
    if wanted.planned.telling is not None:
        stood = before if isinstance(before, ToTell) and before.ask.at == wanted.at else None
        was_seen = stood is not None and stood.heard_ns is not None
        return ToTell(wanted, bench.asks, goes_on=was_seen)
    if gauge is None:
        return ByHand(wanted)
    watch = bench.beside.pop(gauge.name, None) or Watch(gauge)
    since_ns = before.since_ns if isinstance(before, Waiting) else bench.now_ns
    return Waiting(wanted, gauge, bench.asks, watch, since_ns, chosen_ns=bench.chosen_ns)


def _sentence(bench: Bench, wanted: Ask) -> Said:
    sentence = wanted.planned.sentence
    if wanted.why == "undecided":
        sentence = said("ask_undecided", ask=sentence)
    if wanted.why == "discard":
        entry = feature(wanted.at.feature)
        above = entry is not None and entry.discards == "above"
        what = sentence
        sentence = said("ask_below", ask=what) if not above else said("ask_above", ask=what)
    if wanted.why in DOUBTED:
        alike = [a for a in bench.alike if a.feature == wanted.at.feature]
        names = tuple(dict.fromkeys(name for a in alike for name in a.names))
        asked = said("ask_alike", alike=tuple(a.said for a in alike), ask=sentence)
        sure = said("ask_sure", parts=names, ask=sentence)
        sentence = asked if wanted.why == "alike" else sure
    if _scale_for(bench, wanted):
        sentence = said("ask_on_scale", ask=sentence)
    if wanted.gauge is None and wanted.planned.telling is None:
        sentence = said("ask_type_in", ask=sentence)
    return sentence


def _choose(bench: Bench) -> PlannedFeature | None:
    """The first feature that is open; what was put off comes last, what has a size after it."""
    open_now = [p for p in still_to_measure(bench.evidence) if p.at not in bench.asked_again]
    first_time = [p for p in open_now if p.at not in bench.sizes]
    if bench.asks_facts:
        first_time = with_facts(bench, first_time)
    return min(first_time or open_now, key=lambda p: _put_off(bench, p.at), default=None)


def _once_more(bench: Bench) -> PlannedFeature | None:
    """What is to bear out a discard, once all other places of its part are measured."""
    waiting = {p.at.part for p in bench.plan if p.gauge_kind != "hand" and p.at not in bench.sizes}
    sized = dict.fromkeys(at.part for at in bench.sizes)  # only what has a size can have a second
    places = (second_place(bench.evidence, part) for part in sized)
    due = {at for at in places if at and at.part not in waiting and at not in bench.asked_again}
    return next((p for p in bench.plan if p.at in due), None)


def _put_off(bench: Bench, at: FeatureId) -> int:
    return bench.put_off.index(at) + 1 if at in bench.put_off else 0


def _end(bench: Bench) -> list[Output]:
    bench.put_aside()
    bench.phase = Done()
    bench.asks += 1
    verdicts, done = judge_all(bench)
    total = len(bench.way)
    nothing = Asked(None, "", said("set_is_measured"), total, total, bench.asks)
    return [*verdicts, nothing, done]
