"""Judges a whole set: every part, the rework of all barrels together, and the pairing."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from enum import StrEnum

from barrelfit.rules.engine.parts import Part
from barrelfit.rules.judge.barrel import worn_bore
from barrelfit.rules.judge.bore import bore_of
from barrelfit.rules.judge.evidence import Evidence
from barrelfit.rules.judge.matching import Pair, best_match
from barrelfit.rules.judge.mending import Trouble, pistons_for, trouble_of
from barrelfit.rules.judge.pair import judge_pair
from barrelfit.rules.judge.pairing import Fit, fits_of, task_of
from barrelfit.rules.judge.part import judge_part
from barrelfit.rules.judge.plan import PlannedFeature
from barrelfit.rules.judge.planned import with_honed_bores
from barrelfit.rules.judge.remaining import still_to_measure
from barrelfit.rules.judge.rework import SetRework, Work, WornBore, set_rework
from barrelfit.rules.judge.seating import Seat, seats_of
from barrelfit.rules.length import shown
from barrelfit.rules.model import Judgement, Verdict
from barrelfit.rules.uncertainty.decide import Zone

_BARS_PAIRING = {
    "H101",
    "H102",
    "Q101",
    "Q102",
    "Q103",
}  # not these heads' barrel; a bore that will change


class Outcome(StrEnum):
    """What came of the pairing."""

    MATCHED = "matched"  # every cylinder has its pair
    PROVISIONAL = "provisional"  # pairs too near a limit to tell, or parts still to be bought
    IMPOSSIBLE = "impossible"  # no assignment keeps every limit
    WAITING = "waiting"  # sizes are missing
    AFTER_REWORK = "after rework"  # bores will change; seats, if any, are a plan


@dataclass(frozen=True, slots=True)
class Pairing:
    """The pairing of a set: its outcome, the seats, the spread of the smallest clearances in nm."""

    outcome: Outcome
    seats: tuple[Seat, ...] = ()
    spread_nm: int | None = None
    sentences: tuple[str, ...] = ()
    trouble: Trouble | None = None


@dataclass(frozen=True, slots=True)
class SetJudgement:
    """Everything there is to say about a set."""

    parts: tuple[Judgement, ...]
    pairs: tuple[Judgement, ...]
    pairing: Pairing
    rework: SetRework
    to_measure: tuple[PlannedFeature, ...]
    notes: tuple[str, ...] = field(default=())

    def count(self, verdict: Verdict) -> int:
        """How many parts have a verdict."""
        return sum(j.verdict is verdict for j in self.parts)


def judge_set(evidence: Evidence) -> SetJudgement:
    """Judge every part, plan the rework, and pair what can be paired."""
    parts = tuple(judge_part(evidence, p.id) for p in evidence.engine.parts)
    rework = _rework(evidence, parts)
    pairing = _pairing(evidence, parts, rework)
    planned = pairing.outcome is Outcome.AFTER_REWORK
    seats = [s for s in pairing.seats if s.piston and s.barrel and not planned]
    pairs = tuple(judge_pair(evidence, s.piston, s.barrel) for s in seats)
    left_out = tuple(f"not asked for in this job: {t}" for t in evidence.engine.left_out)
    return SetJudgement(parts, pairs, pairing, rework, still_to_measure(evidence), left_out)


# ---------------------------------------------------------------- rework of all barrels


def _rework(evidence: Evidence, parts: Sequence[Judgement]) -> SetRework:
    worn: list[WornBore] = []
    sound: list[WornBore] = []
    for judgement in parts:
        part = evidence.engine.part(judgement.about)
        bore = worn_bore(evidence, part, bore_of(evidence, part.id))
        if part.kind != "barrel" or bore is None:
            continue
        codes = {f.code for f in judgement.findings}
        if codes & {"Q101", "Q102", "Q103"}:
            worn.append(bore)
        elif judgement.verdict is not Verdict.DISCARD:
            sound.append(bore)
    return set_rework(worn, sound, evidence.sheet.rework)


# ---------------------------------------------------------------- pairing


def _pairing(evidence: Evidence, parts: Sequence[Judgement], rework: SetRework) -> Pairing:
    if rework.oversize_nm is not None:
        return Pairing(Outcome.AFTER_REWORK, sentences=(rework.sentences[0],))
    replated = [r.part for r in rework.remedies if r.work is Work.REPLATE]
    if replated:
        sentence = f"pair when {', '.join(replated)} has been reworked and measured again"
        return Pairing(Outcome.AFTER_REWORK, sentences=(sentence,))
    honed_nm = {r.part: r.to_nm for r in rework.remedies if r.to_nm is not None}
    runs = [j for j in parts if _may_run(j) or j.about in honed_nm]
    pairing = _paired(with_honed_bores(evidence, honed_nm), runs)
    return _planned(pairing, honed_nm) if honed_nm else pairing


def _planned(pairing: Pairing, honed_nm: Mapping[str, int]) -> Pairing:
    """A pairing that counts on honing is a plan until the bores are measured again."""
    aims = ", ".join(f"{barrel} honed to {shown(to_nm)}" for barrel, to_nm in honed_nm.items())
    what = "no pairing even" if pairing.outcome is Outcome.IMPOSSIBLE else "planned"
    sentence = f"{what} with {aims}; measure again after honing"
    sentences = (sentence, *pairing.sentences)
    return replace(pairing, outcome=Outcome.AFTER_REWORK, sentences=sentences)


def _paired(evidence: Evidence, runs: Sequence[Judgement]) -> Pairing:
    """Pair the parts that may run, or say whose sizes are missing."""
    fit_parts = [evidence.engine.part(j.about) for j in runs]
    pistons = [p for p in fit_parts if p.kind == "piston"]
    barrels = [p for p in fit_parts if p.kind == "barrel"]
    fits = fits_of(evidence, pistons, barrels)
    sized = {name for pair in fits for name in pair}
    unsized = [p.id for p in (*pistons, *barrels) if p.id not in sized]
    if unsized and pistons and barrels:
        sentence = f"pair when {', '.join(unsized)} has its sizes"
        return Pairing(Outcome.WAITING, sentences=(sentence,))
    doubted = [j.about for j in runs if j.verdict is Verdict.UNDECIDED]
    return _doubted(_matched(evidence, pistons, barrels, fits), doubted)


def _doubted(pairing: Pairing, doubted: Sequence[str]) -> Pairing:
    """A match of parts that are themselves undecided is provisional."""
    if pairing.outcome is not Outcome.MATCHED or not doubted:
        return pairing
    sentences = (*pairing.sentences, f"undecided: {', '.join(doubted)}")
    return replace(pairing, outcome=Outcome.PROVISIONAL, sentences=sentences)


def _may_run(judgement: Judgement) -> bool:
    barred = any(f.code in _BARS_PAIRING for f in judgement.findings)
    return judgement.verdict is not Verdict.DISCARD and not barred


def _matched(
    evidence: Evidence, pistons: Sequence[Part], barrels: Sequence[Part], fits: dict[Pair, Fit]
) -> Pairing:
    sure = {p: f.tight.nm for p, f in fits.items() if f.zone is Zone.INSIDE}
    task = task_of(evidence, pistons, barrels, sure)
    found, outcome = best_match(task), Outcome.MATCHED
    if found is None:
        likely = {p: f.tight.nm for p, f in fits.items() if f.zone is not Zone.OUTSIDE}
        found = best_match(task_of(evidence, pistons, barrels, likely))
        outcome = Outcome.PROVISIONAL
    if found is None:
        trouble = trouble_of(evidence, task, fits)
        return Pairing(Outcome.IMPOSSIBLE, sentences=trouble.broken, trouble=trouble)
    seats = seats_of(evidence, (pistons, barrels), found, fits)
    sentences = [fits[p].words for p in found.pairs if fits[p].zone is Zone.UNDECIDED]
    short = len(found.pairs) < evidence.sheet.cylinders
    if short:
        sentences += _to_buy(evidence, seats)
        outcome = Outcome.PROVISIONAL
    return Pairing(outcome, seats, found.spread_nm, tuple(sentences))


def _to_buy(evidence: Evidence, seats: Sequence[Seat]) -> list[str]:
    """What is to be bought for the seats that lack a part, in words."""
    wanted = []
    for seat in seats:
        if seat.barrel and not seat.piston:
            bores_nm = [s.size_nm for s in bore_of(evidence, seat.barrel).sizes]
            groups = pistons_for(evidence.sheet, min(bores_nm), max(bores_nm))
            choice = f"one of: {'; '.join(groups)}" if groups else "but no size of the sheet fits"
            wanted.append(f"cylinder {seat.cylinder}: a piston for {seat.barrel}, {choice}")
        elif seat.piston and not seat.barrel:
            wanted.append(f"cylinder {seat.cylinder}: a barrel for {seat.piston}")
        elif not seat.piston:
            wanted.append(f"cylinder {seat.cylinder}: a piston and a barrel")
    return wanted
