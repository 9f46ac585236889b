"""What rework a bore allows, by the kind of barrel.

Iron is honed true at its present size while the limit allows, else bored to the smallest oversize
that cleans it up and leaves the wall. A plated bore is never honed or bored to a size: it is
replated where that is possible, else replaced. Lengths are diameters in nm unless named wall.
"""

from dataclasses import dataclass
from enum import StrEnum

from barrelfit.rules.compare import Found
from barrelfit.rules.engine.limits import Limit
from barrelfit.rules.engine.sheet import ReworkLimits
from barrelfit.rules.engine.tables.barrels import BarrelKind
from barrelfit.rules.model import Severity
from barrelfit.rules.said import NOTHING, Said, length, said


class ReworkPlan(StrEnum):
    """What is done to a barrel."""

    HONE = "hone"
    OVERSIZE = "oversize"
    REPLATE = "replate"
    REPLACE = "replace"
    MEASURE = "measure"  # the wall, before anybody can say
    MEASURE_BORE = "measure bore"  # once more, before anybody can say


@dataclass(frozen=True, slots=True)
class WornBore:
    """What the choice of rework needs to know of one barrel.

    `standard_nm` is the bore the oversizes are counted from, `original_nm` what the barrel was last
    made to (an oversize above standard, perhaps). `wall_nm` is the thinnest wall while the bore is
    `wall_at_nm` (a new wall: `original_nm`; one measured now: the worn bore), good to
    `wall_guard_nm`.
    `limit` is what the bore may measure. `bad_form`: taper or out-of-round is above its limit.
    `whole`: every place has been measured. `guard_nm` is the guard band of a bore's size.
    """

    part: str
    kind: BarrelKind
    standard_nm: int
    original_nm: int
    largest_nm: int
    limit: Limit
    wall_nm: int | None
    bad_form: bool = False
    whole: bool = True
    wall_at_nm: int | None = None
    wall_guard_nm: int = 0
    guard_nm: int = 0
    smallest_nm: int | None = None

    @property
    def oversize_now_nm(self) -> int:
        """How far the barrel's present original size is above standard."""
        return self.original_nm - self.standard_nm


@dataclass(frozen=True, slots=True)
class Remedy:
    """What to do with one barrel; `to_nm` is the bore aimed at, None for replate and replace.

    `again_nm` is the size that is to be measured again before anybody can say.
    """

    part: str
    work: ReworkPlan
    sentence: Said
    to_nm: int | None = None
    oversize_nm: int | None = None
    again_nm: int | None = None


def remedy(bore: WornBore, rework: ReworkLimits) -> Remedy:
    """Choose the least rework that brings a bore back, seen for this barrel alone."""
    if bore.kind.plated:
        return _plated(bore)
    honed_nm = bore.largest_nm + rework.honing_nm
    may_be_trued = _may_be_trued(bore, rework, honed_nm)
    thinned = _hone_thins(bore, honed_nm, bore.wall_guard_nm)
    if bore.limit.upper_nm is not None and may_be_trued and not thinned:
        limit = length(bore.limit.upper_nm)
        sentence = said("hone_true", to=length(honed_nm), limit=limit)
        return Remedy(bore.part, ReworkPlan.HONE, sentence, honed_nm)
    for oversize_nm in rework.oversizes_nm:
        if may_go_to(bore, rework, oversize_nm):
            return to_oversize(bore, rework, oversize_nm)
    if may_be_trued and not _hone_thins(bore, honed_nm, -bore.wall_guard_nm):
        return _measure_wall(bore, said("honing_true"))
    return Remedy(bore.part, ReworkPlan.REPLACE, _why_none(bore, rework))


def may_go_to(bore: WornBore, rework: ReworkLimits, oversize_nm: int) -> bool:
    """Whether a bore may be brought to an oversize, as far as its sizes can tell."""
    return may_clean_up(bore, rework, oversize_nm) and wall_may_be_left(bore, oversize_nm)


def to_oversize(bore: WornBore, rework: ReworkLimits, oversize_nm: int) -> Remedy:
    """Boring to an oversize to which a bore may go; first measuring what is too near to tell."""
    if not cleans_up(bore, rework, oversize_nm):
        sentence = said("measure_bore_first", oversize=length(oversize_nm))
        again_nm = bore.largest_nm
        return Remedy(bore.part, ReworkPlan.MEASURE_BORE, sentence, again_nm=again_nm)
    if not wall_left(bore, oversize_nm):
        return _measure_wall(bore, said("oversize", oversize=length(oversize_nm)))
    to_nm = bore.standard_nm + oversize_nm
    sentence = said("bore_to_oversize", oversize=length(oversize_nm), to=length(to_nm))
    return Remedy(bore.part, ReworkPlan.OVERSIZE, sentence, to_nm, oversize_nm)


def _measure_wall(bore: WornBore, work: Said) -> Remedy:
    least = length(bore.kind.wall_min_nm or 0)
    sentence = said("measure_wall_first", work=work, least=least)
    return Remedy(bore.part, ReworkPlan.MEASURE, sentence)


def may_be_honed_to(bore: WornBore, honed_nm: int) -> bool:
    """Whether a bore may be honed to a size: iron, surely within its limit, surely enough wall."""
    return _stays_within(bore, honed_nm) and not _hone_thins(bore, honed_nm, bore.wall_guard_nm)


