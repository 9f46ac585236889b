"""Judges a whole set: every part, the rework that is needed, and the pairing."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from enum import StrEnum

from barrelfit.rules.engine.origins import variants_of
from barrelfit.rules.judge.assigning import Pair
from barrelfit.rules.judge.bore import bore_of
from barrelfit.rules.judge.buying import pins_to_buy, to_buy
from barrelfit.rules.judge.candidates import Field, PartState, field_of
from barrelfit.rules.judge.evidence import Evidence
from barrelfit.rules.judge.matching import Match, Task, best_match
from barrelfit.rules.judge.mending import MatchTrouble, trouble_of
from barrelfit.rules.judge.pair import judge_pair
from barrelfit.rules.judge.pairing import gain_doubt, task_of
from barrelfit.rules.judge.part import judge_part
from barrelfit.rules.judge.plan import PlannedFeature
from barrelfit.rules.judge.remaining import pairs_to_settle, still_to_do
from barrelfit.rules.judge.seating import Seat, seats_of
from barrelfit.rules.judge.set_rework import SetRework, oversize_rework, rework_of
from barrelfit.rules.model import Judgement, Verdict
from barrelfit.rules.said import Said, length, said, written
from barrelfit.rules.uncertainty.decide import Zone


class Outcome(StrEnum):
    """What came of the pairing."""

    MATCHED = "matched"  # every cylinder has its pair
    PROVISIONAL = "provisional"  # something is too near a limit to tell, or parts are to be bought
    IMPOSSIBLE = "impossible"  # no assignment keeps every limit
    WAITING = "waiting"  # sizes are missing
    AFTER_REWORK = "after rework"  # work comes first; seats, if any, are a plan


_OUTCOMES: dict[str, Said] = {
    Outcome.MATCHED: said("pairing_matched"),
    Outcome.PROVISIONAL: said("pairing_provisional"),
    Outcome.IMPOSSIBLE: said("pairing_impossible"),
    Outcome.WAITING: said("pairing_waiting"),
    Outcome.AFTER_REWORK: said("pairing_after_rework"),
}


def outcome_said(outcome: str) -> Said:
    """What came of the pairing; `outcome` is one of `Outcome`, or as a record has it."""
    return _OUTCOMES.get(outcome) or written(outcome)


@dataclass(frozen=True, slots=True)
class Pairing:
    """The pairing of a set: its outcome, the seats, the spread of the smallest clearances in nm."""

    outcome: Outcome
    seats: tuple[Seat, ...] = ()
    spread_nm: int | None = None
    sentences: tuple[Said, ...] = ()
    trouble: MatchTrouble | None = None


@dataclass(frozen=True, slots=True)
class SetJudgement:
    """Everything there is to say about a set."""

    parts: tuple[Judgement, ...]
    pairs: tuple[Judgement, ...]
    pairing: Pairing
    rework: SetRework
    to_measure: tuple[PlannedFeature, ...]
    notes: tuple[Said, ...] = field(default=())

    def count(self, verdict: Verdict) -> int:
        """How many parts have a verdict."""
        return sum(j.verdict is verdict for j in self.parts)


def judge_set(evidence: Evidence) -> SetJudgement:
    """Judge every part, pair what can be paired, and plan the rework that takes."""
    parts = tuple(judge_part(evidence, p.id) for p in evidence.engine.parts)
    pairing, rework = _pairing(field_of(evidence, parts))
    pairing = _with_pins(evidence, parts, pairing)
    honed = {r.part for r in rework.remedies if r.to_nm is not None}
    planned = any(s.barrel in honed for s in pairing.seats)
    seats = [s for s in pairing.seats if s.piston and s.barrel and not planned]
    pairs = tuple(judge_pair(evidence, s.piston, s.barrel) for s in seats)
    left_out = tuple(said("left_out", topic=t) for t in evidence.engine.left_out)
    to_do = still_to_do(evidence, parts, rework.remedies)
    made = [(s.piston, s.barrel, j) for s, j in zip(seats, pairs, strict=True)]
    to_do = (*to_do, *pairs_to_settle(evidence, made, [p.at for p in to_do]))
    return SetJudgement(parts, pairs, pairing, rework, to_do, left_out)


def _with_pins(evidence: Evidence, parts: Sequence[Judgement], pairing: Pairing) -> Pairing:
    """The pairing with what its pins still need: a pin stays with its piston, and runs with it."""
    verdicts = {j.about: j.verdict for j in parts}
    seated = [(s, pin) for s in pairing.seats if (pin := evidence.engine.pin_of(s.piston))]
    wanted = pins_to_buy(evidence, [s for s, p in seated if verdicts[p.id] is Verdict.DISCARD])
    doubtful = tuple(pin.id for _, pin in seated if verdicts[pin.id] is Verdict.UNDECIDED)
    more = ([said("are_undecided", parts=doubtful)] if doubtful else []) + wanted
    if not more or not evidence.engine.asks("pins"):
        return pairing
    matched = pairing.outcome is Outcome.MATCHED
    outcome = Outcome.PROVISIONAL if matched else pairing.outcome
    return replace(pairing, outcome=outcome, sentences=(*pairing.sentences, *more))


def _pairing(chosen_from: Field) -> tuple[Pairing, SetRework]:
    """The best that can be done with the set, and the rework it takes.

    A spare that stands in for a lost part and can't run with the others is no reason to have no
    match: as few spares as possible are left out, and the lost part is bought.
    """
    whole = _paired(chosen_from)
    if whole[0].outcome is not Outcome.IMPOSSIBLE:
        return whole
    for some in chosen_from.spares_to_leave_out():
        pairing, rework = _paired(chosen_from.without(some))
        if pairing.outcome is not Outcome.IMPOSSIBLE:
            left_out = said("left_out_of_match", parts=tuple(some))
            return replace(pairing, sentences=(*pairing.sentences, left_out)), rework
    return whole


def _paired(chosen_from: Field) -> tuple[Pairing, SetRework]:
    """The best that can be done with all parts that are not lost."""
    evidence = chosen_from.evidence
    sure = {p: f.tight.nm for p, f in chosen_from.fits.items() if p in chosen_from.costs}
    pistons, barrels = chosen_from.parts("piston"), chosen_from.parts("barrel")
    costs, alone = chosen_from.costs, chosen_from.alone
    task = task_of(evidence, pistons, barrels, _sized(chosen_from, sure), costs, alone)
    match = best_match(task, lambda a, b: gain_doubt(evidence, chosen_from.fits, a, b))
    short = match is None or len(barrels) < evidence.sheet.cylinders
    bored = oversize_rework(chosen_from, len(barrels)) if short else None
    if bored is not None:
        return Pairing(Outcome.AFTER_REWORK, sentences=(bored.sentences[0],)), bored
    if match is None:
        return _impossible(chosen_from, task)
    best_alone = [sorted(some, key=lambda p: alone[p.id]) for some in (pistons, barrels)]
    seats = seats_of(evidence, (best_alone[0], best_alone[1]), match, chosen_from.fits)
    used = [name for s in seats for name in (s.piston, s.barrel) if name]
    return _outcome(chosen_from, match, seats), rework_of(chosen_from, used)


def _sized(chosen_from: Field, clearances_nm: Mapping[Pair, int]) -> dict[Pair, int]:
    """The clearances of pairs whose sizes will stay as they are known (or planned)."""
    unknown = {PartState.UNSIZED, PartState.REWORK}
    return {
        pair: nm
        for pair, nm in clearances_nm.items()
        if not any(chosen_from.state(name) in unknown for name in pair)
    }


def _impossible(chosen_from: Field, task: Task) -> tuple[Pairing, SetRework]:
    trouble = trouble_of(chosen_from, task)
    rework = rework_of(chosen_from, list(chosen_from.by_id))
    aims = _aims(chosen_from, list(chosen_from.by_id))
    sentences = trouble.broken
    if aims:
        sentences = (said("no_pairing_with", aims=aims), *trouble.broken)
    short = task.cylinders - len(task.pistons), task.cylinders - len(task.barrels)
    sentences = (*sentences, *_bought_anyway(*short))
    return Pairing(Outcome.IMPOSSIBLE, sentences=sentences, trouble=trouble), rework


def _bought_anyway(pistons: int, barrels: int) -> list[Said]:
    """How many parts are to be bought whatever is measured or mended."""
    bought = []
    if pistons > 0:
        more = said("pistons_to_buy", count=pistons)
        bought.append(more if pistons > 1 else said("one_piston_to_buy"))
    if barrels > 0:
        more = said("barrels_to_buy", count=barrels)
        bought.append(more if barrels > 1 else said("one_barrel_to_buy"))
    return bought


def _aims(chosen_from: Field, used: Sequence[str]) -> tuple[Said, ...]:
    """The bores that are to be honed first."""
    honed = [c for c in chosen_from.in_state(PartState.HONE) if c.part.id in used]
    aims = [(c.part.id, c.remedy.to_nm) for c in honed if c.remedy is not None]
    return tuple(said("honed_to", part=n, to=length(nm)) for n, nm in aims if nm is not None)


# ---------------------------------------------------------------- outcome in words


def _outcome(chosen_from: Field, match: Match, seats: tuple[Seat, ...]) -> Pairing:
    used = [name for s in seats for name in (s.piston, s.barrel) if name]
    states = {name: chosen_from.state(name) for name in used}
    unsized = [name for name, state in states.items() if state is PartState.UNSIZED]
    if unsized:
        return _waiting(chosen_from, unsized, seats)
    sentences = list(_work_sentences(chosen_from, states))
    reworked = any(s in {PartState.HONE, PartState.REWORK} for s in states.values())
    sized = _sized(chosen_from, {p: f.tight.nm for p, f in chosen_from.fits.items()})
    pairs = [chosen_from.fits[p] for p in match.pairs if p in sized]
    doubts = [f.said for f in pairs if f.zone is Zone.UNDECIDED]
    doubts += [one for f in pairs for one in f.rings_said]
    doubtful = tuple(name for name, state in states.items() if state is PartState.DOUBTFUL)
    doubts += [said("are_undecided", parts=doubtful)] if doubtful else []
    strange = _strangers(chosen_from, used)
    unknown = [
        name for name, state in states.items() if state in {PartState.DOUBTFUL, PartState.REWORK}
    ]
    wanted = to_buy(chosen_from.evidence, seats, unknown)
    sentences += [*doubts, *strange, *wanted]
    ringed = any(f.ring_zone is Zone.OUTSIDE for f in pairs)
    worked = ringed or PartState.WORK in states.values()
    if reworked or (worked and not wanted):
        outcome = Outcome.AFTER_REWORK
    else:
        outcome = Outcome.PROVISIONAL if doubts or strange or wanted else Outcome.MATCHED
    unplanned = PartState.REWORK in states.values()
    shown_seats = () if unplanned else seats
    spread_nm = None if unplanned else match.spread_nm
    return Pairing(outcome, shown_seats, spread_nm, tuple(sentences))


def _waiting(chosen_from: Field, unsized: Sequence[str], seats: Sequence[Seat]) -> Pairing:
    """Sizes are missing: any part of the same kind that has none yet may be the one that fits."""
    kinds = {chosen_from.by_id[name].part.kind for name in unsized}
    names = [c.part.id for c in chosen_from.in_state(PartState.UNSIZED) if c.part.kind in kinds]
    measured = tuple(name for name in names if _is_measured(chosen_from, name))
    missing = tuple(name for name in names if name not in measured)
    told = [said("has_its_sizes", parts=missing)] if missing else []
    told += [said("becomes_known", parts=measured)] if measured else []
    sentence = said("pair_when", what=tuple(told))
    borable = len(chosen_from.in_state(PartState.OVERSIZE))  # boring the whole set may save these
    pistons = 0 if borable else sum(not s.piston for s in seats)
    barrels = max(0, sum(not s.barrel for s in seats) - borable)
    return Pairing(Outcome.WAITING, sentences=(sentence, *_bought_anyway(pistons, barrels)))


def _is_measured(chosen_from: Field, name: str) -> bool:
    """Whether a part that can't be paired yet is a barrel that has all its sizes."""
    barrel = chosen_from.by_id[name].part.kind == "barrel"
    return barrel and not bore_of(chosen_from.evidence, name).missing


