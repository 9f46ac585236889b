"""Do the passes of one outside sweep tell the same size?

Tilt lasts: a pass may stand tens of µm high from end to end and still be a pass of the same part.
So readings of a pass are weighed as what they are, a chain. The tilt's lift s ≥ 0 is pulled back to
the upright with the time constant τ, around it with the spread T (Ornstein and Uhlenbeck's
process, folded at zero); a reading is the size, g(s) (`rules.sweep.excess`), noise, or a bounce:

    p(s' | s) ∝ φ((s' - r·s)/q) + φ((s' + r·s)/q),  r = e^(-Δt/τ),  q² = T²·(1 - r²)

The likelihood of a pass at size D is the chain's, summed over s reading by reading on a grid
(the forward recursion of hidden Markov chains). T and τ are summed out over `SPREADS` and
`LASTS_S`. Asked is then by how much the readings are likelier when

- every pass has a size of its own,
- one pass has, or all from one pass on,
- the size moves evenly with time,

than when all have one, each size that is added being anywhere within `SIZES_NM`. These log Bayes
factors are below zero for a steady part, whatever the hand does, and tens for another part.

One pass between others that stands somewhat high is left to the hand: a lean or a speck of dirt
only lengthens, no part is exchanged for one pass and back, and the size is told by the others.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from statistics import median

import numpy as np

from barrelfit.rules.sweep.excess import Floats
from barrelfit.rules.sweep.finder import Sample
from barrelfit.rules.sweep.passes import rank_low_nm
from barrelfit.rules.sweep.scatters import HALF_NORMAL_MEDIAN
from barrelfit.rules.uncertainty.size_budget import digit_u_nm

APART = 2.3  # log Bayes factors from which the passes are held to differ
# Two or four readings a pass show the tilt of a few moments: quick hands look like two parts more
# often than in one sweep of ten, and parts 30 µm apart still differ by far more.
THIN_READINGS, APART_THIN = 4.5, 4.6
# With each pass more than these, chance has one more place to cut them in two, and two parts are
# further apart.
PASSES_USUAL, APART_MORE, APART_MORE_THIN = 5, 0.5, 1.0
DRIFT = 0.3
LASTS_S = (0.05, 0.2, 0.6)
SPREADS = (0.7, 1.2, 2.0, 3.4)  # of the spread that the median within passes tells
SPREAD_LEAST_NM, SPREAD_MOST_NM, LEAN_MOST_NM = 3_000.0, 20_000.0, 26_000.0
NOISE_NM = 1_050.0  # the last digit's part is added
BARREL_NM = 1_000.0
BOUNCE_SHARE, BOUNCE_NM = 0.03, 60_000.0
SIZES_NM = 200_000.0  # room for a size of its own
LEANT_NM = 40_000.0  # a lean of a third of a degree, from end to end of a pass
LEANT_PASSES = 4  # of fewer, one in three is no exception
BELOW_NM, ABOVE_NM, REACH_NM = 6_000.0, 4_000.0, 130_000.0
STEP_NM = 1_000.0
NEVER = -1e9  # a log likelihood
APART_NM = 8_000.0  # sizes nearer to one another don't count as two
DRIFTS_NM = (9e3, 13e3, 18e3, 25e3, 33e3, 45e3, 60e3, 80e3)
THIN_S = 0.015  # readings nearer than this add cost, and little else
GAP_STEPS = 8  # readings further apart than this have forgotten one another
CALM_NM = 700.0  # least step of the chain, for the grid's sake

_LIFTS: Floats = np.concatenate(
    [np.arange(500, 16e3, 1e3), np.arange(17e3, 34e3, 2e3), np.arange(36.5e3, 100e3, 5e3)]
)
_WIDTHS: Floats = np.diff(
    np.concatenate([[0.0], (_LIFTS[1:] + _LIFTS[:-1]) / 2, [_LIFTS[-1] + 2_500.0]])
)
_RAISED: Floats = np.where(
    _LIFTS < 2 * BARREL_NM, _LIFTS * _LIFTS / (4 * BARREL_NM), _LIFTS - BARREL_NM
)


@dataclass(frozen=True, slots=True)
class Odds:
    """Log Bayes factors against one size for all passes."""

    each: float  # a size for every pass
    one: float  # one pass has its own (but for a high one between others)
    halves: float  # another size from some pass on
    drift: float  # the size moves evenly


def disagreement(passes: Sequence[Sequence[Sample]], digit_nm: int) -> str:
    """Why the passes are not one size; empty when they are.

    Args:
        passes: each pass's crest readings, three passes or more.
        digit_nm: the gauge's last digit.
    """
    odds = odds_of(passes, digit_nm)
    thin = sum(map(len, passes)) < THIN_READINGS * len(passes)
    more = max(len(passes) - PASSES_USUAL, 0)
    least, cut = (APART_THIN, APART_MORE_THIN) if thin else (APART, APART_MORE)
    apart = odds.each > least or max(odds.one, odds.halves) > least + cut * more
    if odds.drift > DRIFT and (not apart or odds.drift > max(odds.one, odds.halves)):
        return "drift"
    if not apart:
        return ""
    return "part-exchanged" if odds.halves >= max(odds.each, odds.one) else "passes-disagree"


def weigh_nothing() -> None:
    """Weigh three passes of nothing: the first time takes tens of ms, later ones few."""
    passes = [[(k * 100_000_000, 0) for k in range(n, n + 5)] for n in (0, 20, 40)]
    disagreement(passes, 1_000)


def odds_of(passes: Sequence[Sequence[Sample]], digit_nm: int) -> Odds:
    """Weigh one common size against the others; lengths in nm, times in ns."""
    curves = _curves(passes, math.hypot(NOISE_NM, digit_u_nm(digit_nm)))
    together = curves.sum(axis=0)
    common = _total(_log_sum(together))
    room = math.log(SIZES_NM / STEP_NM)
    count = len(curves)
    alone = [_log_sum(curve) for curve in curves]
    each = _total(np.sum(alone, axis=0)) - (count - 1) * room
    lows = [rank_low_nm(used) for used in passes]
    one = max(_two_sizes(together - c, c) for n, c in enumerate(curves) if not is_leant(n, lows))
    ahead = np.cumsum(curves, axis=0)
    halves = max(_two_sizes(before, together - before) for before in ahead[:-1])
    centres = np.array([(used[0][0] + used[-1][0]) / 2 for used in passes])
    drift = _drift(curves, centres)
    return Odds(each - common, one - room - common, halves - room - common, drift - common)


def is_leant(number: int, lows_nm: Sequence[int]) -> bool:
    """Whether a pass in the middle of others only stands higher than they do."""
    if len(lows_nm) < LEANT_PASSES or number in {0, len(lows_nm) - 1}:
        return False
    others = sorted(low for n, low in enumerate(lows_nm) if n != number)
    return 0 < lows_nm[number] - others[len(others) // 3] < LEANT_NM


def _two_sizes(most: Floats, rest: Floats) -> float:
    """Log likelihood of two sizes that differ by `APART_NM` or more."""
    sizes = np.arange(most.shape[1])
    near = np.abs(sizes[None, :] - most.argmax(axis=1)[:, None]) < APART_NM / STEP_NM
    return _total(_log_sum(most) + _log_sum(np.where(near, NEVER, rest)))


def _drift(curves: Floats, centres_ns: Floats) -> float:
    """Log likelihood of a size that moves evenly, by any of `DRIFTS_NM` up or down."""
    sizes = curves.shape[2]
    share = (centres_ns - centres_ns[0]) / max(centres_ns[-1] - centres_ns[0], 1.0) - 0.5
    ways = [sign * way for way in DRIFTS_NM for sign in (1.0, -1.0)]
    logs = []
    for way in ways:
        shifts = np.rint(way * share / STEP_NM).astype(int)
        low, high = max(0, -int(shifts.min())), min(sizes, sizes - int(shifts.max()))
        if low < high:
            moved = sum(
                curve[:, low + shift : high + shift]
                for curve, shift in zip(curves, shifts, strict=True)
            )
            logs.append(_total(_log_sum(np.asarray(moved))))
    return _total(np.array(logs)) - math.log(len(ways)) if logs else -math.inf


def _curves(passes: Sequence[Sequence[Sample]], noise_nm: float) -> Floats:
    """Log likelihood by pass, by way of wandering (T, τ) and by size, in steps of `STEP_NM`."""
    lows = [rank_low_nm(used) for used in passes]
    floor = min(lows)
    tops = [sorted(length for _, length in used)[len(used) // 3] for used in passes]
    top = min(max(tops) - floor, REACH_NM)
    sizes = np.arange(-BELOW_NM, top + ABOVE_NM, STEP_NM)
    thinned = [_thinned(used) for used in passes]
    gaps_s = [(b[0] - a[0]) / 1e9 for used in thinned for a, b in pairwise(used)]
    chain = _Chain(_spread_nm(passes, lows), median(gaps_s) if gaps_s else THIN_S, noise_nm)
    return np.array([chain.logs(used, floor, sizes) for used in thinned])


def _thinned(used: Sequence[Sample]) -> list[Sample]:
    kept = [used[0]]
    for sample in used:
        if sample[0] - kept[-1][0] >= THIN_S * 1e9:
            kept.append(sample)
    return kept


def _spread_nm(passes: Sequence[Sequence[Sample]], lows: Sequence[int]) -> float:
    """The tilt's spread within passes, from the median lift over each pass's own low."""
    lifts = [y - low for used, low in zip(passes, lows, strict=True) for _, y in used]
    spread = (sorted(lifts)[len(lifts) // 2] + 500.0) / HALF_NORMAL_MEDIAN
    return min(max(spread, SPREAD_LEAST_NM), SPREAD_MOST_NM)


class _Chain:
    """The forward recursion, for all ways of wandering and all sizes at once."""

    def __init__(self, spread_nm: float, step_s: float, noise_nm: float) -> None:
        self._noise_nm = noise_nm
        ways = [(min(k * spread_nm, LEAN_MOST_NM), last) for k in SPREADS for last in LASTS_S]
        start = np.array([np.exp(-0.5 * (_LIFTS / spread) ** 2) * _WIDTHS for spread, _ in ways])
        self._start = start / start.sum(axis=1, keepdims=True)
        self._moves = {1: np.array([_move(spread, step_s / last) for spread, last in ways])}
        self._step_ns = step_s * 1e9

    def logs(self, used: Sequence[Sample], floor_nm: int, sizes_nm: Floats) -> Floats:
        """Log likelihood of one pass, by way of wandering and by size (over `floor_nm`)."""
        under = sizes_nm[:, None] + _RAISED
        off = np.array([length - floor_nm for _, length in used])[:, None, None] - under
        off /= self._noise_nm
        clean = (1.0 - BOUNCE_SHARE) / (self._noise_nm * math.sqrt(2 * math.pi))
        seen = np.exp(-0.5 * off * off)
        seen *= clean
        seen += BOUNCE_SHARE / (2 * BOUNCE_NM)
        stood = self._start[:, None, :] * seen[0]
        shares = np.empty((len(used), *stood.shape[:2]))
        for n, ((t_ns, _), now) in enumerate(zip(used, seen, strict=True)):
            if n:
                stood = stood @ self._move_over(t_ns - used[n - 1][0])
                stood *= now
            np.sum(stood, axis=2, out=shares[n])
            stood /= shares[n, :, :, None]
        total: Floats = np.log(shares).sum(axis=0)
        return total

    def _move_over(self, gap_ns: int) -> Floats:
        """The chain over a gap: as many steps as fit."""
        steps = min(max(round(gap_ns / self._step_ns), 1), GAP_STEPS)
        if steps not in self._moves:
            self._moves[steps] = np.linalg.matrix_power(self._moves[1], steps)
        return self._moves[steps]


def _move(spread_nm: float, share_of_last: float) -> Floats:
    """One step of the chain: from each lift (row) to each (column)."""
    keep = math.exp(-share_of_last)
    push = max(spread_nm * math.sqrt(1.0 - keep * keep), CALM_NM)
    there, here = _LIFTS[None, :], keep * _LIFTS[:, None]
    sides = [np.exp(-0.5 * ((there + sign * here) / push) ** 2) for sign in (-1.0, 1.0)]
    move = (sides[0] + sides[1]) * _WIDTHS[None, :]
    shares: Floats = move / move.sum(axis=1, keepdims=True)
    return shares


def _log_sum(logs: Floats) -> Floats:
    """Log of the sum over the last axis of numbers given by their logs."""
    top = logs.max(axis=-1, keepdims=True)
    total: Floats = (top + np.log(np.exp(logs - top).sum(axis=-1, keepdims=True)))[..., 0]
    return total


def _total(logs: Floats) -> float:
    """Log of the mean of numbers given by their logs."""
    return float(_log_sum(logs[None, :])[0]) - math.log(len(logs))