def _stays_within(bore: WornBore, honed_nm: int) -> bool:
    """Whether a honed bore is surely within its limit.

    A bore honed to its very limit would be undecided when it is measured again.
    """
    upper_nm = bore.limit.upper_nm
    return not bore.kind.plated and upper_nm is not None and honed_nm + bore.guard_nm <= upper_nm


def _hone_thins(bore: WornBore, honed_nm: int, guard_nm: int) -> bool:
    """Whether honing to a size leaves too little wall; not where the wall or its least is unknown.

    Little is honed off, so no wall need be measured for it, but one that was is heeded.
    """
    known = bore.wall_nm is not None and bore.kind.wall_min_nm is not None
    return known and not _wall_left(bore, honed_nm, guard_nm)


def _may_be_trued(bore: WornBore, rework: ReworkLimits, honed_nm: int) -> bool:
    """Whether honing a bore true keeps to its limit and to the stock that may come off.

    Most comes off where the bore is smallest.
    """
    smallest_nm = bore.largest_nm if bore.smallest_nm is None else bore.smallest_nm
    most_nm = rework.honing_most_nm
    little = most_nm is None or honed_nm - smallest_nm <= most_nm
    return little and _stays_within(bore, honed_nm)


def _plated(bore: WornBore) -> Remedy:
    if bore.kind.replate:
        return Remedy(bore.part, ReworkPlan.REPLATE, said("replate"))
    return Remedy(bore.part, ReworkPlan.REPLACE, said("replace_plated"))


def cleans_up(bore: WornBore, rework: ReworkLimits, oversize_nm: int) -> bool:
    """Whether boring to an oversize surely reaches below the deepest wear, with its stock."""
    return _cleans_up(bore, rework, oversize_nm, bore.guard_nm)


def may_clean_up(bore: WornBore, rework: ReworkLimits, oversize_nm: int) -> bool:
    """Whether the bore is not known well enough to say that too little stock would be left."""
    return _cleans_up(bore, rework, oversize_nm, -bore.guard_nm)


def _cleans_up(bore: WornBore, rework: ReworkLimits, oversize_nm: int, guard_nm: int) -> bool:
    larger = oversize_nm > bore.oversize_now_nm
    need_nm = bore.largest_nm + guard_nm + rework.boring_nm
    return larger and bore.standard_nm + oversize_nm >= need_nm


def wall_left(bore: WornBore, oversize_nm: int) -> bool:
    """Whether boring to an oversize surely leaves the wall; half of the growth comes off it.

    The growth counts from the bore at which the wall was measured: wear has thinned it already.
    """
    return _wall_left(bore, bore.standard_nm + oversize_nm, bore.wall_guard_nm)


def wall_may_be_left(bore: WornBore, oversize_nm: int) -> bool:
    """Whether the wall as measured is good enough to say that too little would be left."""
    return _wall_left(bore, bore.standard_nm + oversize_nm, -bore.wall_guard_nm)


def _wall_left(bore: WornBore, to_nm: int, guard_nm: int) -> bool:
    if bore.wall_nm is None or bore.kind.wall_min_nm is None:
        return False
    at_nm = bore.original_nm if bore.wall_at_nm is None else bore.wall_at_nm
    growth_nm = to_nm - at_nm
    return 2 * (bore.wall_nm - guard_nm - bore.kind.wall_min_nm) >= growth_nm


def _why_none(bore: WornBore, rework: ReworkLimits) -> Said:
    if not rework.oversizes_nm:
        return said("replace_no_oversize")
    deep = [o for o in rework.oversizes_nm if may_clean_up(bore, rework, o)]
    if not deep:
        largest_nm = bore.standard_nm + rework.oversizes_nm[-1]
        need = length(bore.largest_nm + rework.boring_nm)
        return said("replace_too_deep", need=need, most=length(largest_nm))
    return said("replace_thin_wall", oversize=length(deep[0]))


_TO_MEASURE = {ReworkPlan.MEASURE: "Q103", ReworkPlan.MEASURE_BORE: "Q105"}


def remedy_found(chosen: Remedy, *, whole: bool) -> Found:
    """A remedy as a finding: Q101 rework, Q102 nothing can be done.

    Q103: the wall must be known before, Q105: the bore itself must.
    """
    how, doubt = chosen.sentence, NOTHING if whole else said("provisional")
    if chosen.work is ReworkPlan.REPLACE:
        return Found("Q102", Severity.DISCARD, said("no_rework", how=how, doubt=doubt))
    if chosen.work in _TO_MEASURE:
        sentence = said("rework_unsure", how=how, doubt=doubt)
        return Found(_TO_MEASURE[chosen.work], Severity.REWORK, sentence, how, chosen.again_nm)
    sentence = said("rework_so", how=how, doubt=doubt)
    return Found("Q101", Severity.REWORK, sentence, how, chosen.to_nm)


def untold_found(why: Said, advice: Said) -> Found:
    """Q104: the bore needs rework, but which can't be told yet."""
    return Found("Q104", Severity.UNDECIDED, said("rework_untold", why=why), advice)