def _work_sentences(chosen_from: Field, states: Mapping[str, PartState]) -> list[Said]:
    """What is to be done before the engine runs."""
    work = []
    aims = _aims(chosen_from, list(states))
    if aims:
        work.append(said("planned_with", aims=aims))
    unplanned = tuple(name for name, state in states.items() if state is PartState.REWORK)
    if unplanned:
        work.append(said("pair_when_reworked", parts=unplanned))
    worked = tuple(name for name, state in states.items() if state is PartState.WORK)
    if worked:
        work.append(said("rework_first", parts=worked))
    if aims or unplanned:
        unsized = tuple(c.part.id for c in chosen_from.in_state(PartState.UNSIZED))
        if unsized:
            work.append(said("measure_before_work", parts=unsized))
    return work


def _strangers(chosen_from: Field, used: Sequence[str]) -> list[Said]:
    """Parts of a variant that the others are not of."""
    evidence = chosen_from.evidence
    engine, sheet = evidence.engine, evidence.sheet
    known = {name: variants_of(sheet, engine, engine.part(name)) for name in used}
    stated = {name: some for name, some in known.items() if some}
    every = sorted(frozenset[str]().union(*stated.values()))
    odd = [[name for name, some in stated.items() if v not in some] for v in every]
    fewest = min(odd, key=len, default=[])
    if not fewest:
        return []
    variant = every[odd.index(fewest)]
    named = tuple(
        said("part_of_variant", part=name, variants=tuple(sorted(stated[name]))) for name in fewest
    )
    return [said("mixed_variants", odd=named, variant=variant)]
