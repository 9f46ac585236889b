"""A fact told at the bench: taken or held, and judged at once, like a size.

What is being swept goes on, unless its part is asked for no more. A part that turns out to be made
of something else gets its sizes corrected to 20 °C anew.
"""

from dataclasses import replace

from barrelfit.rules.bench.asking import ask, ask_for, ask_next, gauge_of, skip
from barrelfit.rules.bench.facts import engine_of
from barrelfit.rules.bench.open_facts import is_told, open_facts
from barrelfit.rules.bench.phases import Done, Phase, ToTell
from barrelfit.rules.bench.sizing import at_20, part_material
from barrelfit.rules.bench.state import Bench
from barrelfit.rules.bench.taking import measured_twice
from barrelfit.rules.bench.two_parts import judged
from barrelfit.rules.engine.catalogue import feature
from barrelfit.rules.engine.catalogue.nouns import ABSENT, LATER, UNREADABLE
from barrelfit.rules.engine.catalogue.rings import IN, LEAVES, OF_THE_RING, OUT, places_told
from barrelfit.rules.engine.form import Filled
from barrelfit.rules.engine.set_facts import PART, PHOTOS, REPLACED
from barrelfit.rules.events import Output, PedalPressed, Sized, TakenBack
from barrelfit.rules.judge import still_to_measure
from barrelfit.rules.judge.fact_entry import FactDoubt, FactStands, check_fact, with_taken
from barrelfit.rules.model import FeatureId
from barrelfit.rules.said import said
from barrelfit.rules.told import FactHeld, FactSettled, FactTaken, FactTold

Outputs = tuple[Output, ...]


def fact_told(bench: Bench, phase: Phase, event: FactTold) -> Outputs:
    """Take a fact, or hold it with a question that leaves its part undecided."""
    if event.ask:
        return _answered(bench, phase, event)
    return tell(bench, event)


def _answered(bench: Bench, phase: Phase, event: FactTold) -> Outputs:
    """An answer counts only for what is asked, and once it could be read."""
    if not isinstance(phase, ToTell) or (phase.number, phase.ask.at) != (event.ask, event.at):
        return (_no_answer(event, "not-asked"),)
    if not phase.was_read(event.t_ns):
        return (_no_answer(event, "too-soon"),)
    if event.value.strip() == LATER:
        bench.chosen_ns = None
        return tuple(skip(bench, phase.ask))
    at, value = _whole_answer(bench, phase, event.value.strip())
    return tell(bench, replace(event, at=at, value=value))


def _no_answer(event: FactTold, reason: str) -> FactHeld:
    sentence, advice = _NO_ANSWER[reason]
    return FactHeld(event.at, reason, sentence, advice, event.value, who=event.who)


_NO_ANSWER = {
    "not-asked": (said("not_asked_now"), said("do_read_then_answer")),
    "too-soon": (said("pressed_too_soon"), said("do_read_then_press")),
}


def _whole_answer(bench: Bench, phase: ToTell, value: str) -> tuple[FeatureId, str]:
    """The fact that an answer makes: a mark that can't be read or is not there stands in a list.

    What is found at a leaf's next place is added to what was found at the places before.
    """
    at, telling = phase.ask.at, phase.ask.planned.telling
    if not at.part:
        return at, value
    part = bench.setup.engine.part(at.part)
    if at.feature == LEAVES.name:
        words = [IN if went_in else OUT for went_in in places_told(part, at)]
        return at, ", ".join([*words, value])
    if telling is None or not telling.mark or value not in {UNREADABLE, ABSENT}:
        return at, value
    known = part.marks.unreadable if value == UNREADABLE else part.marks.absent
    return FeatureId(at.part, value), ", ".join([*known, telling.mark])


def pressed_at_fact(bench: Bench, phase: ToTell, event: PedalPressed) -> Outputs:
    """What the pedal answers: the press or the long press that the catalogue has for the fact.

    Where it has none, a press puts the question off, and a long one asks it once more. Nobody has
    chosen what comes next, so a hand may still be on its way with what was asked before.
    """
    bench.chosen_ns = None
    telling, at = phase.ask.planned.telling, phase.ask.at
    is_next = event.action == "next"
    value = "" if telling is None else telling.press if is_next else telling.long
    who = event.who or bench.who
    answer = FactTold(
        event.t_ns, at, value, who=who, by="pedal", device=event.device, ask=phase.number
    )
    if value:
        return _answered(bench, phase, answer)
    if not phase.was_read(event.t_ns):
        return (_no_answer(replace(answer, value=event.action), "too-soon"),)
    return tuple(skip(bench, phase.ask) if is_next else ask(bench, phase.ask))


def undo_fact(bench: Bench, last: FactTaken | FactHeld) -> list[Output]:
    """What was told last stands no more: what stood before it does; and it is asked for again."""
    at = last.at
    if isinstance(last, FactHeld):
        bench.facts = bench.facts.without_held(at)
        outputs: list[Output] = [FactSettled(at)]
    else:
        back = FactTaken(at, last.before, last.value, bench.who, "pedal")
        outputs = [back, *with_keys(bench, with_taken(bench.facts.now, back))]
        outputs += _of_other_ring(bench, back)
    outputs += _judged_anew(bench)
    again = any(p.at == at for p in open_facts(bench))
    return [*outputs, *(ask_for(bench, at) if again else _asked(bench))]


