"""Which cylinder each pair of a match stands in: its own place where the bank's height allows."""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import permutations

from barrelfit.rules.engine.parts import Part
from barrelfit.rules.judge.assigning import Pair
from barrelfit.rules.judge.evidence import Evidence
from barrelfit.rules.judge.matching import Match
from barrelfit.rules.judge.pairing import Fit


@dataclass(frozen=True, slots=True)
class Seat:
    """A cylinder with its barrel and piston; "" where one is still to be bought.

    `height_group` is the one of its bank, "" where none is asked for.

    Smallest and largest clearance at 20 °C in nm None for a seat without a pair; standard
    uncertainty and half-width of the 95 % interval of the smallest, half-width of the largest.
    """

    cylinder: int
    bank: str
    barrel: str
    piston: str
    tight_nm: int | None = None
    loose_nm: int | None = None
    u_nm: float = 0.0
    expanded_nm: int = 0
    loose_expanded_nm: int = 0
    height_group: str = ""


@dataclass(frozen=True, slots=True)
class _Place:
    cylinder: int
    bank: str
    height_group: str  # "" where any barrel may stand


def seats_of(
    evidence: Evidence,
    parts: tuple[Sequence[Part], Sequence[Part]],
    match: Match,
    fits: Mapping[Pair, Fit],
) -> tuple[Seat, ...]:
    """Seat a match: one seat for each cylinder, in the order of their numbers.

    Args:
        evidence: the set.
        parts: the pistons and the barrels that were matched, those first that may best stay alone.
        match: their match; where parts are short, some of the others stay alone.
        fits: fit of every pair.
    """
    pistons, barrels = ([p for p in some if p.id in match.pool] for some in parts)
    heights = {b.id: match.heights.get(b.id, b.height_group) for b in barrels}
    places = _places(evidence, _own_banks(evidence, match.bank_groups, heights))
    matched = {barrel: piston for piston, barrel in match.pairs}
    alone = [p.id for p in pistons if p.id not in matched.values()]
    seated = _seated(evidence, {b: h for b, h in heights.items() if b in matched}, places, {})
    if len(match.pairs) < evidence.sheet.cylinders:
        lone = {b: h for b, h in heights.items() if b not in matched}
        seated = _seated(evidence, _first(lone, places, seated), places, seated)
    seats = []
    for place in places:
        barrel = seated.get(place.cylinder, "")
        piston = matched.get(barrel, "") if barrel else (alone.pop(0) if alone else "")
        seats.append(_seat(place, barrel, piston, fits))
    return tuple(seats)


def _first(
    lone: Mapping[str, str], places: Sequence[_Place], taken: Mapping[int, str]
) -> dict[str, str]:
    """The first of the lone barrels for the places that are free, as many of each height as fit."""
    free = Counter(p.height_group for p in places if p.cylinder not in taken)
    first: dict[str, str] = {}
    for barrel, height in lone.items():
        group = "" if "" in free else height
        if free[group]:
            free[group] -= 1
            first[barrel] = height
    return first


def _own_banks(
    evidence: Evidence, groups: tuple[str, ...], heights: Mapping[str, str]
) -> tuple[str, ...]:
    """The banks' height groups, exchanged among banks alike so that most barrels stay at home."""
    banks = evidence.sheet.banks
    order = [b.id for b in evidence.engine.of_kind("barrel")]
    own = {order.index(name) + 1: height for name, height in heights.items()}

    def at_home(some: tuple[str, ...]) -> int:
        return sum(
            own.get(number) == group
            for bank, group in zip(banks, some, strict=True)
            for number in bank.cylinders
        )

    def sized(some: tuple[str, ...]) -> list[tuple[str, int]]:
        return sorted(zip(some, (len(bank.cylinders) for bank in banks), strict=True))

    alike = [g for g in permutations(groups) if groups and sized(g) == sized(groups)]
    return max(sorted(set(alike)), key=at_home, default=groups)


def _places(evidence: Evidence, bank_groups: tuple[str, ...]) -> list[_Place]:
    banks = evidence.sheet.banks
    groups = bank_groups or ("",) * len(banks)
    places = [
        _Place(number, bank.id, group)
        for bank, group in zip(banks, groups, strict=True)
        for number in bank.cylinders
    ]
    return sorted(places, key=lambda p: p.cylinder)


def _seated(
    evidence: Evidence,
    heights: Mapping[str, str],
    places: Sequence[_Place],
    taken: dict[int, str],
) -> dict[int, str]:
    """Barrels (given with their height groups) by cylinder: each in its own place if it may."""
    order = [b.id for b in evidence.engine.of_kind("barrel")]
    seated = dict(taken)
    for only_own in (True, False):
        for barrel, height in heights.items():
            own = order.index(barrel) + 1
            free = [
                p.cylinder
                for p in places
                if p.cylinder not in seated
                and p.height_group in {"", height}
                and (p.cylinder == own or not only_own)
            ]
            if free and barrel not in seated.values():
                seated[free[0]] = barrel
    return seated


def _seat(place: _Place, barrel: str, piston: str, fits: Mapping[Pair, Fit]) -> Seat:
    fit = fits.get((piston, barrel))
    if fit is None:
        return Seat(place.cylinder, place.bank, barrel, piston, height_group=place.height_group)
    tight, loose = fit.tight, fit.loose
    widths = (tight.u_nm, tight.expanded_nm, loose.expanded_nm)
    return Seat(place.cylinder, place.bank, barrel, piston, tight.nm, loose.nm, *widths)
