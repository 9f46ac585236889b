"""The ways in which a crest's readings may scatter, each with what is usual of it.

Noise and barrel are those of a few steps (`rules.sweep.lessons`), or a noise about what the gauge
showed at rest; the spread of the tilt is told by the readings themselves.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import product

from barrelfit.rules.sweep.excess import (
    Scatter,
    lift_to_tilt,
    make_averaged_tables,
    make_tables,
)
from barrelfit.rules.sweep.lessons import BARRELS_NM, NOISES_NM
from barrelfit.rules.uncertainty.size_budget import digit_u_nm

# Of the spread the median tells: prior share. A still hand's median is mostly noise.
SPREADS = {0.3: 0.03, 0.8: 0.29, 1.25: 0.39, 1.8: 0.29}
SPREAD_MIN_NM = 500.0
SPREAD_MAX_NM = 27_000.0  # a hand holds a quarter of a degree; wider is not a sweep of one size
STILL_STEPS = {-1: 0.3, 0: 0.4, 1: 0.2}  # fifths from noise at the stop to that in contact: share
STILL_UNLIKE = 0.1  # of the prior shares, when the gauge stood still
STILL_LEAST_NM = 250.0
HALF_NORMAL_MEDIAN = 0.6745


@dataclass(frozen=True, slots=True)
class Way:
    """A way of scattering: the prior share of its noise and barrel, and of its spread."""

    scatter: Scatter
    pair_share: float
    spread_share: float


def scatters_for(ordered: Sequence[int], digit_nm: int, still_nm: float | None = None) -> list[Way]:
    """The ways of scattering that the readings (sorted, nm) leave open, with their shares.

    The spread comes from the median, which bounces don't move: half of a half-normal lies under
    0.6745 spreads. It is rounded to steps of a fifth so that tables recur.
    """
    noises, answer = _noises(digit_nm, still_nm), []
    lifts = _median_lifts_nm(ordered, digit_nm)
    for (barrel, share), lift in product(BARRELS_NM.items(), lifts):
        tilt = lift_to_tilt(lift, barrel) / HALF_NORMAL_MEDIAN
        for factor, part in SPREADS.items():
            spread = _spread_step(factor * tilt)
            answer += [
                Way(Scatter(noise, barrel, spread), share * likely, part / len(lifts))
                for noise, likely in noises.items()
            ]
    return answer


def _median_lifts_nm(ordered: Sequence[int], digit_nm: int) -> list[int]:
    """How high the median may lie above the floor: where digits are coarse, on one and the same."""
    lift = max(ordered[len(ordered) // 2] - ordered[len(ordered) // 20], 0)
    if lift >= digit_nm:
        return [lift + 500]
    return [lift + 500 + more for more in (0, digit_nm // 2, digit_nm)]


def _noises(digit_nm: int, still_nm: float | None) -> dict[int, float]:
    """Noises in contact (nm), with their shares.

    Where the gauge stood still, its noise there is the likeliest, but contact may add to it. A
    stop that shows no noise at all tells nothing.
    """
    if still_nm is None or still_nm < STILL_LEAST_NM:
        return NOISES_NM
    shares = {noise: STILL_UNLIKE * share for noise, share in NOISES_NM.items()}
    alone_nm = math.sqrt(max(still_nm**2 - digit_u_nm(digit_nm) ** 2, min(NOISES_NM) ** 2))
    for more, share in STILL_STEPS.items():
        noise = _in_fifths(alone_nm, more)
        shares[noise] = shares.get(noise, 0.0) + share
    return shares


def prepare_scatters(digit_nm: int, *, averages: bool) -> None:
    """Make the tables that sweeps of a gauge with this last digit will ask for, ahead of time.

    Their making takes tens of ms at the first sizes, else in the middle of somebody's work; that
    of those that only a display asks for that `averages` takes half a second.
    """
    steps = range(round(math.log(SPREAD_MIN_NM, 1.2)), round(math.log(SPREAD_MAX_NM, 1.2)) + 1)
    spreads = sorted({_spread_step(1.2**step) for step in steps})
    for noise in NOISES_NM:
        for barrel, spread in product(BARRELS_NM, spreads):
            make_tables(Scatter(noise, barrel, spread), digit_nm)
        if averages:
            make_averaged_tables(noise, spreads)


def _spread_step(spread_nm: float) -> int:
    return _in_fifths(min(max(spread_nm, SPREAD_MIN_NM), SPREAD_MAX_NM))


def _in_fifths(length_nm: float, more: int = 0) -> int:
    """A length in steps of a fifth, so that tables recur; `more` steps further."""
    return round(1_000 * 1.2 ** (round(math.log(length_nm / 1_000, 1.2)) + more))
