"""Whether the top of a hill was a crest that the part went over, or a turn before it.

A part that crosses the crest goes an anvil's diameter (and the strips beside it) while the reading
stands at the top; one that turns back only the strips, and its chord makes one arch of them. The
way is known by the speed of the flanks, which a hand that is slow at its turn makes too long and
one that is quick on the crest too short; the roundness is known but for tilt. Each alone misleads.
"""

from collections.abc import Sequence
from statistics import median

from barrelfit.rules.sweep.finder import Sample
from barrelfit.rules.sweep.hill import FLANK_LOSS_NM, NM_PER_MM, NS_PER_S, past_mm, steady_nm

SPEED_LOSS_NM = 80_000
PLATEAU_RATIO = 0.8  # anvil's diameters a part must go at the top; the strips beside are extra
STRIPS_MM = 1.8
DOME_NM = 28_000  # by so much a turn's sides stand under its middle
MM_PER_NM_ROUNDER = 0.2e-3  # of the way that is asked, where a top is rounder or flatter


def short_by_mm(hill: Sequence[Sample], level_nm: int, anvil_nm: int) -> float | None:
    """By how much the way at the top is shorter than a crossing's (mm); below zero it crossed.

    None where a flank was not seen down to `SPEED_LOSS_NM`.
    """
    way_mm = plateau_mm(hill, level_nm)
    if way_mm is None:
        return None
    least_mm = PLATEAU_RATIO * anvil_nm / NM_PER_MM + STRIPS_MM
    round_nm = roundness_nm(hill, level_nm)
    rounder_nm = 0.0 if round_nm is None else round_nm - DOME_NM
    return least_mm + MM_PER_NM_ROUNDER * rounder_nm - way_mm


def has_crossed(hill: Sequence[Sample], level_nm: int, anvil_nm: int) -> bool:
    """Whether a hill stayed at its top as long as a part passing through the anvils does."""
    short_mm = short_by_mm(hill, level_nm, anvil_nm)
    return short_mm is not None and short_mm <= 0.0


def plateau_mm(hill: Sequence[Sample], level_nm: int) -> float | None:
    """How far the part went while the reading stood at the top, by the speed of its flanks.

    A part that crosses the crest goes an anvil's diameter (and the two strips on which the chord
    costs less than `FLANK_LOSS_NM`); one that turns back before it only those strips. None where
    a flank was not seen down to `SPEED_LOSS_NM`.
    """
    inside = [i for i, (_, length) in enumerate(hill) if length > level_nm - FLANK_LOSS_NM]
    if not inside:
        return None
    near_mm, far_mm = (past_mm(level_nm - x, level_nm) for x in (FLANK_LOSS_NM, SPEED_LOSS_NM))
    times = []
    for side in (list(reversed(hill[: inside[0] + 1])), hill[inside[-1] :]):
        near_s, far_s = (_time_at(side, level_nm, mm) for mm in (near_mm, far_mm))
        if near_s is None or far_s is None:
            return None
        times.append((near_s, far_s))
    fastest_s = min(abs(far - near) for near, far in times)
    return (times[1][0] - times[0][0]) * (far_mm - near_mm) / max(fastest_s, 1e-3)


def roundness_nm(hill: Sequence[Sample], level_nm: int) -> float | None:
    """How far the first and last third of a hill's top (in time) stand under the middle, in nm.

    The top is what stands less than `SPEED_LOSS_NM` under the level: on a crest mostly flat, chords
    in its outermost sixths only; of a part that turned back, all one arch. None where a third has
    no reading.
    """
    inside = [i for i in range(len(hill)) if steady_nm(hill, i) > level_nm - SPEED_LOSS_NM]
    if not inside or inside[0] == inside[-1]:
        return None
    top = hill[inside[0] : inside[-1] + 1]
    begin_ns, third_ns = top[0][0], (top[-1][0] - top[0][0]) / 3
    thirds: list[list[int]] = [[], [], []]
    for t_ns, length in top:
        thirds[min(int((t_ns - begin_ns) / third_ns), 2)].append(length)
    if not all(thirds):
        return None
    first, middle, last = (median(third) for third in thirds)
    return middle - (first + last) / 2


def _time_at(side: Sequence[Sample], level_nm: int, place_mm: float) -> float | None:
    """When a flank, followed away from the crest, first stands `place_mm` past the edge (s)."""
    before: tuple[float, float] | None = None
    for t_ns, length in side:
        t_s, here = t_ns / NS_PER_S, past_mm(length, level_nm)
        if here >= place_mm and before is not None:
            share = (place_mm - before[1]) / (here - before[1]) if here > before[1] else 1.0
            return before[0] + (t_s - before[0]) * share
        before = (t_s, min(here, place_mm))
    return None
