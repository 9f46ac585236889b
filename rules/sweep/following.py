"""Outside sweeps with a following gauge: from hills to a size or a refusal."""

import math
from collections.abc import Sequence
from statistics import median

from barrelfit.rules.sweep.agreement import disagreement, weigh_nothing
from barrelfit.rules.sweep.dome import has_crossed, short_by_mm
from barrelfit.rules.sweep.faults import is_frozen, lags
from barrelfit.rules.sweep.finder import Sample
from barrelfit.rules.sweep.floor import fit_floor
from barrelfit.rules.sweep.hill import crest_runs, hill_level_nm, shoulders
from barrelfit.rules.sweep.nouns import GaugeTraits, Lesson, SweepRefused
from barrelfit.rules.sweep.passes import Crossing, PassesOutcome, crossing_of, rank_low_nm
from barrelfit.rules.sweep.posterior import Posterior, moved, widened
from barrelfit.rules.sweep.refusals import refuse, too_few
from barrelfit.rules.sweep.scatters import prepare_scatters
from barrelfit.rules.sweep.sticking import stuck_nm
from barrelfit.rules.sweep.still import still_noise_nm
from barrelfit.rules.sweep.travel import travel_nm
from barrelfit.rules.sweep.unsaid import size_unsaid
from barrelfit.rules.uncertainty.size_budget import digit_u_nm

STRANGE_NM = 25_000  # a hill that tops out this far beside the others is another size, or a dome
STRANGE_FAR_NM = 250_000  # a dome further below: the hand just turned back early
TOUCH_NM = 4_500
TOUCHED_MIN = 3  # passes, of five or more
MANY_PASSES = 5
READINGS_MIN = 18  # on all crests together
FLOORS_NM = 80_000  # lower quartiles of passes that lie further apart are different sizes
# Of how far a tilt goes while a display averages: what is averaged reads as a barrel does, and the
# readings lie nearer to the size than their law says, on three models of hands by 0.03 to 0.17.
WAY_EXCESS, WAY_DOUBT = 0.08, 0.1
DOUBT_MAX_NM = 1_850.0
DOUBT_FEW_MAX_NM = 1_550.0  # four passes hardly show that they agree: a part that drifts looks so


def prepare_riding(traits: GaugeTraits) -> None:
    """Do ahead of time what a first size of this gauge would wait for."""
    prepare_scatters(traits.digit_nm, averages=traits.averages_ms != 0)
    weigh_nothing()


def size_following(
    hills: Sequence[Sequence[Sample]], traits: GaugeTraits, lessons: Sequence[Lesson] = ()
) -> PassesOutcome | SweepRefused:
    """The size of a following gauge's hills, or the reason why there is none."""
    return size_unsaid(traits, lambda said: _size_said(hills, said, lessons))


def _size_said(
    hills: Sequence[Sequence[Sample]], traits: GaugeTraits, lessons: Sequence[Lesson]
) -> PassesOutcome | SweepRefused:
    """The same, where the display averages for as long as somebody said, or not at all."""
    crossings, strange = find_crossings(hills, traits)
    enough = len(crossings) >= traits.passes_min
    if not crossings or turned_back(hills, traits):
        return refuse("chords-only", traits.movement)
    floor_nm = min(c.floor_nm for c in crossings)
    if is_frozen(hills, floor_nm - STRANGE_NM):
        return refuse("frozen", traits.movement)
    if lags([c.used for c in crossings]):
        return refuse("display-lags", traits.movement)
    if strange:
        return refuse("part-exchanged" if enough else "passes-disagree", traits.movement)
    return size_riding(crossings, traits, lessons, still_noise_nm(hills, floor_nm))


