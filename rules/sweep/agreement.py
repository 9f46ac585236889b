"""Do the passes of one sweep tell the same size?

For outside sweeps, by likelihood ratio: how much better are the crest readings explained when
every pass, or each half of the sweep, has a size of its own, or when the size moves with time,
than when all have one? The gains are in units of log likelihood, counted with the power κ of one
reading (`rules.sweep.floor`). Tilt alone makes gains of a few units; another part, a warm part or
a part held askew makes tens.
"""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from rules.sweep.excess import Scatter
from rules.sweep.floor import log_likelihoods, tables_of

STEP_NM = 500
REACH_NM = 110_000
DRIFTS_NM = (-60_000, -40_000, -26_000, -18_000, -12_000, -8_000, -5_000)


@dataclass(frozen=True, slots=True)
class Gains:
    """Gain of log likelihood by: a size for every pass; one before and one after; drift."""

    own: float
    split: float
    drift: float
    drift_nm: int


def gains_of(
    passes: Sequence[Sequence[int]],
    centres_ns: Sequence[float],
    scatter: Scatter,
    power: float,
) -> Gains:
    """Compare one common size with the alternatives; lengths in nm, a pass's time in ns."""
    lowest = min(min(crest) for crest in passes)
    highest = max(sorted(crest)[len(crest) // 4] for crest in passes)
    sizes = range(max(lowest, highest - REACH_NM) - 3_000, highest + 3_000, STEP_NM)
    curves = [_curve(crest, sizes, scatter, power) for crest in passes]
    together = max(map(sum, zip(*curves, strict=True)))
    own = sum(map(max, curves)) - together
    split = 0.0
    for k in range(1, len(curves)):
        halves = (max(map(sum, zip(*half, strict=True))) for half in (curves[:k], curves[k:]))
        split = max(split, sum(halves) - together)
    drift, drift_nm = _drift_gain(curves, centres_ns)
    return Gains(own, split, drift - together, drift_nm)


def _curve(
    crest: Sequence[int], sizes: Sequence[int], scatter: Scatter, power: float
) -> list[float]:
    counts = Counter(crest)
    tables = tables_of([(1.0, scatter)])
    return [power * log_likelihoods(counts, size, tables)[0] for size in sizes]


def _drift_gain(
    curves: Sequence[Sequence[float]], centres_ns: Sequence[float]
) -> tuple[float, int]:
    """The best log likelihood of a size that moves evenly over the passes, and its way in nm."""
    first, span = centres_ns[0], max(centres_ns[-1] - centres_ns[0], 1.0)
    best = (float("-inf"), 0)
    count = len(curves[0])
    for total_nm in (*DRIFTS_NM, *(-d for d in DRIFTS_NM)):
        shifts = [round(total_nm * ((t - first) / span - 0.5) / STEP_NM) for t in centres_ns]
        low, high = max(0, -min(shifts)), min(count, count - max(shifts))
        for k in range(low, high):
            value = sum(curve[k + s] for curve, s in zip(curves, shifts, strict=True))
            best = max(best, (value, total_nm))
    return best
