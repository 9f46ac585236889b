"""The rework of a whole set: only what is needed, and one oversize where the bores need one.

A worn barrel that nobody needs is named and left alone. Boring takes the whole set to one oversize,
with new pistons; it is planned only where the barrels that can run otherwise do not suffice, and
more of them can run then.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

from barrelfit.rules.engine.sheet import ReworkLimits
from barrelfit.rules.judge.candidates import Candidate, Field, PartState
from barrelfit.rules.judge.evidence import Evidence
from barrelfit.rules.judge.matching import heights_suffice
from barrelfit.rules.judge.pairing import task_of
from barrelfit.rules.judge.rework import (
    Remedy,
    ReworkPlan,
    WornBore,
    may_clean_up,
    may_go_to,
    to_oversize,
)
from barrelfit.rules.said import Said, length, said

_BORABLE = {PartState.SOUND, PartState.DOUBTFUL, PartState.WORK, PartState.HONE, PartState.OVERSIZE}


@dataclass(frozen=True, slots=True)
class SetRework:
    """The rework of all barrels of a set together.

    `oversize_nm` is the one oversize that the whole set goes to, None when no barrel needs one.
    """

    remedies: tuple[Remedy, ...]
    oversize_nm: int | None
    sentences: tuple[Said, ...]


def rework_of(field: Field, used: Sequence[str]) -> SetRework:
    """The rework of the barrels that are used, each for itself; what nobody needs is named.

    Args:
        field: the set's candidates.
        used: ids of the parts that are to run; a barrel that can't be saved is to be replaced where
            the others are too few.
    """
    known = [c for c in field.by_id.values() if c.remedy is not None]
    barrels = {c.part.id for c in field.by_id.values() if c.part.kind == "barrel"}
    short = len(barrels & set(used)) < field.evidence.sheet.cylinders
    needed = [c for c in known if c.part.id in used or (short and c.state is PartState.OUT)]
    idle = [c for c in known if c not in needed]
    remedies = tuple(c.remedy for c in needed if c.remedy is not None)
    sentences = [_of(r) for r in remedies]
    sentences += [_left_alone(c, c.remedy, short=short) for c in idle if c.remedy is not None]
    return SetRework(remedies, None, tuple(sentences))


def _left_alone(candidate: Candidate, own: Remedy, *, short: bool) -> Said:
    """Why a barrel's own rework is not planned."""
    why = said("not_needed", else_=own.sentence)
    if short and candidate.state is PartState.OVERSIZE:
        why = said("too_few_for_oversize")
    return said("of_place", at=candidate.part.id, what=why)


def _of(one: Remedy) -> Said:
    return said("of_place", at=one.part, what=one.sentence)


# ---------------------------------------------------------------- one oversize for the set


def oversize_rework(field: Field, runs: int) -> SetRework | None:
    """One oversize for the set, None where more barrels run without it.

    Args:
        field: the set's candidates.
        runs: how many barrels can run as they are or honed.
    """
    evidence = field.evidence
    rework, cylinders = evidence.sheet.rework, evidence.sheet.cylinders
    iron = [c for c in field.by_id.values() if _can_be_bored(c)]
    if not any(c.state is PartState.OVERSIZE for c in iron):
        return None
    plans = [(o, _chosen(evidence, iron, o)) for o in rework.oversizes_nm]
    oversize_nm, chosen = max(plans, key=lambda plan: (len(plan[1]), -plan[0]), default=(0, ()))
    if len(chosen) <= min(runs, cylinders - 1):
        return None
    if len(chosen) < cylinders and _may_be_more(field):
        return None
    remedies = [_at_oversize(c.bore, rework, oversize_nm) for c in chosen if c.bore is not None]
    others = [c for c in iron if c not in chosen and c.state is PartState.OVERSIZE]
    if len(chosen) < cylinders:
        remedies += [_replaced(c.bore, rework, oversize_nm) for c in others if c.bore is not None]
    remedies += [c.remedy for c in field.in_state(PartState.OUT) if c.remedy is not None]
    head = said("one_oversize", oversize=length(oversize_nm))
    sentences = [head, *(_of(r) for r in remedies)]
    doubtful = tuple(c.part.id for c in chosen if c.state is PartState.DOUBTFUL)
    if doubtful:
        sentences.append(said("settle_first", parts=doubtful))
    if len(chosen) < cylinders:
        short = cylinders - len(chosen)
        more = said("barrels_of_that_size", count=short)
        sentences.append(more if short > 1 else said("one_barrel_of_that_size"))
    return SetRework(tuple(remedies), oversize_nm, tuple(sentences))


def _may_be_more(field: Field) -> bool:
    """Whether a barrel of the engine is not known well enough to say what becomes of it.

    A spare that nobody has measured is no reason to wait.
    """
    unsized = field.in_state(PartState.UNSIZED)
    return any(c.part.kind == "barrel" and not c.part.spare for c in unsized)


def common_oversize(field: Field) -> int | None:
    """The smallest oversize to which enough barrels for the whole engine can go, None: none."""
    evidence = field.evidence
    iron = [c for c in field.by_id.values() if _can_be_bored(c)]
    for oversize_nm in evidence.sheet.rework.oversizes_nm:
        if len(_chosen(evidence, iron, oversize_nm)) == evidence.sheet.cylinders:
            return oversize_nm
    return None


def _can_be_bored(candidate: Candidate) -> bool:
    bore = candidate.bore
    if bore is None or bore.kind.plated or not bore.whole or not candidate.size_sure:
        return False
    return candidate.state in _BORABLE


def _fits(candidate: Candidate, rework: ReworkLimits, oversize_nm: int) -> bool:
    """Whether boring may take a barrel to an oversize, or it is there already and sound."""
    bore = candidate.bore
    if bore is None:
        return False
    if oversize_nm == bore.oversize_now_nm:
        return candidate.state in {PartState.SOUND, PartState.WORK}
    return may_go_to(bore, rework, oversize_nm)


def _chosen(
    evidence: Evidence, iron: Sequence[Candidate], oversize_nm: int
) -> tuple[Candidate, ...]:
    """The most barrels that can go to an oversize together, the engine's own before spares.

    Of one kind, and of heights with which each bank has one group.
    """
    fitting = [c for c in iron if _fits(c, evidence.sheet.rework, oversize_nm)]
    fitting.sort(key=lambda c: c.part.spare)
    kinds = list(dict.fromkeys(c.part.barrel_kind for c in fitting))
    for count in range(min(evidence.sheet.cylinders, len(fitting)), 0, -1):
        for kind in kinds:
            alike = [c for c in fitting if c.part.barrel_kind == kind]
            for some in combinations(alike, count):
                if heights_suffice(task_of(evidence, (), [c.part for c in some], {})):
                    return some
    return ()


def _at_oversize(bore: WornBore, rework: ReworkLimits, oversize_nm: int) -> Remedy:
    if oversize_nm != bore.oversize_now_nm:
        return to_oversize(bore, rework, oversize_nm)
    sentence = said("stays_at_oversize", oversize=length(oversize_nm))
    to_nm = bore.standard_nm + oversize_nm
    return Remedy(bore.part, ReworkPlan.OVERSIZE, sentence, to_nm, oversize_nm)


def _replaced(bore: WornBore, rework: ReworkLimits, oversize_nm: int) -> Remedy:
    cleaned = may_clean_up(bore, rework, oversize_nm)
    oversize = length(oversize_nm)
    sentence = said("replace_not_cleaned", oversize=oversize)
    if cleaned:
        sentence = said("replace_too_thin", oversize=oversize)
    return Remedy(bore.part, ReworkPlan.REPLACE, sentence)