def size_riding(
    crossings: Sequence[Crossing],
    traits: GaugeTraits,
    lessons: Sequence[Lesson] = (),
    still_nm: float | None = None,
) -> PassesOutcome | SweepRefused:
    """The size under readings that ride on the part's tilt, pass by pass.

    Args:
        crossings: the passes.
        traits: the gauge.
        lessons: what other sweeps told of it, and of parts that are barrelled alike.
        still_nm: the noise that the gauge showed standing still, where it did.
    """
    if len(crossings) < traits.passes_min:
        return too_few(traits, len(crossings))
    crests = [[length for _, length in c.used] for c in crossings]
    count = sum(map(len, crests))
    if count < READINGS_MIN:
        return refuse("too-quick", traits.movement)
    reason = _unlike(crossings, traits.digit_nm)
    if reason:
        return refuse(reason, traits.movement)
    travelled_nm = travel_nm([c.used for c in crossings], traits)
    fit = fit_floor(crests, traits.digit_nm, still_nm, travelled_nm, lessons)
    rounding_nm = digit_u_nm(traits.digit_nm)
    doubt_max_nm = DOUBT_MAX_NM if len(crossings) >= MANY_PASSES else DOUBT_FEW_MAX_NM
    doubtful = fit.posterior.sd_nm > math.hypot(doubt_max_nm, rounding_nm)
    if doubtful or not _borne_out(crests, fit.posterior, traits.digit_nm):
        return refuse("too-quick", traits.movement)
    sizes = [rank_low_nm(c.used) for c in crossings]
    noise_nm = math.hypot(fit.scatter.noise_nm, rounding_nm)
    stuck = stuck_nm([c.used for c in crossings], traits.digit_nm)
    freed = moved(fit.posterior, -WAY_EXCESS * travelled_nm)
    posterior = widened(freed, math.hypot(stuck, WAY_DOUBT * travelled_nm))
    doubt_nm, dof = fit.u_passes_nm, float(count)
    return PassesOutcome(crossings, posterior, doubt_nm, dof, sizes, noise_nm, fit.lesson)


def _unlike(crossings: Sequence[Crossing], digit_nm: int) -> str:
    """Why the passes are not one size; empty when they are."""
    floors = [c.floor_nm for c in crossings]
    if max(floors) - min(floors) > FLOORS_NM:
        return "passes-disagree"
    return disagreement([c.used for c in crossings], digit_nm)


def _borne_out(crests: Sequence[Sequence[int]], posterior: Posterior, digit_nm: int) -> bool:
    """Whether enough passes came down to the size: one alone is no size, however low it went."""
    rounding_nm = digit_nm / 2
    low = posterior.low_nm - TOUCH_NM / 2 - rounding_nm
    high = posterior.high_nm + TOUCH_NM + rounding_nm
    touched = sum(any(low < length < high for length in crest) for crest in crests)
    return touched >= (TOUCHED_MIN if len(crests) >= MANY_PASSES else TOUCHED_MIN - 1)


def find_crossings(
    hills: Sequence[Sequence[Sample]], traits: GaugeTraits
) -> tuple[list[Crossing], bool]:
    """The passes that reached the crest, and whether a hill topped out at another size."""
    first = [c for hill in hills if (c := crossing_of(hill, traits)) is not None]
    if not first:
        return [], False
    floor = int(median(c.floor_nm for c in first))
    level = int(median(c.level_nm for c in first))
    runs = crest_runs(hills, floor)
    found = [c for run in runs if (c := crossing_of(run, traits, level)) is not None]
    # Of two parts swept in turn, the passes left are of one: the others show beside it.
    floor = int(median(c.floor_nm for c in found)) if found else floor
    return found, _has_strange(hills, found, floor, traits)


def _has_strange(
    hills: Sequence[Sequence[Sample]],
    found: Sequence[Crossing],
    floor_nm: int,
    traits: GaugeTraits,
) -> bool:
    """Whether a hill without a crossing tops out at another size than the passes' floor."""
    levels = [hill_level_nm(hill) for hill in hills]
    beside = shoulders(hills, levels)
    known: set[int] = set()
    for n in sorted(range(len(hills)), key=lambda n: -levels[n]):
        hill, off_nm = hills[n], levels[n] - floor_nm
        if not (
            any(hill[0][0] <= c.used[0][0] <= hill[-1][0] for c in found)
            or abs(off_nm) <= STRANGE_NM
            or (off_nm <= -STRANGE_FAR_NM and not has_crossed(hill, levels[n], traits.anvil_nm))
            or known.intersection(beside[n])
        ):
            return True
        known.add(n)
    return False


def turned_back(hills: Sequence[Sequence[Sample]], traits: GaugeTraits) -> bool:
    """Whether most hills are turns before the crest."""
    shorts = [
        short_mm
        for hill in hills
        if (short_mm := short_by_mm(hill, hill_level_nm(hill), traits.anvil_nm)) is not None
    ]
    return bool(shorts) and median(shorts) > 0.0
