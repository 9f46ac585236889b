"""What a gauge's noise is, told by the readings while it stands at its stop.

A following gauge without a part stands still: what its reading does there is noise and last
digit alone. The noise in contact is much the same, and knowing it parts two things that look
alike on a crest: a noisy gauge, and a skirt that is barrelled.
"""

import math
from collections.abc import Sequence
from statistics import median

from barrelfit.rules.sweep.finder import Sample

RUN_MIN = 8  # readings
DEEP_NM = 150_000  # under the crest; nearer, the part may be turning
CALM_NM = 7_000  # a standing gauge's readings keep this near to their median
READINGS_MIN = 12


def still_noise_nm(hills: Sequence[Sequence[Sample]], floor_nm: int) -> float | None:
    """Noise and digit together (one standard deviation, nm); None when the gauge never stood."""
    stop_nm = min(length for hill in hills for _, length in hill)
    squares, count = 0.0, 0
    for hill in hills:
        for run in _runs(hill, floor_nm - DEEP_NM, stop_nm):
            middle = median(run)
            calm = [y - middle for y in run if abs(y - middle) <= CALM_NM]
            squares += sum(y * y for y in calm)
            count += len(calm) - 1
    return math.sqrt(squares / count) if count >= READINGS_MIN else None


def _runs(hill: Sequence[Sample], below_nm: int, stop_nm: int) -> list[list[int]]:
    """Runs of readings near the lowest: the stop's, when the gauge has one."""
    runs: list[list[int]] = [[]]
    for _, length in hill:
        if length < below_nm and length - stop_nm < 2 * CALM_NM:
            runs[-1].append(length)
        elif abs(length - stop_nm) < 20 * CALM_NM and runs[-1]:
            continue  # a bounce at the stop
        else:
            runs.append([])
    return [run for run in runs if len(run) >= RUN_MIN]
