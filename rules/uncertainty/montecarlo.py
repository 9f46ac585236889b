"""Propagation of distributions by Monte Carlo (JCGM 101), as a check of a budget.

Chance is an argument: a NumPy generator, seeded by the caller. Nothing that runs on a bench imports
this module, since NumPy is slow to load. A budget says that its result is normal (or t) and linear
in its causes; this draws the causes themselves, so it shows where that is not so.
"""

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from barrelfit.rules.uncertainty.budget import CONFIDENCE, Budget, Component

Draws = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Normal:
    """Normal distribution (JCGM 101, 6.4.7)."""

    centre: float
    u: float

    def draw(self, chance: np.random.Generator, trials: int) -> Draws:
        """Draw `trials` values."""
        return chance.normal(self.centre, self.u, trials)


@dataclass(frozen=True, slots=True)
class Student:
    """Scaled and shifted t distribution (6.4.9): `u` is the scale, not the deviation."""

    centre: float
    u: float
    dof: float

    def draw(self, chance: np.random.Generator, trials: int) -> Draws:
        """Draw `trials` values."""
        return self.centre + self.u * chance.standard_t(self.dof, trials)


@dataclass(frozen=True, slots=True)
class Rectangular:
    """Rectangular distribution from `low` to `high` (6.4.2)."""

    low: float
    high: float

    def draw(self, chance: np.random.Generator, trials: int) -> Draws:
        """Draw `trials` values."""
        return chance.uniform(self.low, self.high, trials)


@dataclass(frozen=True, slots=True)
class CurvedTrapezoid:
    """Rectangular distribution whose limits are known only to ± `edge` (6.4.3)."""

    low: float
    high: float
    edge: float

    def draw(self, chance: np.random.Generator, trials: int) -> Draws:
        """Draw `trials` values."""
        low = self.low - self.edge + 2.0 * self.edge * chance.random(trials)
        high = self.low + self.high - low
        return low + (high - low) * chance.random(trials)


@dataclass(frozen=True, slots=True)
class Arcsine:
    """Arcsine (U-shaped) distribution from `low` to `high` (6.4.6), as of a cycling temperature."""

    low: float
    high: float

    def draw(self, chance: np.random.Generator, trials: int) -> Draws:
        """Draw `trials` values."""
        centre, half = (self.low + self.high) / 2.0, (self.high - self.low) / 2.0
        return centre + half * np.sin(2.0 * math.pi * chance.random(trials))


Distribution = Normal | Student | Rectangular | CurvedTrapezoid | Arcsine


@dataclass(frozen=True, slots=True)
class Propagated:
    """What the trials gave, in the unit of the model's result.

    Attributes:
        mean: average of the results.
        u: standard deviation of the results.
        low: lower end of the shortest interval of the probability asked for (5.3.4).
        high: upper end of it.
    """

    mean: float
    u: float
    low: float
    high: float


def propagate(
    model: Callable[[Mapping[str, Draws]], Draws],
    inputs: Mapping[str, Distribution],
    chance: np.random.Generator,
    trials: int,
    p: float = CONFIDENCE,
) -> Propagated:
    """Draw the inputs, put them through the model, and describe the results.

    Args:
        model: from the drawn inputs by name (arrays of shape (trials,)) to the results, same shape.
        inputs: distribution of each independent input, by name.
        chance: seeded generator.
        trials: number of draws; the interval needs well over 1 / (1 - p) of them.
        p: probability of the interval, 0 to 1.
    """
    results = model({name: one.draw(chance, trials) for name, one in inputs.items()})
    low, high = shortest_interval(results, p)
    return Propagated(float(results.mean()), float(results.std(ddof=1)), low, high)


def shortest_interval(results: Draws, p: float) -> tuple[float, float]:
    """The shortest interval that holds the share `p` of the results (JCGM 101, 7.7)."""
    ordered = np.sort(results)
    inside = math.ceil(p * len(ordered))
    widths = ordered[inside - 1 :] - ordered[: len(ordered) - inside + 1]
    first = int(np.argmin(widths))
    return float(ordered[first]), float(ordered[first + inside - 1])


def propagate_budget(
    budget: Budget, chance: np.random.Generator, trials: int, p: float = CONFIDENCE
) -> Propagated:
    """Draw every cause of a budget from its own distribution; the deviations from the value, in nm.

    A check of the interval: the budget's own takes the sum for normal or t.
    """
    causes = {str(number): _distribution(one) for number, one in enumerate(budget.causes)}

    def total(drawn: Mapping[str, Draws]) -> Draws:
        results = np.zeros(trials)
        for draws in drawn.values():
            results += draws
        return results

    return propagate(total, causes, chance, trials, p)


def _distribution(cause: Component) -> Distribution:
    half_width = cause.u_nm * math.sqrt(3.0)
    if cause.distribution == "rectangular":
        return Rectangular(-half_width, half_width)
    if math.isfinite(cause.dof):
        return Student(0.0, cause.u_nm, cause.dof)
    return Normal(0.0, cause.u_nm)
