"""What is to be bought for a seat that lacks a part: only what surely fits, the best first.

A new piston is judged by the limits of the engine it goes into (signed overrides for the whole
engine, the variant's own least clearance, the sheet), never by the stamp of the piston it replaces.
The best is the one whose clearance comes nearest to that of a new pair of its group. Nothing is
chosen for a bore that is itself in doubt.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from barrelfit.rules.compare import Value, above, below
from barrelfit.rules.engine.features import skirt_at
from barrelfit.rules.engine.limits import Limit, clearance_limit, group_words
from barrelfit.rules.engine.origins import Origin, new_piston, origins, variants_of
from barrelfit.rules.engine.parts import Part
from barrelfit.rules.engine.sheet import Variant
from barrelfit.rules.judge.bore import bore_of
from barrelfit.rules.judge.evidence import Evidence
from barrelfit.rules.judge.rings import gaps_in_bore
from barrelfit.rules.judge.seating import Seat
from barrelfit.rules.length import shown
from barrelfit.rules.model import FeatureId, Size
from barrelfit.rules.uncertainty.budget import Budget
from barrelfit.rules.uncertainty.decide import Zone


@dataclass(frozen=True, slots=True)
class Offer:
    """A new part of a size group, in words.

    `size_nm` is its own size; `off_nm` is how far the clearance would be from a new pair's.
    """

    words: str
    off_nm: int
    size_nm: int


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
            alike = _alike(seat, used)
            which = _which_barrel(evidence, evidence.engine.part(seat.piston), used, doubts)
            wanted.append(f"cylinder {seat.cylinder}: a barrel for {seat.piston}{alike}, {which}")
        elif not seat.piston:
            both = f"a piston and a barrel{_alike(seat, used)}{_of_one_size(evidence, used)}"
            wanted.append(f"cylinder {seat.cylinder}: {both}{_mass_words(evidence, used)}")
    return wanted


def pins_to_buy(evidence: Evidence, seats: Iterable[Seat]) -> list[str]:
    """What is to be bought for seats whose piston runs and whose pin is lost, in words."""
    wanted = []
    for seat in seats:
        mark = evidence.engine.part(seat.piston).marks.pin_class
        alike = f" of class {mark}" if mark else ""
        wanted.append(f"cylinder {seat.cylinder}: a pin{alike} for {seat.piston}")
    return wanted


def _which_piston(
    evidence: Evidence, barrel: Part, used: Sequence[Part], doubts: frozenset[str]
) -> str:
    if barrel.id in doubts:
        return f"to be chosen when {barrel.id} is decided"
    found = pistons_for(evidence, barrel, common_variants(evidence, used))
    return f"{_choice(found)}{_mass_words(evidence, used) if found else ''}"


def _which_barrel(
    evidence: Evidence, piston: Part, used: Sequence[Part], doubts: frozenset[str]
) -> str:
    if piston.id in doubts:
        return f"to be chosen when {piston.id} is decided"
    return _choice(barrels_for(evidence, piston, common_variants(evidence, used)))


def _choice(found: Sequence[Offer]) -> str:
    if not found:
        return "but no size of the sheet surely fits"
    several = "one of, best first: " if len(found) > 1 else ""
    return several + "; ".join(offer.words for offer in found)


def _mass_words(evidence: Evidence, used: Sequence[Part]) -> str:
    masses = [p.mass_mg for p in used if p.kind == "piston" and p.mass_mg is not None]
    if not masses or not evidence.engine.asks("mass"):
        return ""
    spread_mg = evidence.sheet.piston.mass_spread_mg
    low_mg, high_mg = max(masses) - spread_mg, min(masses) + spread_mg
    return f"; of {grams(low_mg)} to {grams(high_mg)}"


def _alike(seat: Seat, used: Sequence[Part]) -> str:
    """Kind and height group that a barrel must have to go with the others, in words."""
    barrels = [p for p in used if p.kind == "barrel"]
    kinds = sorted({b.barrel_kind for b in barrels if b.barrel_kind})
    words = [f"kind {kinds[0]}"] if len(kinds) == 1 else []
    if seat.height_group:
        words.append(f"height group {seat.height_group}")
    return f", of {' and '.join(words)}" if words else ""


def _of_one_size(evidence: Evidence, used: Sequence[Part]) -> str:
    """Variant and oversize of a new pair, in words: those of the parts that it is to go with."""
    sheet, engine = evidence.sheet, evidence.engine
    variants = common_variants(evidence, used)
    some = [{o.oversize_nm for o in origins(sheet, engine, p)} for p in used]
    known = [over_nm for over_nm in some if over_nm]
    over_nm = sorted(set[int].intersection(*known)) if known else [engine.oversize_nm]
    words = f"; of variant {' or '.join(v.id for v in variants)}" if sheet.variants[1:] else ""
    return f"{words}; of oversize {shown(over_nm[0])}" if over_nm and over_nm[0] else words


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
    every = _origins(evidence, barrel, variants)
    offers = [offer for o in every if (offer := _piston(evidence, sizes, o)) is not None]
    return tuple(sorted(offers, key=lambda o: (o.off_nm, -o.size_nm)))


def barrels_for(evidence: Evidence, piston: Part, variants: Iterable[Variant]) -> tuple[Offer, ...]:
    """New barrels in which a piston surely has an allowed clearance, the best first."""
    skirt = evidence.sizes.get(skirt_at(piston.id))
    if skirt is None:
        return ()
    limit = clearance_limit(evidence.sheet, evidence.engine, piston)
    offers: dict[int, Offer] = {}
    for origin in _origins(evidence, piston, variants):
        bore_nm = origin.group.bore_nm + origin.oversize_nm
        value = Value.of_budget(bore_nm - skirt.size_nm, skirt.budget, evidence.guard_factor)
        if below(value, limit) is Zone.INSIDE and above(value, limit) is Zone.INSIDE:
            words = f"{_named(origin)} ({shown(bore_nm)}), clearance {shown(value.nm)}"
            words += _gaps_there(evidence, piston, bore_nm)
            new_nm = origin.group.bore_nm - origin.group.piston_nm
            offers.setdefault(bore_nm, Offer(words, abs(value.nm - new_nm), bore_nm))
    return tuple(sorted(offers.values(), key=lambda o: (o.off_nm, o.size_nm)))


def _gaps_there(evidence: Evidence, piston: Part, bore_nm: int) -> str:
    """What a new bore does to the piston's rings, where a gap would not be right, in words."""
    if not evidence.engine.asks("rings"):
        return ""
    at = FeatureId("", "bore")
    bore = Size(at, bore_nm, bore_nm, Budget(()), "new")
    gaps = gaps_in_bore(evidence, piston, bore, bore)
    return "".join(f" ({f.sentence}: {f.advice})" for gap in gaps for f in gap.founds)


