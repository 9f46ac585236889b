"""The one step of a bench: an event in, what follows from it out. Live and replay run this.

Hands-free: contact begins a sweep of the asked feature, enough agreeing passes finish it, the plan
moves on by itself. After a size or a refusal the part must come away before the next sweep begins,
so that the last passes of one feature never count for the next.

The state is owned by the step, which changes it in place (a redo takes hundreds of thousands of
readings through here); given the same setup and events, the same things come out.
"""

from barrelfit.rules.bench.enough import Looks
from barrelfit.rules.bench.sizing import (
    Found,
    gauge_off_bench,
    of_entry,
    of_sweep,
    size_at_20,
    sized_by_hand,
)
from barrelfit.rules.bench.state import Bench, GaugeOnBench, Phase, Setup
from barrelfit.rules.events import (
    Asked,
    Contact,
    EntryMade,
    GaugeChanged,
    Input,
    Judged,
    Matched,
    MatchedPair,
    NotCounted,
    Output,
    Passed,
    PedalPressed,
    Reading,
    ReadingFault,
    Refused,
    SetDone,
    Sized,
    StillDoubtful,
    TemperatureTaken,
)
from barrelfit.rules.judge import SetJudgement, judge_pair, judge_part, judge_set, still_to_measure
from barrelfit.rules.judge.entry import (
    Accepted,
    Typed,
    check_entry,
    check_gauge_size,
    last_digit_nm,
)
from barrelfit.rules.judge.expected import expected_at
from barrelfit.rules.judge.plan import PlannedFeature
from barrelfit.rules.model import FeatureId, Judgement, Size, Verdict
from barrelfit.rules.sweep import Contact as SweepContact
from barrelfit.rules.sweep import Left, PassFound, Sweep, SweepNote
from barrelfit.rules.sweep import Refused as SweepRefused
from barrelfit.rules.sweep import Sized as SweepSized
from barrelfit.rules.uncertainty.temperature import check_temperature

Outputs = tuple[Output, ...]


def begin(setup: Setup) -> tuple[Bench, Outputs]:
    """Open a session: judge what can be judged already, and ask for the first feature."""
    bench = Bench(setup, {}, setup.temperatures)
    found = [*_judge_parts(bench, [p.id for p in setup.engine.parts]), *_ask_next(bench)]
    return bench, tuple(found)


def step(bench: Bench, event: Input) -> tuple[Bench, Outputs]:
    """Take one event; returns the bench and what follows, in order.

    A reading of a gauge that is not asked for is no part of any sweep.

    Raises:
        RulesError: a temperature out of all reason; whoever takes one in checks it first.
    """
    match event:
        case Reading():
            return bench, _reading(bench, event)
        case ReadingFault():
            return bench, _fault(bench, event)
        case GaugeChanged():
            return bench, _gauge_changed(bench, event)
        case PedalPressed():
            return bench, _pedal(bench, event)
        case EntryMade():
            return bench, _entry(bench, event)
        case TemperatureTaken():
            check_temperature(event.milli_celsius, event.of)
            bench.set_temperature(event.of, event.milli_celsius)
            return bench, ()


# ---------------------------------------------------------------- sweeping


def _reading(bench: Bench, event: Reading) -> Outputs:
    gauge, sweep = bench.gauge, bench.sweep
    if gauge is None or sweep is None or event.gauge != gauge.name:
        return ()
    departure = bench.departure
    gone = departure is not None and departure.gone(event.t_ns, event.length_nm)
    if bench.phase == "leaving":
        if gone:
            _arm(bench)
            return ()
        lingers = departure is not None and departure.begins_to_linger()
        return (NotCounted(bench.asked.at),) if lingers and bench.asked else ()
    bench.last_nm = event.length_nm
    notes = sweep.push(event.t_ns, event.length_nm)
    if gone:  # asked for more passes, the hand took the part away: what there is must do
        notes = (*notes, Left(event.t_ns))
    return _notes(bench, notes) if notes else ()


