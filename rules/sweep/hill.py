"""Hills of an outside sweep: how high they stand, and which of them one stay of the part made.

Between flat anvils of radius a, a cylinder of radius R whose axis is x beside the measuring axis
reads the chord L = 2·sqrt(R² − u²), u = max(|x| − a, 0), lengthened by tilt. So a reading below the
crest tells where the part was: u = sqrt(D² − L²)/2, exact to a few tenths of a millimetre in
spite of the tilt.
"""

import math
from collections.abc import Sequence
from itertools import pairwise

from barrelfit.rules.sweep.finder import AWAY_NS, LEVEL_BAND_NM, Sample

FLANK_LOSS_NM = 20_000  # nearer to the crest the tilt drowns the chord
LEAVES_NM = 100_000  # a foot this far under a hill: 2 mm past the anvil's edge, no less
NM_PER_MM = 1e6
NS_PER_S = 1e9


def steady_nm(samples: Sequence[Sample], i: int) -> int:
    """The median of a reading and its neighbours, in nm: a bounce alone doesn't show in it."""
    if not 0 < i < len(samples) - 1:
        window = [s[1] for s in samples[max(i - 1, 0) : i + 2]]
        return sorted(window)[len(window) // 2]
    before, here, after = samples[i - 1][1], samples[i][1], samples[i + 1][1]
    if before > here:
        before, here = here, before
    return before if after < before else min(here, after)


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


def past_mm(length_nm: int, level_nm: int) -> float:
    """How far past the anvil's edge the part's axis is when the chord reads `length_nm`."""
    square = (level_nm / NM_PER_MM) ** 2 - (length_nm / NM_PER_MM) ** 2
    return math.sqrt(max(square, 0.0)) / 2


def crest_runs(hills: Sequence[Sequence[Sample]], level_nm: int) -> list[list[Sample]]:
    """Cut hills anew, now that the level of the crest is known.

    Hills that touch are joined; a new cut is made wherever the median of three readings falls
    `FLANK_LOSS_NM` under the level: only a chord does that. Every run comes with both its flanks,
    down to the lowest reading between it and its neighbours.
    """
    runs: list[list[Sample]] = []
    for stretch in _joined(hills):
        below = [steady_nm(stretch, i) < level_nm - FLANK_LOSS_NM for i in range(len(stretch))]
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
                cuts.append(min(range(i, j), key=lambda k: steady_nm(stretch, k)))
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


def shoulders(hills: Sequence[Sequence[Sample]], levels_nm: Sequence[int]) -> list[list[int]]:
    """For each hill, which of its neighbours it stands on the flank of: numbers in `hills`.

    `levels_nm` are the hills' levels (`hill_level_nm`).

    A hand that lingers beside the crest makes small hills on a flank: between them and the next
    higher hill the reading hardly falls, so the part can't have been exchanged. A part that leaves
    falls by hundreds of µm.
    """
    found: list[list[int]] = [[] for _ in hills]
    for n, (before, after) in enumerate(pairwise(hills)):
        if after[0][0] - before[-1][0] > AWAY_NS:
            continue
        # Where the hand lingered, the foot itself may not have been kept; what was kept next to it
        # stands less than a hill's climb above it.
        foot = min(steady_nm(before, len(before) - 1), steady_nm(after, 0))
        lower, higher = (n, n + 1) if levels_nm[n] < levels_nm[n + 1] else (n + 1, n)
        if foot > levels_nm[lower] - LEAVES_NM:
            found[lower].append(higher)
    return found
