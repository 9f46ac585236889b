"""What is to be bought for a seat that lacks a part: only what surely fits, the best first.

A new piston is judged by the limits of the engine it goes into (signed overrides for the whole
engine, the variant's own least clearance, the sheet), never by the stamp of the piston it replaces.
The best is the one whose clearance comes nearest to that of a new pair of its group. Nothing is
chosen for a bore that is itself in doubt.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from barrelfit.rules.compare import Value, above, below
from barrelfit.rules.engine.limits import Limit, group_words
from barrelfit.rules.engine.origins import Origin, new_piston, origins, variants_of
from barrelfit.rules.engine.parts import Part
from barrelfit.rules.engine.sheet import Variant
from barrelfit.rules.judge.bore import bore_of
from barrelfit.rules.judge.evidence import Evidence
from barrelfit.rules.judge.seating import Seat
from barrelfit.rules.length import shown
from barrelfit.rules.model import Size
from barrelfit.rules.uncertainty.decide import Zone


@dataclass(frozen=True, slots=True)
class Offer:
    """A new piston of a size group for a bore, in words; `off_nm`: how far it is from new."""

    words: str
    off_nm: int
    piston_nm: int


def to_buy(evidence: Evidence, seats: Sequence[Seat], doubtful: Iterable[str]) -> list[str]:
    """What is to be bought for the seats that lack a part, in words.

    Args:
        evidence: the set.
        seats: all seats of the match.
        doubtful: parts about which something is undecided: nothing is chosen to go with them yet.
    """
    used = [evidence.engine.part(p) for s in seats for p in (s.piston, s.barrel) if p]
    doubts, wanted = frozenset(doubtful), []
    for seat in seats:
        if seat.barrel and not seat.piston:
            barrel = evidence.engine.part(seat.barrel)
            which = _which_piston(evidence, barrel, used, doubts)
            wanted.append(f"cylinder {seat.cylinder}: a piston for {seat.barrel}, {which}")
        elif seat.piston and not seat.barrel:
            which = _which_barrel(evidence, seat, used)
            wanted.append(f"cylinder {seat.cylinder}: a barrel for {seat.piston}{which}")
        elif not seat.piston:
            which = _which_barrel(evidence, seat, used)
            wanted.append(f"cylinder {seat.cylinder}: a piston and a barrel{which}")
    return wanted


def _which_piston(
    evidence: Evidence, barrel: Part, used: Sequence[Part], doubts: frozenset[str]
) -> str:
    if barrel.id in doubts:
        return f"to be chosen when {barrel.id} is decided"
    variants = common_variants(evidence, used)
    found = pistons_for(evidence, barrel, variants)
    mass = _mass_words(evidence, used)
    if not found:
        return "but no size of the sheet surely fits"
    if len(found) == 1:
        return f"{found[0].words}{mass}"
    return f"one of, best first: {'; '.join(o.words for o in found)}{mass}"


def _mass_words(evidence: Evidence, used: Sequence[Part]) -> str:
    masses = [p.mass_mg for p in used if p.kind == "piston" and p.mass_mg is not None]
    if not masses or not evidence.engine.asks("mass"):
        return ""
    spread_mg = evidence.sheet.piston.mass_spread_mg
    low_mg, high_mg = max(masses) - spread_mg, min(masses) + spread_mg
    return f"; of {grams(low_mg)} to {grams(high_mg)}"


def _which_barrel(evidence: Evidence, seat: Seat, used: Sequence[Part]) -> str:
    """Kind and height group that a barrel must have to go with the others, in words."""
    barrels = [p for p in used if p.kind == "barrel"]
    kinds = sorted({b.barrel_kind for b in barrels if b.barrel_kind})
    words = [f"kind {kinds[0]}"] if len(kinds) == 1 else []
    if seat.height_group:
        words.append(f"height group {seat.height_group}")
    return f", of {' and '.join(words)}" if words else ""


def common_variants(evidence: Evidence, parts: Iterable[Part]) -> tuple[Variant, ...]:
    """The variants that all parts may belong to: the engine's own where it is one of them.

    Where the parts agree on none, the engine's own too: no part of another variant is bought.
    """
    sheet, engine = evidence.sheet, evidence.engine
    own = tuple(v for v in sheet.variants if v.id == engine.variant)
    known = [some for p in parts if (some := variants_of(sheet, engine, p))]
    common = frozenset[str].intersection(*known) if known else frozenset()
    if not common or engine.variant in common:
        return own
    return tuple(v for v in sheet.variants if v.id in common)


def pistons_for(evidence: Evidence, barrel: Part, variants: Iterable[Variant]) -> tuple[Offer, ...]:
    """New pistons that surely have an allowed clearance in a barrel, the best first."""
    bore = bore_of(evidence, barrel.id)
    if bore.smallest is None or bore.largest is None or bore.missing:
        return ()
    sizes = bore.smallest, bore.largest
    groups = [
        Origin(variant, group, oversize_nm)
        for variant in variants
        for group in variant.groups
        for oversize_nm in _oversizes(evidence, barrel)
    ]
    offers = [offer for o in groups if (offer := _offer(evidence, sizes, o)) is not None]
    return tuple(sorted(offers, key=lambda o: (o.off_nm, -o.piston_nm)))


def _oversizes(evidence: Evidence, barrel: Part) -> tuple[int, ...]:
    found = {o.oversize_nm for o in origins(evidence.sheet, evidence.engine, barrel)}
    return tuple(sorted(found)) or (evidence.engine.oversize_nm,)


def _offer(evidence: Evidence, sizes: tuple[Size, Size], origin: Origin) -> Offer | None:
    smallest, largest = sizes
    piston_nm = origin.group.piston_nm + origin.oversize_nm
    low_nm, high_nm = new_piston(evidence.sheet, evidence.engine, origin.variant.id)
    tight = _less(evidence, smallest, piston_nm)
    loose = _less(evidence, largest, piston_nm)
    limit = Limit(low_nm, high_nm)
    if below(tight, limit) is not Zone.INSIDE or above(loose, limit) is not Zone.INSIDE:
        return None
    new_nm = origin.group.bore_nm - origin.group.piston_nm
    words = (
        f"{group_words(origin.variant, origin.group, origin.oversize_nm)} ({shown(piston_nm)}), "
        f"clearance {shown(tight.nm)} to {shown(loose.nm)}"
    )
    return Offer(words, abs(tight.nm - new_nm), piston_nm)


def _less(evidence: Evidence, bore: Size, piston_nm: int) -> Value:
    """Clearance of a new piston; its own size is taken as its group's."""
    return Value.of_budget(bore.size_nm - piston_nm, bore.budget, evidence.guard_factor)


def grams(mass_mg: int) -> str:
    """Write a mass in grams: `512.4 g`."""
    text = f"{mass_mg // 1000}.{mass_mg % 1000:03d}".rstrip("0").rstrip(".")
    return f"{text} g"