def _fault(bench: Bench, event: ReadingFault) -> Outputs:
    gauge, sweep = bench.gauge, bench.sweep
    if gauge is None or sweep is None or event.gauge != gauge.name:
        return ()
    sweep.fault(event.t_ns)
    return ()


def _notes(bench: Bench, notes: tuple[SweepNote, ...]) -> Outputs:
    found: list[Output] = []
    for note in notes:
        asked = bench.asked
        if asked is None:
            break
        if bench.phase != "armed":
            break
        if isinstance(note, Left):
            found += _left(bench, asked)
        elif isinstance(note, SweepContact):
            found.append(Contact(asked.at, note.t_ns))
        else:
            found += _pass_found(bench, asked, note)
    return tuple(found)


def _pass_found(bench: Bench, asked: PlannedFeature, note: PassFound) -> list[Output]:
    bench.passes += 1
    found: list[Output] = [Passed(asked.at, note.number, note.size_nm, note.start_ns, note.end_ns)]
    gauge, sweep, looks = bench.gauge, bench.sweep, bench.looks
    if gauge is None or sweep is None or looks is None:
        return found
    looks.passed(note)
    if bench.passes < gauge.passes:
        return found
    result = sweep.estimate()
    if isinstance(result, SweepRefused):
        ends = looks.is_refused(result, bench.passes)
        return found + _refuse(bench, asked.at, result) if ends else found
    _, so_far = size_at_20(bench, asked.at, gauge, of_sweep(result))
    if looks.is_enough(result, bench.passes, so_far.u_nm):
        return found + _take_sweep(bench, asked.at, gauge, result)
    bench.departure = bench.departure or looks.departure(bench.last_nm)
    span = (so_far.size_nm, so_far.low_nm, so_far.high_nm)
    return [*found, StillDoubtful(asked.at, bench.passes, *span)]


def _left(bench: Bench, asked: PlannedFeature) -> list[Output]:
    """The part came away before its sweep was finished: take what there is, or say why not."""
    sweep, gauge = bench.sweep, bench.gauge
    if sweep is None or gauge is None:
        return []
    result = sweep.estimate()
    found: list[Output] = []
    if not isinstance(result, SweepRefused):
        found = _take_sweep(bench, asked.at, gauge, result)
    elif result.reason != "no-contact":
        found = _refuse(bench, asked.at, result)
    _arm(bench)
    return found


def _take_sweep(
    bench: Bench, at: FeatureId, gauge: GaugeOnBench, swept: SweepSized
) -> list[Output]:
    """Take a sweep's size, or hold one that looks like another unit or another feature."""
    held = check_gauge_size(swept.size_nm, expected_at(bench.evidence, at))
    if held is None:
        return _accept(bench, at, gauge, of_sweep(swept))
    advice = "check the gauge's unit and which feature it is on, then sweep again"
    return _refuse(bench, at, SweepRefused(held.reason, held.question, advice))


def _accept(bench: Bench, at: FeatureId, gauge: GaugeOnBench, found: Found) -> list[Output]:
    """Take what a gauge read: correct it to 20 °C, then as any size."""
    return _take(bench, *size_at_20(bench, at, gauge, found))


def _take(bench: Bench, size: Size, event: Sized) -> list[Output]:
    """Take a size: say it, judge what it decides, and ask for the next feature."""
    bench.sizes[size.at] = size
    bench.history.append(size.at)
    said: list[Output] = [event]
    said += _judge_parts(bench, [size.at.part])
    said += _judge_pairs(bench, size.at.part)
    before = bench.gauge
    said += _ask_next(bench)
    if bench.phase != "done":
        # Another gauge has nothing to leave; the same one must come away first.
        _set_phase(bench, "leaving" if bench.gauge is before else "armed")
    return said


def _refuse(bench: Bench, at: FeatureId, result: SweepRefused) -> list[Output]:
    _set_phase(bench, "leaving")
    return [Refused(at, result.reason, result.sentence, result.advice)]


