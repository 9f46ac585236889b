"""Judges a barrel: kind, seal and height, the bore and its form, and what rework it allows."""

from dataclasses import dataclass

from barrelfit.rules.checks import barrels, bores
from barrelfit.rules.compare import Found, Value, below
from barrelfit.rules.engine.catalogue.barrels import BORE, WALL
from barrelfit.rules.engine.features import wall_at
from barrelfit.rules.engine.gate import seen_on
from barrelfit.rules.engine.limits import Limit, form_limit, original_size
from barrelfit.rules.engine.parts import Part
from barrelfit.rules.engine.tables.barrels import BarrelKind
from barrelfit.rules.judge.bore import BoreSizes, bore_of, out_of_round, place, taper
from barrelfit.rules.judge.docket import Docket, doubted
from barrelfit.rules.judge.evidence import Evidence
from barrelfit.rules.judge.marks import add_identity
from barrelfit.rules.judge.rework import ReworkPlan, WornBore, remedy, remedy_found, untold_found
from barrelfit.rules.model import Severity
from barrelfit.rules.said import said
from barrelfit.rules.uncertainty.decide import Zone, guard_band_nm

SCORED = "scored-bore"
HONED_AWAY = frozenset({SCORED, "peeling-plating"})  # seen by eye, and mended by rework of the bore
_SMALLEST = (said("a_smallest_bore"), said("do_check_stamp_and_setting"))
_IN_DOUBT = {"B102", "H101", "H103", "H105"}  # what makes a bore's size or kind uncertain


def add_barrel(docket: Docket, evidence: Evidence, barrel: Part) -> None:
    """Add every finding about a barrel, with the rework its bore allows."""
    limits, engine = evidence.sheet.barrel, evidence.engine
    docket.add(barrels.kind_unknown(barrel.barrel_kind, tuple(k.id for k in limits.kinds)))
    kind = limits.kind(barrel.barrel_kind)
    if engine.asks("head-seal"):
        docket.add(barrels.seal_unsuited(barrel.seal, engine.head_seal))
        if kind is not None:
            docket.add(barrels.seal_not_of_kind(barrel.seal, kind.seals))
    if engine.asks("height-groups") and limits.height_groups:
        docket.add(barrels.height_unknown(barrel.height_group, limits.height_groups))
    known = add_identity(docket, evidence, barrel)
    bore = bore_of(evidence, barrel.id)
    docket.add(bores.bore_unmeasured(tuple(place(at) for at in bore.missing)))
    _add_wall(docket, evidence, barrel)
    beyond = _add_bore(docket, evidence, barrel, bore, doubtful=known.doubtful)
    beyond = _add_form(docket, evidence, barrel, bore) or beyond
    if known.doubtful:  # rework counts from the original size
        return
    if beyond or HONED_AWAY & set(seen_on(barrel)):
        _add_remedy(docket, evidence, barrel, bore)


def _add_bore(
    docket: Docket, evidence: Evidence, barrel: Part, bore: BoreSizes, *, doubtful: bool
) -> bool:
    """Add what the largest and smallest bore say; returns whether the bore is worn out."""
    limit = BORE.limit(evidence.sheet, evidence.engine, barrel)
    if limit is None or bore.largest is None or bore.smallest is None:
        return False
    largest = Value.of_size(bore.largest, evidence.guard_factor)
    smallest = Value.of_size(bore.smallest, evidence.guard_factor)
    worn = bores.bore_worn(largest, place(bore.largest.at), _upper(limit))
    worn = doubted(worn, doubtful=doubtful)
    what = said("largest_bore", where=place(bore.largest.at))
    docket.check(what, largest, _upper(limit), worn)
    under = bores.bore_under_size(smallest, place(bore.smallest.at), _lower(limit))
    what = said("smallest_bore", where=place(bore.smallest.at))
    docket.check(what, smallest, _lower(limit), under)
    return worn is not None and worn.severity is Severity.REWORK


def _smaller_than_new(evidence: Evidence, barrel: Part, bore: BoreSizes) -> bool:
    """Whether the smallest place is surely smaller than a new bore: then no form rests on it."""
    limit = BORE.limit(evidence.sheet, evidence.engine, barrel)
    if limit is None or bore.smallest is None:
        return False
    smallest = Value.of_size(bore.smallest, evidence.guard_factor)
    return below(smallest, _lower(limit)) is Zone.OUTSIDE


def _add_wall(docket: Docket, evidence: Evidence, barrel: Part) -> None:
    """Add whether the wall, where it was measured, is thick enough as it is."""
    wall = evidence.value(wall_at(barrel.id))
    least = WALL.limit(evidence.sheet, evidence.engine, barrel)
    if wall is not None and least is not None:
        docket.check(said("thinnest_wall"), wall, least, bores.wall_thin(wall, least))


def _upper(limit: Limit) -> Limit:
    return Limit(upper_nm=limit.upper_nm, upper_from=limit.upper_from)


def _lower(limit: Limit) -> Limit:
    return Limit(lower_nm=limit.lower_nm, lower_from=limit.lower_from)


