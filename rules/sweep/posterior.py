"""Densities of a size on a grid: moments, quantiles, products. Sizes are nm."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from barrelfit.rules.uncertainty.student import normal_tail

NORMAL_95 = 1.959964  # standard deviations to either side
QUANTILE_REACH, QUANTILE_HALVINGS = 8.0, 50
TINY_NM = 1e-3


@dataclass(frozen=True, slots=True)
class Posterior:
    """Where a size lies: mean, standard deviation and central 95 % of its density, in nm."""

    mean_nm: float
    sd_nm: float
    low_nm: float
    high_nm: float


def moments(log_by_size: Mapping[int, float]) -> Posterior:
    """Mean, deviation and 95 % interval of a density given by its log (not normalised)."""
    best = max(log_by_size.values())
    weights = [(size, math.exp(log - best)) for size, log in sorted(log_by_size.items())]
    total = sum(weight for _, weight in weights)
    mean = sum(size * weight for size, weight in weights) / total
    square = sum((size - mean) ** 2 * weight for size, weight in weights) / total
    low, high = (_quantile(weights, share * total) for share in (0.025, 0.975))
    return Posterior(mean, math.sqrt(square), low, high)


def _quantile(weights: Sequence[tuple[int, float]], share: float) -> float:
    """The size below which `share` of the (not normalised) weight lies."""
    run = 0.0
    for (size, weight), (after, _) in pairwise(weights):
        if run + weight >= share:
            return size + (after - size) * ((share - run) / weight - 0.5)
        run += weight
    return float(weights[-1][0])


def mixed(parts: Sequence[tuple[float, float, float]], stretch: float = 1.0) -> Posterior:
    """The density that is made of normal ones, as seen from the mean of the first of them.

    Args:
        parts: of each its share, mean and standard deviation (nm); the shares sum to 1.
        stretch: by how much wider than a normal one's each is where its 95 % are concerned.
    """
    mean = parts[0][1]
    square = sum(share * (u * u + (m - mean) ** 2) for share, m, u in parts)
    low, high = (_normals_quantile(parts, stretch, below) for below in (0.025, 0.975))
    return Posterior(mean, math.sqrt(square), min(low, mean), max(high, mean))


def joined(parts: Sequence[tuple[float, Posterior]]) -> Posterior:
    """The density that is made of others, each a normal one about its mean with sides of their own.

    Args:
        parts: of each its share and what it says; the shares sum to 1.
    """
    mean = sum(share * p.mean_nm for share, p in parts)
    square = sum(share * (p.sd_nm**2 + (p.mean_nm - mean) ** 2) for share, p in parts)
    low, high = (_joined_quantile(parts, below) for below in (0.025, 0.975))
    return Posterior(mean, math.sqrt(square), min(low, mean), max(high, mean))


def _joined_quantile(parts: Sequence[tuple[float, Posterior]], below: float) -> float:
    low = min(p.mean_nm - QUANTILE_REACH * (p.mean_nm - p.low_nm) for _, p in parts)
    high = max(p.mean_nm + QUANTILE_REACH * (p.high_nm - p.mean_nm) for _, p in parts)
    for _ in range(QUANTILE_HALVINGS):
        middle = (low + high) / 2
        share = sum(share * _share_below(p, middle) for share, p in parts)
        low, high = (middle, high) if share < below else (low, middle)
    return (low + high) / 2


def _share_below(posterior: Posterior, length_nm: float) -> float:
    mean = posterior.mean_nm
    reach = mean - posterior.low_nm if length_nm < mean else posterior.high_nm - mean
    return normal_tail(NORMAL_95 * (mean - length_nm) / max(reach, TINY_NM))


def _normals_quantile(
    parts: Sequence[tuple[float, float, float]], stretch: float, below: float
) -> float:
    low = min(m - QUANTILE_REACH * stretch * u for _, m, u in parts)
    high = max(m + QUANTILE_REACH * stretch * u for _, m, u in parts)
    for _ in range(QUANTILE_HALVINGS):
        middle = (low + high) / 2
        share = sum(p * normal_tail((m - middle) / (stretch * u)) for p, m, u in parts)
        low, high = (middle, high) if share < below else (low, middle)
    return (low + high) / 2


def moved(posterior: Posterior, by_nm: float) -> Posterior:
    """The posterior of a size that lies `by_nm` higher."""
    mean, low, high = (x + by_nm for x in (posterior.mean_nm, posterior.low_nm, posterior.high_nm))
    return Posterior(mean, posterior.sd_nm, low, high)


def widened(posterior: Posterior, model_nm: float) -> Posterior:
    """The posterior with `model_nm` (one standard deviation) that its model can't know, added.

    Both sides of the interval grow by the model's own 95 %, in quadrature: a density narrower than
    the grid's step stays an interval of that kind.
    """
    mean, reach_nm = posterior.mean_nm, NORMAL_95 * model_nm
    return Posterior(
        mean,
        math.hypot(posterior.sd_nm, model_nm),
        mean - math.hypot(mean - posterior.low_nm, reach_nm),
        mean + math.hypot(posterior.high_nm - mean, reach_nm),
    )
