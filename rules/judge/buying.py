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
from barrelfit.rules.engine.limits import Limit, clearance_limit, group_said
from barrelfit.rules.engine.origins import Origin, new_piston, origins, variants_of
from barrelfit.rules.engine.parts import Part
from barrelfit.rules.engine.sheet import Variant
from barrelfit.rules.judge.bore import bore_of
from barrelfit.rules.judge.evidence import Evidence
from barrelfit.rules.judge.rings import gaps_in_bore
from barrelfit.rules.judge.seating import Seat
from barrelfit.rules.model import FeatureId, Size
from barrelfit.rules.said import NOTHING, Said, length, mass, said
from barrelfit.rules.uncertainty.budget import Budget
from barrelfit.rules.uncertainty.decide import Zone


@dataclass(frozen=True, slots=True)
class Offer:
    """A new part of a size group: what is said of it.

    `size_nm` is its own size; `off_nm` is how far the clearance would be from a new pair's.
    """

    said: Said
    off_nm: int
    size_nm: int


def to_buy(evidence: Evidence, seats: Sequence[Seat], doubtful: Iterable[str]) -> list[Said]:
    """What is to be bought for the seats that lack a part.

    Args:
        evidence: the set.
        seats: all seats of the match.
        doubtful: parts about which something is undecided: nothing is chosen to go with them yet.
    """
    used = [evidence.engine.part(p) for s in seats for p in (s.piston, s.barrel) if p]
    doubts = frozenset(doubtful)
    wanted: list[Said] = []
    for seat in seats:
        cylinder = seat.cylinder
        if seat.barrel and not seat.piston:
            barrel = evidence.engine.part(seat.barrel)
            which = _which_piston(evidence, barrel, used, doubts)
            told = said("buy_piston", cylinder=cylinder, barrel=seat.barrel, which=which)
            wanted.append(told)
        elif seat.piston and not seat.barrel:
            alike = _alike(seat, used)
            which = _which_barrel(evidence, evidence.engine.part(seat.piston), used, doubts)
            terms = seat.piston, alike, which
            wanted.append(_barrel_wanted(cylinder, *terms))
        elif not seat.piston:
            alike, size = _alike(seat, used), _of_one_size(evidence, used)
            masses = _masses(evidence, used)
            wanted.append(
                said("buy_both", cylinder=cylinder, alike=alike, size=size, masses=masses)
            )
    return wanted


def _barrel_wanted(cylinder: int, piston: str, alike: Said, which: Said) -> Said:
    return said("buy_barrel", cylinder=cylinder, piston=piston, alike=alike, which=which)


def pins_to_buy(evidence: Evidence, seats: Iterable[Seat]) -> list[Said]:
    """What is to be bought for seats whose piston runs and whose pin is lost."""
    wanted = []
    for seat in seats:
        mark = evidence.engine.part(seat.piston).marks.pin_class
        alike = said("of_class", mark=mark) if mark else NOTHING
        told = said("buy_pin", cylinder=seat.cylinder, alike=alike, piston=seat.piston)
        wanted.append(told)
    return wanted


def _which_piston(
    evidence: Evidence, barrel: Part, used: Sequence[Part], doubts: frozenset[str]
) -> Said:
    if barrel.id in doubts:
        return said("chosen_when_decided", part=barrel.id)
    found = pistons_for(evidence, barrel, common_variants(evidence, used))
    masses = _masses(evidence, used) if found else NOTHING
    return said("choice_of_mass", choice=_choice(found), masses=masses)


def _which_barrel(
    evidence: Evidence, piston: Part, used: Sequence[Part], doubts: frozenset[str]
) -> Said:
    if piston.id in doubts:
        return said("chosen_when_decided", part=piston.id)
    return _choice(barrels_for(evidence, piston, common_variants(evidence, used)))


def _choice(found: Sequence[Offer]) -> Said:
    if not found:
        return said("no_size_fits")
    if not found[1:]:
        return found[0].said
    return said("best_first", offers=tuple(offer.said for offer in found))


