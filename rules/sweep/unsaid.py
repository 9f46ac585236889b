"""An outside size where nobody said whether the display averages: by each window that it may have.

A crest that is averaged hides where its tilt passes the upright, and reads too large; near its ends
it is partly of the flanks, and reads too small. So the size is asked anew for each window that the
readings leave open (`rules.sweep.shared`), as if somebody had said it, and every answer has its
share in size, doubt and interval. Where the readings tell that the display does not average, as
they nearly always do at 50 readings a second, its size stays as it is.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from statistics import median

from barrelfit.rules.sweep.nouns import GaugeTraits, SweepRefused
from barrelfit.rules.sweep.passes import PassesOutcome
from barrelfit.rules.sweep.posterior import Posterior, joined, widened
from barrelfit.rules.sweep.refusals import refuse
from barrelfit.rules.sweep.shared import log_shares, usual_step_ns
from barrelfit.rules.uncertainty.size_budget import digit_u_nm

SHARE_LEAST = 0.01
UNKNOWN_SHARE = 0.5  # of windows for which a sweep is too quick
# By so much a sweep is off that is too quick for a window: of how high its middle reading stands.
UNKNOWN_OF_LIFT, UNKNOWN_LEAST_NM, UNKNOWN_MOST_NM = 0.2, 500.0, 3_000.0
DOUBT_MAX_NM = 2_500.0
NS_PER_MS = 1e6

Sized = PassesOutcome | SweepRefused


@dataclass(frozen=True, slots=True)
class _Way:
    """One window: its share, and what the sweep tells with it."""

    share: float
    found: Sized


def size_unsaid(traits: GaugeTraits, size: Callable[[GaugeTraits], Sized]) -> Sized:
    """The size with each window's share in it, or the refusal where a window would matter.

    Args:
        traits: the gauge; where somebody said for how long it averages, nothing is weighed.
        size: what the sweep tells of a gauge, as if its display did not average where nobody said.
    """
    plain = size(traits)
    if isinstance(plain, SweepRefused) or traits.averages_ms is not None:
        return plain
    step_ms = usual_step_ns([crossing.used for crossing in plain.crossings]) / NS_PER_MS
    ways = [
        _Way(share, plain if n == 1 else size(replace(traits, averages_ms=_window_ms(n, step_ms))))
        for n, share in _shares(plain, traits.digit_nm).items()
    ]
    if len(ways) == 1 and ways[0].found is plain:
        return plain
    unknown = sum(way.share for way in ways if isinstance(way.found, SweepRefused))
    posterior = joined([(way.share, _posterior(way.found, plain)) for way in ways])
    doubt_max_nm = math.hypot(DOUBT_MAX_NM, digit_u_nm(traits.digit_nm))
    if unknown > UNKNOWN_SHARE or posterior.sd_nm > doubt_max_nm:
        return refuse("average-unknown", traits.movement)
    sized = [(w.share, w.found) for w in ways if not isinstance(w.found, SweepRefused)]
    _, likeliest = max(sized, key=lambda way: way[0])
    return replace(likeliest, posterior=posterior)


def _window_ms(means: int, step_ms: float) -> int:
    """For how long the mean of so many moments averages."""
    return round(math.sqrt(means * means - 1) * step_ms)


def _shares(plain: PassesOutcome, digit_nm: int) -> dict[int, float]:
    """How many conversions a reading may be the mean of, with their shares."""
    logs = log_shares([crossing.used for crossing in plain.crossings], digit_nm)
    best = max(logs.values())
    shares = {n: math.exp(log - best) for n, log in logs.items()}
    least = SHARE_LEAST * sum(shares.values())
    kept = {n: share for n, share in shares.items() if share >= least}
    total = sum(kept.values())
    return {n: share / total for n, share in kept.items()}


def _posterior(found: Sized, plain: PassesOutcome) -> Posterior:
    if not isinstance(found, SweepRefused):
        return found.posterior
    mean = plain.posterior.mean_nm
    lift_nm = median(length for c in plain.crossings for _, length in c.used) - mean
    u_nm = min(max(UNKNOWN_OF_LIFT * lift_nm, UNKNOWN_LEAST_NM), UNKNOWN_MOST_NM)
    return widened(plain.posterior, u_nm)