def _add_form(docket: Docket, evidence: Evidence, barrel: Part, bore: BoreSizes) -> bool:
    """Add what taper and out-of-round say; returns whether the form is beyond a limit."""
    founds: list[Found | None] = []
    doubtful = _smaller_than_new(evidence, barrel, bore)
    tapered = taper(evidence, bore)
    if tapered is not None:
        limit = form_limit(evidence.sheet, evidence.engine, barrel, "taper.max")
        found = bores.bore_tapered(tapered.value, tapered.where, limit)
        sure = doubted(found, doubtful=doubtful, by=_SMALLEST)
        docket.check(said("taper", where=tapered.where), tapered.value, limit, sure)
        founds.append(found)
    oval = out_of_round(evidence, bore)
    if oval is not None:
        limit = form_limit(evidence.sheet, evidence.engine, barrel, "out_of_round.max")
        found = bores.bore_out_of_round(oval.value, oval.where, limit)
        sure = doubted(found, doubtful=doubtful, by=_SMALLEST)
        docket.check(said("out_of_round", where=oval.where), oval.value, limit, sure)
        founds.append(found)
    return any(f is not None and f.severity is Severity.REWORK for f in founds)


def _add_remedy(docket: Docket, evidence: Evidence, barrel: Part, bore: BoreSizes) -> None:
    worn = worn_bore(evidence, barrel, bore)
    if worn is None:
        return
    asked = any(q.at.part == barrel.id for q in evidence.questions)
    if asked or docket.undecided & _IN_DOUBT:
        docket.add(untold_found(said("size_or_kind_in_doubt"), said("do_settle_first")))
        return
    chosen = remedy(worn, evidence.sheet.rework)
    if chosen.work in {ReworkPlan.REPLATE, ReworkPlan.REPLACE, ReworkPlan.MEASURE}:
        docket.add(remedy_found(chosen, whole=worn.whole))
    elif not worn.whole:
        docket.add(untold_found(said("not_measured_everywhere"), said("do_measure_whole")))
    elif SCORED in seen_on(barrel):
        docket.add(untold_found(said("score_depth_unknown"), said("do_gauge_depth")))
    else:
        docket.add(remedy_found(chosen, whole=True))


def worn_bore(evidence: Evidence, barrel: Part, bore: BoreSizes) -> WornBore | None:
    """What the choice of rework needs to know, None where kind, size or bore is unknown."""
    kind = evidence.sheet.barrel.kind(barrel.barrel_kind)
    size = original_size(evidence.sheet, evidence.engine, barrel).size
    limit = BORE.limit(evidence.sheet, evidence.engine, barrel)
    if kind is None or size is None or limit is None or bore.largest is None:
        return None
    standard_nm = _standard_nm(evidence, size.nm)
    wall = _wall(evidence, bore, kind, (standard_nm, size.nm))
    return WornBore(
        part=barrel.id,
        kind=kind,
        standard_nm=standard_nm,
        original_nm=size.nm,
        largest_nm=bore.largest.size_nm,
        limit=limit,
        wall_nm=wall.nm,
        whole=not bore.missing,
        wall_at_nm=wall.at_nm,
        wall_guard_nm=wall.guard_nm,
        guard_nm=guard_band_nm(
            bore.largest.budget.u_nm, evidence.guard_factor, bore.largest.budget.dof
        ),
        smallest_nm=bore.smallest.size_nm if bore.smallest is not None else None,
    )


def _standard_nm(evidence: Evidence, size_nm: int) -> int:
    """The standard bore an original size counts its oversize from; itself when nothing fits."""
    bores_nm = {g.bore_nm for v in evidence.sheet.variants for g in v.groups}
    for oversize_nm in (0, *evidence.sheet.rework.oversizes_nm):
        if size_nm - oversize_nm in bores_nm:
            return size_nm - oversize_nm
    return size_nm


@dataclass(frozen=True, slots=True)
class _Wall:
    """The thinnest wall, the bore that it had then, and the measurement's guard band; all in nm."""

    nm: int | None
    at_nm: int
    guard_nm: int = 0


def _wall(
    evidence: Evidence, bore: BoreSizes, kind: BarrelKind, sizes_nm: tuple[int, int]
) -> _Wall:
    """Thinnest wall: as measured, at the bore worn as it is; else a new barrel's, as it was made.

    A wall is thinnest where the bore is worn most: a measured one stands beside the largest bore.

    Args:
        evidence: the set.
        bore: the barrel's bore.
        kind: its kind.
        sizes_nm: standard and original bore.
    """
    standard_nm, original_nm = sizes_nm
    measured = evidence.sizes.get(wall_at(bore.sizes[0].at.part)) if bore.sizes else None
    if measured is not None and bore.largest is not None:
        u_nm, dof = measured.budget.u_nm, measured.budget.dof
        guard_nm = guard_band_nm(u_nm, evidence.guard_factor, dof)
        return _Wall(measured.size_nm, bore.largest.size_nm, guard_nm)
    if kind.wall_nm is None:
        return _Wall(None, original_nm)
    return _Wall(kind.wall_nm - (original_nm - standard_nm + 1) // 2, original_nm)