def _arm(bench: Bench) -> None:
    if bench.phase != "done":
        _set_phase(bench, "armed")


def _set_phase(bench: Bench, phase: Phase) -> None:
    """Change the phase: an armed bench begins a fresh sweep, a leaving one watches for the end."""
    bench.phase = phase
    bench.passes = 0
    bench.departure = None
    if bench.gauge is None:
        bench.sweep = None
    elif phase == "armed":
        bench.sweep = Sweep(bench.gauge.traits)
        bench.looks = Looks(bench.gauge.passes, bench.gauge.traits)
    elif bench.looks is not None:
        bench.departure = bench.looks.departure(bench.last_nm)


# ---------------------------------------------------------------- the plan


def _ask_next(bench: Bench) -> list[Output]:
    """Choose the next open feature and ask for it, or end the set."""
    planned = _next_feature(bench)
    bench.asked = planned
    if planned is None:
        return _end(bench)
    gauge = bench.setup.gauge_for(planned.gauge_kind, planned.about_nm)
    changed = gauge is not bench.gauge
    bench.gauge = gauge
    if changed or bench.sweep is None:
        _set_phase(bench, "armed")
    plan = bench.plan
    done = sum(p.at in bench.sizes for p in plan)
    sentence = planned.sentence
    if planned.at in bench.sizes:
        bench.asked_again.add(planned.at)
        sentence = f"{sentence}: once more, it is too near a limit to tell"
    if gauge is None:
        sentence = f"{sentence}: no gauge on this bench measures it; type it in"
    name = gauge.name if gauge is not None else ""
    return [Asked(planned.at, name, sentence, done, len(plan))]


def _next_feature(bench: Bench) -> PlannedFeature | None:
    """The first feature that is open; what was put off comes after all others."""
    open_now = [p for p in still_to_measure(bench.evidence) if p.at not in bench.asked_again]
    first_time = [p for p in open_now if p.at not in bench.sizes]
    wanted, bench.wanted = bench.wanted, None
    for planned in first_time:
        if planned.at == wanted:
            return planned
    return min(
        first_time or open_now,
        key=lambda p: bench.put_off.index(p.at) + 1 if p.at in bench.put_off else 0,
        default=None,
    )


def _end(bench: Bench) -> list[Output]:
    bench.phase, bench.sweep, bench.gauge = "done", None, None
    total = len(bench.plan)
    whole = judge_set(bench.evidence)
    verdicts = [judgement.verdict for judgement in whole.parts]
    pairs = tuple(
        MatchedPair(s.cylinder, s.bank, s.piston, s.barrel, s.tight_nm, s.loose_nm)
        for s in whole.pairing.seats
    )
    match = Matched(str(whole.pairing.outcome), pairs, whole.pairing.spread_nm, _words_of(whole))
    return [
        *(news for judgement in (*whole.parts, *whole.pairs) for news in _news(bench, judgement)),
        match,
        Asked(None, "", "the set is measured; nothing is left to do", total, total),
        SetDone(
            serviceable=verdicts.count(Verdict.SERVICEABLE),
            rework=verdicts.count(Verdict.REWORK),
            discard=verdicts.count(Verdict.DISCARD),
            undecided=verdicts.count(Verdict.UNDECIDED),
        ),
    ]


def _words_of(whole: SetJudgement) -> tuple[str, ...]:
    """What is to be said of the pairing: its own sentences, and why there is none."""
    trouble = whole.pairing.trouble
    if trouble is None:
        return whole.pairing.sentences
    mend = trouble.mend.steps if trouble.mend is not None else ()
    return (*whole.pairing.sentences, *trouble.broken, *trouble.reasons, *mend)


def _judge_parts(bench: Bench, parts: list[str]) -> list[Output]:
    return [j for part in parts for j in _news(bench, judge_part(bench.evidence, part))]


