"""What a person does at the bench beside sweeping: the pedal, values typed in, temperatures."""

from barrelfit.rules.bench.asking import ask, ask_next
from barrelfit.rules.bench.phases import Done, Phase
from barrelfit.rules.bench.sizing import gauge_off_bench, of_entry, sized_by_hand
from barrelfit.rules.bench.state import Bench
from barrelfit.rules.bench.taking import accept, take
from barrelfit.rules.bench.verdicts import judge_pairs, judge_parts
from barrelfit.rules.events import EntryMade, Output, PedalPressed, Refused, TemperatureTaken
from barrelfit.rules.judge.entry import Accepted, Typed, check_entry, last_digit_nm
from barrelfit.rules.judge.expected import expected_at
from barrelfit.rules.uncertainty.temperature import check_temperature

Outputs = tuple[Output, ...]


def pressed(bench: Bench, phase: Phase, event: PedalPressed) -> Outputs:
    """Next puts the asked feature off, again begins its sweep anew, undo takes the last size back.

    Whatever was swept since is dropped; it stays in the journal.
    """
    if event.action == "undo" and bench.history:
        return tuple(_undo(bench))
    if isinstance(phase, Done):
        return ()
    if event.action == "next":
        if phase.ask.at in bench.put_off:
            bench.put_off.remove(phase.ask.at)
        bench.put_off.append(phase.ask.at)
        return tuple(ask_next(bench))
    return tuple(ask(bench, phase.ask))


def _undo(bench: Bench) -> list[Output]:
    last = bench.history.pop()
    bench.sizes.pop(last, None)
    bench.asked_again.discard(last)
    found = [*judge_parts(bench, [last.part]), *judge_pairs(bench, last.part)]
    bench.wanted = last
    return [*found, *ask_next(bench)]


def entry(bench: Bench, _phase: Phase, event: EntryMade) -> Outputs:
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
        return tuple(take(bench, *sized_by_hand(event.at, checked.length_nm)))
    gauge = gauge or gauge_off_bench(bench, planned, last_digit_nm(event.text, event.unit))
    found = of_entry(checked.length_nm, gauge.traits.digit_nm)
    return tuple(accept(bench, event.at, gauge, found))


def _held(event: EntryMade, sentence: str, advice: str) -> Refused:
    return Refused(event.at, "entry-held", f"'{event.text}' {event.unit}: {sentence}", advice)


def temperature(bench: Bench, _phase: Phase, event: TemperatureTaken) -> Outputs:
    """Take a temperature for the sizes to come.

    Raises:
        RulesError: it is out of all reason; whoever takes one in checks it first.
    """
    check_temperature(event.milli_celsius, event.of)
    bench.set_temperature(event.of, event.milli_celsius)
    return ()