def _masses(evidence: Evidence, used: Sequence[Part]) -> Said:
    masses = [p.mass_mg for p in used if p.kind == "piston" and p.mass_mg is not None]
    if not masses or not evidence.engine.asks("mass"):
        return NOTHING
    spread_mg = evidence.sheet.piston.mass_spread_mg
    low_mg, high_mg = max(masses) - spread_mg, min(masses) + spread_mg
    return said("of_masses", low=mass(low_mg), high=mass(high_mg))


def _alike(seat: Seat, used: Sequence[Part]) -> Said:
    """Kind and height group that a barrel must have to go with the others."""
    barrels = [p for p in used if p.kind == "barrel"]
    kinds = sorted({b.barrel_kind for b in barrels if b.barrel_kind})
    alike = [said("of_kind", kind=kinds[0])] if len(kinds) == 1 else []
    if seat.height_group:
        alike.append(said("of_height_group", group=seat.height_group))
    return said("of_alike", alike=tuple(alike)) if alike else NOTHING


def _of_one_size(evidence: Evidence, used: Sequence[Part]) -> Said:
    """Variant and oversize of a new pair: those of the parts that it is to go with."""
    sheet, engine = evidence.sheet, evidence.engine
    variants = common_variants(evidence, used)
    some = [{o.oversize_nm for o in origins(sheet, engine, p)} for p in used]
    known = [over_nm for over_nm in some if over_nm]
    over_nm = sorted(set[int].intersection(*known)) if known else [engine.oversize_nm]
    of: list[Said] = []
    if sheet.variants[1:]:
        of.append(said("of_variant", variants=tuple(v.id for v in variants)))
    if over_nm and over_nm[0]:
        of.append(said("of_oversize", oversize=length(over_nm[0])))
    return said("together", parts=tuple(of)) if of else NOTHING


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
            gaps = _gaps_there(evidence, piston, bore_nm)
            group, bore, clearance = _named(origin), length(bore_nm), length(value.nm)
            told = said(
                "offer_barrel", group=group, bore=bore, clearance=clearance, gaps=tuple(gaps)
            )
            new_nm = origin.group.bore_nm - origin.group.piston_nm
            offers.setdefault(bore_nm, Offer(told, abs(value.nm - new_nm), bore_nm))
    return tuple(sorted(offers.values(), key=lambda o: (o.off_nm, o.size_nm)))


def _gaps_there(evidence: Evidence, piston: Part, bore_nm: int) -> list[Said]:
    """What a new bore does to the piston's rings, where a gap would not be right."""
    if not evidence.engine.asks("rings"):
        return []
    at = FeatureId("", "bore")
    bore = Size(at, bore_nm, bore_nm, Budget(()), "new")
    gaps = gaps_in_bore(evidence, piston, bore, bore)
    founds = [f for gap in gaps for f in gap.founds]
    return [said("gap_there", what=f.sentence, do=f.advice) for f in founds]


def _origins(evidence: Evidence, part: Part, variants: Iterable[Variant]) -> list[Origin]:
    """Every size group of some variants at the oversize of a part."""
    found = {o.oversize_nm for o in origins(evidence.sheet, evidence.engine, part)}
    over_nm = sorted(found) or [evidence.engine.oversize_nm]
    return [Origin(v, g, nm) for v in variants for g in v.groups for nm in over_nm]


def _named(origin: Origin) -> Said:
    return group_said(origin.variant, origin.group, origin.oversize_nm)


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
    clearance = said("span", low=length(tight.nm), high=length(loose.nm))
    group, size = _named(origin), length(piston_nm)
    told = said("offer_piston", group=group, size=size, clearance=clearance)
    return Offer(told, abs(tight.nm - new_nm), piston_nm)


def _less(evidence: Evidence, bore: Size, piston_nm: int) -> Value:
    """Clearance of a new piston; its own size is taken as its group's."""
    return Value.of_budget(bore.size_nm - piston_nm, bore.budget, evidence.guard_factor)
