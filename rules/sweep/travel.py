"""How far the tilt goes while a display averages, told by how fast the readings change.

Off the upright a reading rises as the tilt does; so the changes of neighbouring readings up there
tell the tilt's speed, and its speed times the window how far it goes (`rules.sweep.excess`).
"""

import math
from collections.abc import Sequence
from itertools import pairwise
from statistics import median

from barrelfit.rules.sweep.finder import Sample
from barrelfit.rules.sweep.nouns import GaugeTraits
from barrelfit.rules.uncertainty.size_budget import digit_u_nm

UP_SHARE = 0.35  # of the readings stand lower: about the upright, where tilt hardly shows
PAIRS_MIN = 6
NOISE_NM = 500.0  # of a mean of conversions
CLIP = 4.0
SMOOTHED = 1.25  # a mean's changes are smaller than those of what it is the mean of
NEXT_STEPS = 1.5  # of the usual: readings further apart are no neighbours
NS_PER_MS = 1e6


def travel_nm(passes: Sequence[Sequence[Sample]], traits: GaugeTraits) -> float:
    """The spread of v·w (nm at the anvils' edges); 0 where the display does not average.

    Args:
        passes: each pass's readings at the size.
        traits: the gauge; where nobody said for how long it averages, it is held not to.
    """
    window_ns = (traits.averages_ms or 0) * NS_PER_MS
    if not window_ns:
        return 0.0
    lengths = sorted(length for used in passes for _, length in used)
    up = lengths[int(UP_SHARE * len(lengths))]
    pairs = [pair for used in passes for pair in pairwise(used)]
    if not pairs:
        return 0.0
    step_ns = median(b[0] - a[0] for a, b in pairs)
    changes = [
        abs(b[1] - a[1]) * step_ns / (b[0] - a[0])
        for a, b in pairs
        if b[0] - a[0] < NEXT_STEPS * step_ns and min(a[1], b[1]) >= up
    ]
    if len(changes) < PAIRS_MIN:
        changes = [abs(b[1] - a[1]) * step_ns / (b[0] - a[0]) for a, b in pairs]
    most = CLIP * median(changes)  # a bounce is no speed
    change = SMOOTHED * math.sqrt(sum(min(c, most) ** 2 for c in changes) / len(changes))
    # Neighbouring means share all conversions but one each.
    noise = math.hypot(
        NOISE_NM * math.sqrt(2 * step_ns / window_ns), 1.41 * digit_u_nm(traits.digit_nm)
    )
    return math.sqrt(max(change**2 - noise**2, 0.0)) * window_ns / step_ns