def _judge_pairs(bench: Bench, part_id: str) -> list[Output]:
    """Judge the pairs that came in together, once both parts are measured."""
    found: list[Output] = []
    waiting = {p.at.part for p in bench.plan if p.at not in bench.sizes}
    for barrel in bench.setup.engine.of_kind("barrel"):
        pair = (barrel.mate, barrel.id)
        if barrel.mate and part_id in pair and waiting.isdisjoint(pair):
            found += _news(bench, judge_pair(bench.evidence, *pair))
    return found


def _news(bench: Bench, judgement: Judgement) -> list[Judged]:
    """The judgement as an event, unless it says what was said before."""
    event = Judged(judgement.about, judgement.verdict, judgement.findings, judgement.todo)
    if bench.judged.get(event.about) == event:
        return []
    bench.judged[event.about] = event
    return [event]


# ---------------------------------------------------------------- faults, pedal and hand


def _gauge_changed(bench: Bench, event: GaugeChanged) -> Outputs:
    """A gauge that goes or comes back ends the sweep it was in: its passes are of no size."""
    if bench.gauge is None or event.gauge != bench.gauge.name or event.state == "answering":
        return ()
    if bench.phase == "leaving":
        _set_phase(bench, "leaving")  # the part may still be there: watch anew
        return ()
    found: list[Output] = []
    if bench.passes > 0 and bench.asked is not None:
        found.append(
            Refused(
                bench.asked.at,
                "gauge-lost",
                f"gauge {event.gauge} went away during the sweep",
                "check the cable, then sweep again",
            )
        )
    _arm(bench)
    return tuple(found)


def _pedal(bench: Bench, event: PedalPressed) -> Outputs:
    """Next puts the asked feature off, again begins its sweep anew, undo takes the last size back.

    Whatever was swept since is dropped; it stays in the journal.
    """
    stays = bench.holds_another(event.action)
    if event.action == "undo" and bench.history:
        last = bench.history.pop()
        bench.sizes.pop(last, None)
        bench.asked_again.discard(last)
        found = [*_judge_parts(bench, [last.part]), *_judge_pairs(bench, last.part)]
        bench.wanted, bench.phase = last, "armed"
        return (*found, *_ask_anew(bench, stays=stays))
    if event.action == "next" and bench.asked is not None:
        if bench.asked.at in bench.put_off:
            bench.put_off.remove(bench.asked.at)
        bench.put_off.append(bench.asked.at)
    return tuple(_ask_anew(bench, stays=stays)) if bench.phase != "done" else ()


def _ask_anew(bench: Bench, *, stays: bool) -> list[Output]:
    before, bench.gauge = bench.gauge, None
    said = _ask_next(bench)
    if stays and bench.phase == "armed" and bench.gauge is before:
        _set_phase(bench, "leaving")
    return said


def _entry(bench: Bench, event: EntryMade) -> Outputs:
    """Take a typed value for a planned feature, or hold it with a question."""
    planned = next((p for p in bench.plan if p.at == event.at), None)
    if planned is None:
        return (_held(event, "nothing of this plan is called so", "choose a feature of the plan"),)
    gauge = bench.setup.gauge_for(planned.gauge_kind, planned.about_nm)
    key = (event.at, event.who)
    repeated = bench.held.get(key) == event.text or bool(event.why)
    typed = Typed(event.text, event.unit, confirms=event.confirms and repeated)
    checked = check_entry(typed, expected_at(bench.evidence, event.at))
    if not isinstance(checked, Accepted):
        bench.held[key] = event.text
        return (_held(event, checked.question, "type it again as read, or give a reason"),)
    bench.held.pop(key, None)
    if planned.gauge_kind == "hand":
        return tuple(_take(bench, *sized_by_hand(event.at, checked.length_nm)))
    gauge = gauge or gauge_off_bench(bench, planned, last_digit_nm(event.text, event.unit))
    found = of_entry(checked.length_nm, gauge.traits.digit_nm)
    return tuple(_accept(bench, event.at, gauge, found))


def _held(event: EntryMade, sentence: str, advice: str) -> Refused:
    return Refused(event.at, "entry-held", f"'{event.text}' {event.unit}: {sentence}", advice)
