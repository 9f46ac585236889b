"""Outside sizes: which readings of a pass stood on the crest.

Between flat anvils of radius a, a cylinder of radius R whose axis is x beside the measuring axis
reads the chord L = 2·sqrt(R² − u²), u = max(|x| − a, 0), lengthened by tilt. So a reading below the
crest tells where the part was: u = sqrt(D² − L²)/2, exact to a few tenths of a millimetre in
spite of the tilt. A cubic through the flanks' places over time (the hand moves smoothly) tells
where the part was while it was on the crest, where the reading no longer tells. The crest zone
is the time in which |x| < a by a margin; both flanks are cut away, whatever they read.

A part that turned back before the crest reads a dome: its flanks meet in one point and leave no
zone. That is how chords are known even when they agree with one another.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from rules.sweep.finder import LEVEL_BAND_NM, Sample
from rules.sweep.lines import fit_polynomial, value_at

FLANK_LOSS_NM = 20_000  # nearer to the crest the tilt drowns the chord
FLANK_REACH_MM = 6.0  # further out the hand's path says little about the crest
SPEED_LOSS_NM = 80_000
WEIGHT_REACH_MM = 4.0
EDGE_POINTS = 3
EDGE_MARGIN_MM = 0.45  # more where only one flank's speed tells the edge
DWELL_RATIO = 2.0  # anvil's diameters: a part that went further by its flanks' speed lingered
MARGIN_MM = 0.3  # doubt of a place on the crest; 0.3 mm past the edge a chord costs 2 µm
TURNING = 0.3  # of a flank's fastest speed: slower, the hand is about to turn
TURNING_S = 0.09  # nearer places tell no speed: tilt moves them
REST_NM = 2_000  # neighbours nearer than this: the gauge stands at its stop, or the hand turns
NM_PER_MM = 1e6
NS_PER_S = 1e9


@dataclass(frozen=True, slots=True)
class Zone:
    """The crest zone of one pass: readings `first` to `last` (inclusive) of its hill.

    `first` > `last` when no reading stood on it.
    """

    first: int
    last: int


NO_ZONE = Zone(0, -1)


def crest_runs(hills: Sequence[Sequence[Sample]], level_nm: int) -> list[list[Sample]]:
    """Cut hills anew, now that the level of the crest is known.

    Hills that touch are joined; a new cut is made wherever the median of three readings falls
    `FLANK_LOSS_NM` under the level: only a chord does that. Every run comes with both its flanks,
    down to the lowest reading between it and its neighbours.
    """
    runs: list[list[Sample]] = []
    for stretch in _joined(hills):
        below = [_steady(stretch, i) < level_nm - FLANK_LOSS_NM for i in range(len(stretch))]
        cuts = [0]
        i = 0
        while i < len(stretch):
            if not below[i]:
                i += 1
                continue
            j = i
            while j < len(stretch) and below[j]:
                j += 1
            if i > 0 and j < len(stretch):
                cuts.append(min(range(i, j), key=lambda k: _steady(stretch, k)))
            i = j
        cuts.append(len(stretch) - 1)
        runs += [stretch[a : b + 1] for a, b in pairwise(cuts)]
    return runs


def _joined(hills: Sequence[Sequence[Sample]]) -> list[list[Sample]]:
    """Hills that share readings become one stretch."""
    stretches: list[list[Sample]] = []
    for hill in hills:
        if stretches and hill[0][0] <= stretches[-1][-1][0]:
            last_ns = stretches[-1][-1][0]
            stretches[-1] += [s for s in hill if s[0] > last_ns]
        else:
            stretches.append(list(hill))
    return stretches


def _steady(samples: Sequence[Sample], i: int) -> int:
    """The median of a reading and its neighbours, in nm: a bounce alone doesn't show in it."""
    window = [s[1] for s in samples[max(i - 1, 0) : i + 2]]
    return sorted(window)[len(window) // 2]


def hill_level_nm(hill: Sequence[Sample]) -> int:
    """A first idea of the size: the lower quartile of the readings near the hill's top."""
    top = second_highest_nm(hill)
    near = sorted(length for _, length in hill if length > top - LEVEL_BAND_NM)
    return near[len(near) // 4] if near else top


def second_highest_nm(hill: Sequence[Sample]) -> int:
    """The highest height that two neighbouring readings agree on (a bounce stands alone)."""
    return max(
        (min(a[1], b[1]) for a, b in pairwise(hill)),
        default=hill[0][1],
    )


def crest_zone(hill: Sequence[Sample], level_nm: int, anvil_nm: int) -> Zone:
    """Find the crest zone of a hill whose crest reads about `level_nm` (size and mean tilt)."""
    # A bounce on a flank, up to the crest, must not stretch the zone.
    inside = [i for i in range(len(hill)) if _steady(hill, i) > level_nm - FLANK_LOSS_NM]
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
        path = _path(rising, falling, edge)
        on_crest = [
            i
            for i in range(first, last + 1)
            if path and abs(value_at(path, _time_s(hill[i], middle_s))) < edge - MARGIN_MM
        ]
    on_crest = [i for i in on_crest if first <= i <= last]
    return Zone(on_crest[0], on_crest[-1]) if on_crest else NO_ZONE


def _between_edges(
    rising: list[tuple[float, float]], falling: list[tuple[float, float]], times_s: list[float]
) -> list[int]:
    """Readings of a part that lingered on the crest: from edge to edge, by each flank's speed."""
    begin_s = _edge_time(rising[-EDGE_POINTS:])
    end_s = _edge_time(falling[:EDGE_POINTS])
    return [i for i, t in enumerate(times_s) if begin_s < t < end_s]


def _edge_time(flank: Sequence[tuple[float, float]]) -> float:
    """When the part was a margin inside the anvil's edge, from the places nearest to it (s)."""
    inner_s, inner_mm = min(flank, key=lambda point: point[1])
    line = fit_polynomial([(past, t, past) for t, past in flank], 2) if len(flank) > 1 else None
    if line is None:
        return inner_s
    return inner_s - line[1] * (inner_mm + EDGE_MARGIN_MM)


def plateau_mm(hill: Sequence[Sample], level_nm: int) -> float | None:
    """How far the part went while the reading stood at the top, by the speed of its flanks.

    A part that crosses the crest goes an anvil's diameter (and the two strips on which the chord
    costs less than `FLANK_LOSS_NM`); one that turns back before it only those strips. None where
    a flank was not seen down to `SPEED_LOSS_NM`.
    """
    inside = [i for i, (_, length) in enumerate(hill) if length > level_nm - FLANK_LOSS_NM]
    if not inside:
        return None
    near_mm, far_mm = (_past_mm(level_nm - x, level_nm) for x in (FLANK_LOSS_NM, SPEED_LOSS_NM))
    times = []
    for side in (list(reversed(hill[: inside[0] + 1])), hill[inside[-1] :]):
        near_s, far_s = (_time_at(side, level_nm, mm) for mm in (near_mm, far_mm))
        if near_s is None or far_s is None:
            return None
        times.append((near_s, far_s))
    fastest_s = min(abs(far - near) for near, far in times)
    return (times[1][0] - times[0][0]) * (far_mm - near_mm) / max(fastest_s, 1e-3)


def _time_at(side: Sequence[Sample], level_nm: int, past_mm: float) -> float | None:
    """When a flank, followed away from the crest, first stands `past_mm` past the edge (s)."""
    before: tuple[float, float] | None = None
    for t_ns, length in side:
        t_s, here = t_ns / NS_PER_S, _past_mm(length, level_nm)
        if here >= past_mm and before is not None:
            share = (past_mm - before[1]) / (here - before[1]) if here > before[1] else 1.0
            return before[0] + (t_s - before[0]) * share
        before = (t_s, min(here, past_mm))
    return None


def _past_mm(length_nm: int, level_nm: int) -> float:
    """How far past the anvil's edge the part's axis is when the chord reads `length_nm`."""
    square = (level_nm / NM_PER_MM) ** 2 - (length_nm / NM_PER_MM) ** 2
    return math.sqrt(max(square, 0.0)) / 2


def _time_s(sample: Sample, middle_s: float) -> float:
    return sample[0] / NS_PER_S - middle_s


def _place(sample: Sample, level_nm: int, middle_s: float) -> tuple[float, float]:
    return _time_s(sample, middle_s), _past_mm(sample[1], level_nm)


def _flank(side: Sequence[Sample], level_nm: int, middle_s: float) -> list[tuple[float, float]]:
    """Times (s) and distances past the anvil's edge (mm) of the readings on one flank."""
    points: list[tuple[float, float]] = []
    for i, (t_ns, length) in enumerate(side):
        if length > level_nm - FLANK_LOSS_NM:
            continue
        resting = any(
            abs(side[j][1] - length) <= REST_NM for j in (i - 1, i + 1) if 0 <= j < len(side)
        )
        past_mm = _past_mm(length, level_nm)
        if past_mm <= FLANK_REACH_MM and not resting:
            points.append((t_ns / NS_PER_S - middle_s, past_mm))
    return points


def _moving(outward: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    """The places of a flank, followed away from the crest, up to where the hand turned or stood."""
    kept: list[tuple[float, float]] = []
    fastest, anchor = 0.0, 0
    for t_s, past_mm in outward:
        if kept:
            from_s, from_mm = kept[anchor]
            if abs(t_s - from_s) >= TURNING_S:
                speed = (past_mm - from_mm) / abs(t_s - from_s)
                if speed < TURNING * fastest:
                    break
                fastest, anchor = max(fastest, speed), len(kept)
        kept.append((t_s, past_mm))
    return kept


def _path(
    rising: list[tuple[float, float]], falling: list[tuple[float, float]], edge_mm: float
) -> tuple[float, ...] | None:
    """The smoother of two paths: over the crest to the other side, or back from it."""
    best: tuple[float, tuple[float, ...]] | None = None
    for side in (1.0, -1.0):
        points = [(t, -edge_mm - past, _weight(past)) for t, past in rising]
        points += [(t, side * (edge_mm + past), _weight(past)) for t, past in falling]
        terms = min(4 if side > 0 else 3, len(points))
        path = fit_polynomial(points, terms)
        if path is None:
            continue
        misfit = sum(w * (x - value_at(path, t)) ** 2 for t, x, w in points)
        if best is None or misfit < best[0]:
            best = (misfit, path)
    return best[1] if best else None


def _weight(past_mm: float) -> float:
    """Weight of a place: its doubt is the tilt's lift over the chord's slope, which grows."""
    return min(past_mm, WEIGHT_REACH_MM) ** 2
