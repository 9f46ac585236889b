"""Who may run: every part that is not lost, and what stands between it and running.

Each part is in one state; a pair costs what its two parts and their fit cost. What is cheapest as a
whole is chosen, so that a part nobody needs, good or bad, measured or not, changes nothing.
"""

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import combinations

from barrelfit.rules.engine.features import skirt_at
from barrelfit.rules.engine.gate import seen_on
from barrelfit.rules.engine.parts import Part
from barrelfit.rules.judge.assigning import Pair
from barrelfit.rules.judge.barrel import HONED_AWAY, SCORED, worn_bore
from barrelfit.rules.judge.bore import bore_of
from barrelfit.rules.judge.evidence import Evidence
from barrelfit.rules.judge.matching import BORE_WORK, DOUBT, WAIT, WORK
from barrelfit.rules.judge.pairing import Fit, fits_of
from barrelfit.rules.judge.planned import with_honed_bores
from barrelfit.rules.judge.rework import Remedy, ReworkPlan, WornBore, remedy
from barrelfit.rules.model import Judgement, Severity, Verdict
from barrelfit.rules.uncertainty.decide import Zone


class PartState(StrEnum):
    """What stands between a part and running."""

    SOUND = "sound"
    DOUBTFUL = "doubtful"  # sized, but something about it is undecided
    WORK = "work"  # work that leaves its size as it is: a ring, a face
    HONE = "hone"  # a bore that honing brings back; planned with the bore aimed at
    REWORK = "rework"  # a bore whose size after its rework nobody can say: replated, scored
    UNSIZED = "unsized"  # or its sizes are such that no rework can be told from them
    OVERSIZE = "oversize"  # only boring to an oversize, of the whole set, saves it
    OUT = "out"


_COST = {
    PartState.SOUND: 0,
    PartState.DOUBTFUL: DOUBT,
    PartState.WORK: WORK,
    PartState.HONE: BORE_WORK,
    PartState.REWORK: BORE_WORK,
    PartState.UNSIZED: WAIT,
}
_SPARES_TRIED = 5
_ZONE_COST = {Zone.INSIDE: 0, Zone.UNDECIDED: DOUBT}
_RING_COST = {Zone.INSIDE: 0, Zone.UNDECIDED: DOUBT, Zone.OUTSIDE: WORK}


@dataclass(frozen=True, slots=True)
class Candidate:
    """A part with its state; `bore` and `remedy` of a barrel as far as they are known.

    `size_sure`: nothing that is undecided about a barrel bears on its bore or its kind.
    """

    part: Part
    state: PartState
    bore: WornBore | None = None
    remedy: Remedy | None = None
    size_sure: bool = True


@dataclass(frozen=True, slots=True)
class Field:
    """All candidates of a set, and every pair that might be made, with its cost.

    `evidence` has the honed bores at the size aimed at.
    """

    evidence: Evidence
    by_id: Mapping[str, Candidate]
    fits: Mapping[Pair, Fit]
    costs: Mapping[Pair, int]

    def state(self, part_id: str) -> PartState:
        """The state of a part."""
        return self.by_id[part_id].state

    def in_state(self, state: PartState) -> tuple[Candidate, ...]:
        """All candidates in a state, in the set's order."""
        return tuple(c for c in self.by_id.values() if c.state is state)

    @property
    def alone(self) -> dict[str, int]:
        """What each part costs by itself, by id."""
        return {name: _COST[c.state] for name, c in self.by_id.items() if c.state in _COST}

    def parts(self, kind: str) -> tuple[Part, ...]:
        """The parts of a kind that may run."""
        return tuple(
            c.part for c in self.by_id.values() if c.part.kind == kind and c.state in _COST
        )

    def without(self, names: Collection[str]) -> "Field":
        """The same field with some parts left out."""
        lost = {n: Candidate(self.by_id[n].part, PartState.OUT) for n in names}
        fits = {p: fit for p, fit in self.fits.items() if not lost.keys() & set(p)}
        costs = {p: cost for p, cost in self.costs.items() if not lost.keys() & set(p)}
        return Field(self.evidence, {**self.by_id, **lost}, fits, costs)

    def spares_to_leave_out(self) -> Iterator[tuple[str, ...]]:
        """Spares that might be left out together, the fewest first; of very many, one or all."""
        spares = [n for n, c in self.by_id.items() if c.part.spare and c.state is not PartState.OUT]
        for count in range(1, len(spares) + 1):
            if len(spares) <= _SPARES_TRIED or count in {1, len(spares)}:
                yield from combinations(spares, count)