def _origins(evidence: Evidence, part: Part, variants: Iterable[Variant]) -> list[Origin]:
    """Every size group of some variants at the oversize of a part."""
    found = {o.oversize_nm for o in origins(evidence.sheet, evidence.engine, part)}
    over_nm = sorted(found) or [evidence.engine.oversize_nm]
    return [Origin(v, g, nm) for v in variants for g in v.groups for nm in over_nm]


def _named(origin: Origin) -> str:
    return group_words(origin.variant, origin.group, origin.oversize_nm)


def _piston(evidence: Evidence, sizes: tuple[Size, Size], origin: Origin) -> Offer | None:
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
        f"{_named(origin)} ({shown(piston_nm)}), clearance {shown(tight.nm)} to {shown(loose.nm)}"
    )
    return Offer(words, abs(tight.nm - new_nm), piston_nm)


def _less(evidence: Evidence, bore: Size, piston_nm: int) -> Value:
    """Clearance of a new piston; its own size is taken as its group's."""
    return Value.of_budget(bore.size_nm - piston_nm, bore.budget, evidence.guard_factor)


def grams(mass_mg: int) -> str:
    """Write a mass in grams: `512.4 g`."""
    text = f"{mass_mg // 1000}.{mass_mg % 1000:03d}".rstrip("0").rstrip(".")
    return f"{text} g"