def tell(bench: Bench, event: FactTold) -> Outputs:
    """Take a fact as it is told, or hold it; one that is held counts when it is told again."""
    held = bench.facts.held_at(event.at)
    repeats = held is not None and (held.value, held.who) == (event.value, event.who)
    insists = bool(event.why) or (event.confirms and repeats)
    checked = check_fact(bench.facts.now, bench.setup.sheet, event, insists=insists)
    if isinstance(checked, FactDoubt):
        return tuple(hold(bench, event, checked))
    return tuple(_taken(bench, event, checked))


def hold(bench: Bench, event: FactTold, doubt: FactDoubt) -> list[Output]:
    """A fact that does not count, or not yet: its part is undecided while it waits."""
    held = FactHeld(
        at=event.at,
        reason=doubt.reason,
        sentence=doubt.sentence,
        advice=doubt.advice,
        value=event.value,
        before=doubt.before,
        who=event.who,
        open=doubt.confirmable,
    )
    if not doubt.confirmable:
        return [held]
    bench.facts = bench.facts.with_held(held)
    bench.done.append(held)
    return [held, *_judged_anew(bench), *_asked(bench)]


def _taken(bench: Bench, event: FactTold, stands: FactStands) -> list[Output]:
    taken = FactTaken(
        at=event.at,
        value=stands.value,
        before=stands.before,
        who=event.who,
        by=event.by,
        why=event.why,
        confirmed=stands.confirmed,
    )
    outputs: list[Output] = [taken]
    if bench.facts.held_at(event.at) is not None:
        outputs.append(FactSettled(event.at))
    bench.facts = bench.facts.without_held(event.at)
    bench.done = [one for one in bench.done if not isinstance(one, FactHeld) or one.at != event.at]
    # A part stays, and a photo is no work of the hand that the pedal takes back.
    if event.at.feature not in {PART, PHOTOS} and taken.value != taken.before:
        bench.done.append(taken)
    outputs += [*with_keys(bench, stands.filled), *_of_other_ring(bench, taken)]
    return [*outputs, *_judged_anew(bench), *_asked(bench)]


def with_keys(bench: Bench, keys: Filled) -> list[Output]:
    """Go on with other keys of the set; gives the sizes that are others by them."""
    before = {at: part_material(bench, at) for at in bench.sizes}
    setup = bench.setup
    bench.setup = replace(setup, engine=engine_of(keys, setup.engine), keys=keys)
    bench.facts = bench.facts.with_now(keys, setup.sheet)
    bench.look_beside()
    other = [at for at, was in before.items() if part_material(bench, at) != was]
    return [one for at in other for one in _corrected(bench, at)]


def _of_other_ring(bench: Bench, taken: FactTaken) -> list[Output]:
    """Another ring lies in a groove: what was measured of the one before stands no more."""
    place = taken.at
    if place.feature != REPLACED or taken.value == taken.before:
        return []
    sized = [at for at in bench.sizes if (at.part, at.depth) == (place.part, place.depth)]
    gone = [at for at in sized if at.feature in OF_THE_RING]
    for at in gone:
        bench.forget(at)
    return [TakenBack(at) for at in gone]


def _corrected(bench: Bench, at: FeatureId) -> list[Output]:
    """The sizes of a place, by the part's material as it is known now.

    One of which nobody knows how it was read (another version recorded it) stands no more. What
    was typed in from a feeler or scale depends on no material.
    """
    size, first = bench.sizes[at], bench.firsts.get(at)
    if not _is_corrected(at):
        return []
    found = [bench.read_as.get(one) for one in (first, size) if one is not None]
    if any(one is None for one in found):
        bench.forget(at)
        bench.forget_alike(at)
        return [TakenBack(at)]
    anew = [at_20(bench, at, one) for one in found if one is not None]
    for one, (corrected, _) in zip(found, anew, strict=True):
        if one is not None:
            bench.read_as[corrected] = one
    bench.sizes[at] = anew[-1][0]
    outputs: list[Output] = [_noted(bench, anew[0][1])]
    if first is not None:
        (earlier, _), (later, event) = anew
        bench.firsts[at] = earlier
        outputs += [measured_twice(earlier, later), _noted(bench, event)]
    return outputs


def _is_corrected(at: FeatureId) -> bool:
    """Whether a size depends on what its part is made of: what a gauge measured does."""
    entry = feature(at.feature)
    return entry is not None and entry.gauge in {"outside", "bore"}


def _noted(bench: Bench, sized: Sized) -> Sized:
    name = part_material(bench, sized.at).name
    return replace(sized, notes=(*sized.notes, said("corrected_anew", material=name)))


def _judged_anew(bench: Bench) -> list[Output]:
    """Every verdict that is another now: a group or a mass bears on other parts, too."""
    return judged(bench, {part.id for part in bench.setup.engine.parts})


def _asked(bench: Bench) -> list[Output]:
    """What is asked for goes on as it is, unless it is asked for no more, or of another gauge."""
    phase = bench.phase
    if isinstance(phase, Done):
        return ask_next(bench)
    if isinstance(phase, ToTell):
        fact = next((p for p in open_facts(bench) if p.at == phase.ask.at), None)
        chosen = phase.ask.planned
        if fact is None and chosen not in bench.way and not is_told(bench, chosen):
            return []
        if fact is None:
            return ask_next(bench)
        return [] if fact == phase.ask.planned else ask_for(bench, fact.at)  # its next place
    planned = next((p for p in bench.plan if p.at == phase.ask.at), None)
    if planned is None or gauge_of(bench, planned) != phase.ask.gauge:
        return ask_next(bench)
    still = phase.ask.why != "first" or phase.ask.at in {
        p.at for p in still_to_measure(bench.evidence)
    }
    return [] if still else ask_next(bench)