def field_of(evidence: Evidence, judgements: Sequence[Judgement]) -> Field:
    """Put every piston and barrel into its state, and price every pair."""
    candidates = [_candidate(evidence, j) for j in judgements]
    by_id = {c.part.id: c for c in candidates if c.part.kind != "pin"}
    honed_nm = {
        c.part.id: c.remedy.to_nm
        for c in by_id.values()
        if c.state is PartState.HONE and c.remedy is not None and c.remedy.to_nm is not None
    }
    planned = with_honed_bores(evidence, honed_nm)
    empty = Field(planned, by_id, {}, {})
    pistons, barrels = empty.parts("piston"), empty.parts("barrel")
    fits = fits_of(planned, pistons, barrels)
    costs = {}
    for piston in pistons:
        for barrel in barrels:
            pair = piston.id, barrel.id
            cost = _pair_cost(by_id, pair, fits.get(pair))
            if cost is not None:
                costs[pair] = cost
    return Field(planned, by_id, fits, costs)


def _pair_cost(by_id: Mapping[str, Candidate], pair: Pair, fit: Fit | None) -> int | None:
    """What stands between a pair and running, None where its clearance is not allowed."""
    states = [by_id[name].state for name in pair]
    cost = sum(_COST[state] for state in states)
    if PartState.UNSIZED in states or PartState.REWORK in states:
        return cost
    if fit is None or fit.zone is Zone.OUTSIDE:
        return None
    return cost + _ZONE_COST[fit.zone] + _RING_COST[fit.ring_zone]


def _candidate(evidence: Evidence, judgement: Judgement) -> Candidate:
    part = evidence.engine.part(judgement.about)
    if _not_these_heads(evidence, part):
        return Candidate(part, PartState.OUT)
    if judgement.verdict is Verdict.DISCARD:
        return Candidate(part, PartState.OUT, remedy=_replaced(evidence, judgement))
    if part.kind == "barrel":
        return _barrel(evidence, part, judgement)
    if skirt_at(part.id) not in evidence.sizes:
        return Candidate(part, PartState.UNSIZED)
    return Candidate(part, _by_verdict(judgement))


def _replaced(evidence: Evidence, judgement: Judgement) -> Remedy | None:
    """That a barrel must be replaced, with the reason, where its bore is what no rework saves."""
    if all(f.code != "Q102" for f in judgement.findings):
        return None
    part = evidence.engine.part(judgement.about)
    bore = worn_bore(evidence, part, bore_of(evidence, part.id))
    return None if bore is None else remedy(bore, evidence.sheet.rework)


def _by_verdict(judgement: Judgement) -> PartState:
    if judgement.verdict is Verdict.REWORK:
        return PartState.WORK
    return PartState.DOUBTFUL if judgement.verdict is Verdict.UNDECIDED else PartState.SOUND


def _not_these_heads(evidence: Evidence, part: Part) -> bool:
    """Whether a barrel is known to be made for other heads than the engine's."""
    engine = evidence.engine
    known = part.kind == "barrel" and part.seal and engine.head_seal
    return bool(known) and engine.asks("head-seal") and part.seal != engine.head_seal


def _barrel(evidence: Evidence, part: Part, judgement: Judgement) -> Candidate:
    measured = bore_of(evidence, part.id)
    bore = worn_bore(evidence, part, measured)
    codes = {f.code for f in judgement.findings}
    reworked = {f.code for f in judgement.findings if f.severity is Severity.REWORK} & _BEYOND
    if not measured.sizes:
        return Candidate(part, PartState.UNSIZED, bore)
    if codes & {"Q101", "Q103", "Q105"} and bore is not None:
        chosen = remedy(bore, evidence.sheet.rework)
        return Candidate(part, _STATES.get(chosen.work, PartState.UNSIZED), bore, chosen)
    if "Q104" in codes and SCORED in seen_on(part) and not measured.missing:
        return Candidate(part, PartState.REWORK, bore)
    if reworked or "Q104" in codes or HONED_AWAY & set(seen_on(part)):
        return Candidate(part, PartState.UNSIZED, bore)
    undecided = {f.code for f in judgement.findings if f.severity is Severity.UNDECIDED}
    sure = undecided <= _APART_FROM_SIZE
    return Candidate(part, _by_verdict(judgement), bore, size_sure=sure)


# Looks, seal, height, and a bore so near a limit of wear or form that boring takes it away anyway.
_APART_FROM_SIZE = {"E101", "E103", "H102", "H104", "B101", "B103", "B104"}
_BEYOND = {"B101", "B103", "B104"}
_STATES = {
    ReworkPlan.HONE: PartState.HONE,
    ReworkPlan.OVERSIZE: PartState.OVERSIZE,
    ReworkPlan.REPLATE: PartState.REWORK,
    ReworkPlan.REPLACE: PartState.OUT,
}
