"""Outside sizes: which readings of a pass stood on the crest.

A chord tells where the part was (`rules.sweep.hill`). A cubic through the flanks' places over time
(the hand moves smoothly) tells where it was while it was on the crest, where the reading no longer
tells. The crest zone is the time in which |x| < a; both flanks are cut away, whatever they read.
A place is known to some 0.2 mm: so far past the edge a chord costs 1 µm.

A part that turned back before the crest reads a dome (`rules.sweep.dome`): its flanks meet in one
point and leave no zone. That is how chords are known even when they agree with one another.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from barrelfit.rules.sweep.dome import has_crossed, plateau_mm
from barrelfit.rules.sweep.finder import Sample
from barrelfit.rules.sweep.hill import FLANK_LOSS_NM, NM_PER_MM, NS_PER_S, past_mm, steady_nm
from barrelfit.rules.sweep.lines import fit_polynomial, value_at

FLANK_REACH_MM = 6.0  # further out the hand's path says little about the crest
WEIGHT_REACH_MM = 4.0
# Where one flank alone must tell when the part was at the edge: its points at least, or as far out
# as these lie, and how far inside the edge they must tell it.
EDGE_POINTS, EDGE_REACH_MM, EDGE_MARGIN_MM = 3, 2.5, 0.25
DWELL_RATIO = 2.0  # anvil's diameters: a part that went further by its flanks' speed lingered
TURNING = 0.3  # of a flank's fastest speed: slower, the hand is about to turn
TURNING_S = 0.09  # nearer places tell no speed: tilt moves them
REST_NM = 2_000  # neighbours nearer than this: the gauge stands at its stop, or the hand turns


@dataclass(frozen=True, slots=True)
class CrestZone:
    """The crest zone of one pass: readings `first` to `last` (inclusive) of its hill.

    `first` > `last` when no reading stood on it.
    """

    first: int
    last: int


NO_ZONE = CrestZone(0, -1)


def crest_zone(hill: Sequence[Sample], level_nm: int, anvil_nm: int) -> CrestZone:
    """Find the crest zone of a hill whose crest reads about `level_nm` (size and mean tilt)."""
    # A bounce on a flank, up to the crest, must not stretch the zone.
    inside = [i for i in range(len(hill)) if steady_nm(hill, i) > level_nm - FLANK_LOSS_NM]
    if not inside:
        return NO_ZONE
    first, last = inside[0], inside[-1]
    if first == 0 or last == len(hill) - 1:
        return NO_ZONE
    middle_s = (hill[first][0] + hill[last][0]) / 2 / NS_PER_S
    edge = anvil_nm / 2 / NM_PER_MM
    rising = _moving(_flank(hill[:first], level_nm, middle_s)[::-1])[::-1]
    falling = _moving(_flank(hill[last + 1 :], level_nm, middle_s))
    # Where no reading caught the flank, the nearest one outside stands in for it, and the
    # first one inside may have been on the flank.
    if not rising:
        rising, first = [_place(hill[first - 1], level_nm, middle_s)], first + 1
    if not falling:
        falling, last = [_place(hill[last + 1], level_nm, middle_s)], last - 1
    went_mm = plateau_mm(hill, level_nm)
    if went_mm is not None and went_mm > DWELL_RATIO * anvil_nm / NM_PER_MM:
        on_crest = _between_edges(rising, falling, [_time_s(s, middle_s) for s in hill])
    else:
        on_crest = []
        for path in _paths(rising, falling, edge):
            times = ((i, _time_s(hill[i], middle_s)) for i in range(first, last + 1))
            on_crest = [i for i, t_s in times if abs(value_at(path, t_s)) < edge]
            # A turn before the crest is believed only of a hill that looks like it.
            if on_crest or not has_crossed(hill, level_nm, anvil_nm):
                break
    on_crest = [i for i in on_crest if first <= i <= last]
    return CrestZone(on_crest[0], on_crest[-1]) if on_crest else NO_ZONE


def _between_edges(
    rising: list[tuple[float, float]], falling: list[tuple[float, float]], times_s: list[float]
) -> list[int]:
    """Readings of a part that lingered on the crest: from edge to edge, by each flank's speed."""
    begin_s = _edge_time(rising[::-1])
    end_s = _edge_time(falling)
    return [i for i, t in enumerate(times_s) if begin_s < t < end_s]


def _edge_time(outward: Sequence[tuple[float, float]]) -> float:
    """When the part was a margin inside the anvil's edge, by a line through the flank (s)."""
    inner_s = outward[0][0]
    near = [p for n, p in enumerate(outward) if n < EDGE_POINTS or p[1] < EDGE_REACH_MM]
    line = fit_polynomial([(t - inner_s, past, _weight(past)) for t, past in near], 2)
    if len(near) == 1 or line is None or line[1] * (near[-1][0] - inner_s) <= 0.0:
        return inner_s
    return inner_s - (EDGE_MARGIN_MM + line[0]) / line[1]


def _time_s(sample: Sample, middle_s: float) -> float:
    return sample[0] / NS_PER_S - middle_s


def _place(sample: Sample, level_nm: int, middle_s: float) -> tuple[float, float]:
    return _time_s(sample, middle_s), past_mm(sample[1], level_nm)


def _flank(side: Sequence[Sample], level_nm: int, middle_s: float) -> list[tuple[float, float]]:
    """Times (s) and distances past the anvil's edge (mm) of the readings on one flank."""
    points: list[tuple[float, float]] = []
    last = len(side) - 1
    for i, (t_ns, length) in enumerate(side):
        if length > level_nm - FLANK_LOSS_NM:
            continue
        place_mm = past_mm(length, level_nm)
        if place_mm > FLANK_REACH_MM:
            continue
        resting = (i > 0 and abs(side[i - 1][1] - length) <= REST_NM) or (
            i < last and abs(side[i + 1][1] - length) <= REST_NM
        )
        if not resting:
            points.append((t_ns / NS_PER_S - middle_s, place_mm))
    return points


def _moving(outward: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    """The places of a flank, followed away from the crest, up to where the hand turned or stood."""
    kept: list[tuple[float, float]] = []
    fastest, anchor = 0.0, 0
    for t_s, place_mm in outward:
        if kept:
            from_s, from_mm = kept[anchor]
            if abs(t_s - from_s) >= TURNING_S:
                speed = (place_mm - from_mm) / abs(t_s - from_s)
                if speed < TURNING * fastest:
                    break
                fastest, anchor = max(fastest, speed), len(kept)
        kept.append((t_s, place_mm))
    return kept


def _paths(
    rising: list[tuple[float, float]], falling: list[tuple[float, float]], edge_mm: float
) -> list[tuple[float, ...]]:
    """Over the crest to the other side, and back from it; the smoother path first."""
    found: list[tuple[float, tuple[float, ...]]] = []
    for side in (1.0, -1.0):
        points = [(t, -edge_mm - past, _weight(past)) for t, past in rising]
        points += [(t, side * (edge_mm + past), _weight(past)) for t, past in falling]
        terms = min(4 if side > 0 else 3, len(points))
        path = fit_polynomial(points, terms)
        if path is not None:
            found.append((sum(w * (x - value_at(path, t)) ** 2 for t, x, w in points), path))
    return [path for _, path in sorted(found)]


def _weight(place_mm: float) -> float:
    """Weight of a place: its doubt is the tilt's lift over the chord's slope, which grows."""
    return min(place_mm, WEIGHT_REACH_MM) ** 2
