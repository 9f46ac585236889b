"""What leaves tried in a ring's groove say, and of what: a groove and its ring are two parts.

A groove is tried with a new ring, as the trade does and as is asked. What a used ring leaves open
may be its own wear: then a new one is tried before the piston goes.
"""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import permutations

from barrelfit.rules.checks import rings
from barrelfit.rules.compare import Found, below
from barrelfit.rules.engine.features import ring_at
from barrelfit.rules.engine.limits import Limit
from barrelfit.rules.engine.parts import Feeler, Part
from barrelfit.rules.engine.tables.rings import RingLimits
from barrelfit.rules.judge.evidence import Evidence
from barrelfit.rules.uncertainty.decide import Zone

_WIDEST = {"new": 0, "": 1, "used": 2}  # the ring that fills its groove most comes first


def leaves_tried(evidence: Evidence, piston: Part, ring: RingLimits) -> list[Feeler]:
    """The leaves tried in a ring's groove: put down in the set, or typed in at the bench."""
    return [*(f for f in piston.feelers if f.ring == ring.id), *_typed(evidence, piston, ring)]


def beside_known_ring(
    evidence: Evidence, piston: Part, ring: RingLimits, tried: Sequence[Feeler]
) -> list[Feeler]:
    """The leaves, with the ring they lay beside told by its width where that was measured.

    A ring thinner than a new one is a used one, unless it is said that a new one was tried.
    """
    width = evidence.value(ring_at(piston.id, "ring", ring.id))
    if width is None or below(width, Limit(lower_nm=ring.width_nm)) is not Zone.OUTSIDE:
        return list(tried)
    return [f if f.beside else replace(f, beside="used") for f in tried]


def contradicting(tried: Sequence[Feeler]) -> tuple[int, int]:
    """A thinner leaf that stayed out and a thicker one that went in there, in nm; 0, 0 when none.

    A leaf that goes in beside a used ring may stay out beside a new one; not the other way round.
    Leaves need not have been tried in the same places: it is a contradiction when the thinner one
    stayed out everywhere, the thicker one went in everywhere, or, of as many places, in more. One
    leaf that stayed out everywhere and went in contradicts itself.
    """
    for thin, thick in permutations((f for f in tried if f.went_in), 2):
        wider = _WIDEST[thin.beside] < _WIDEST[thick.beside]
        if thin.leaf_nm > thick.leaf_nm or wider:
            continue
        went, went_thick = sum(thin.went_in), sum(thick.went_in)
        nowhere = not went and went_thick
        if thin.leaf_nm == thick.leaf_nm and not nowhere:
            continue
        everywhere = all(thick.went_in) and not all(thin.went_in)
        more = len(thin.went_in) == len(thick.went_in) and went_thick > went
        if nowhere or everywhere or more:
            return thin.leaf_nm, thick.leaf_nm
    return 0, 0


def leaf_founds(
    feelers: Sequence[Feeler], ring: RingLimits, limit: Limit
) -> Iterator[Found | None]:
    """What each leaf says of the groove, or of the ring that lay in it."""
    for feeler in feelers:
        went_in = sum(feeler.went_in)
        stayed_out = len(feeler.went_in) - went_in
        tried = ring.id, feeler.leaf_nm, limit, went_in
        if feeler.beside == "used":
            yield rings.side_feeler_beside_used(*tried)
        else:
            yield rings.side_feeler_goes_in(*tried, said_new=feeler.beside == "new")
        yield rings.side_feeler_stays_out(ring.id, feeler.leaf_nm, limit, stayed_out)


def places_at_most(feelers: Sequence[Feeler], ring: RingLimits) -> int:
    """Places in which the largest clearance was tried; a thinner leaf that stays out counts."""
    shows = [
        len(f.went_in)
        for f in feelers
        if f.leaf_nm == ring.side_max_nm
        or (f.leaf_nm > ring.side_max_nm and any(f.went_in))
        or (f.leaf_nm < ring.side_max_nm and not any(f.went_in))
    ]
    return max(shows, default=0)


def tried_least(feelers: Sequence[Feeler], ring: RingLimits) -> bool:
    """Whether the smallest clearance was tried; a thicker leaf that goes in everywhere shows it."""
    least_nm = ring.side_min_nm
    return any(
        f.leaf_nm == least_nm
        or (f.leaf_nm > least_nm and all(f.went_in))
        or (f.leaf_nm < least_nm and not all(f.went_in))
        for f in feelers
        if f.went_in
    )


def _typed(evidence: Evidence, piston: Part, ring: RingLimits) -> list[Feeler]:
    """Leaves typed in: the thickest that goes in anywhere, and the one that goes in all round.

    Whoever types the first has tried the leaf of the largest side clearance, as was asked.
    """
    places = rings.PLACES_LEAST
    found: list[Feeler] = []
    anywhere = evidence.sizes.get(ring_at(piston.id, "side", ring.id))
    if anywhere is not None and anywhere.size_nm >= ring.side_max_nm:
        found.append(Feeler(ring.id, anywhere.size_nm, (True,) * places))
    elif anywhere is not None:
        if anywhere.size_nm > ring.side_min_nm:  # held against the leaf that goes in all round
            found.append(Feeler(ring.id, anywhere.size_nm, (True, *(False,) * (places - 1))))
        found.append(Feeler(ring.id, ring.side_max_nm, (False,) * places))
    all_round = evidence.sizes.get(ring_at(piston.id, "side-all", ring.id))
    if all_round is not None:
        found.append(Feeler(ring.id, all_round.size_nm, (True,) * places))
    return found
