"""What repeated readings on standards say of a gauge: how well it is set, and where it errs.

* Rounds on one standard, the gauge set anew before each: a balanced nested design (GUM H.5) parts
  the scatter within a round (the hand) from the scatter between rounds (the setting).
* Readings on standards of several lengths: a least-squares line of the error (GUM H.3), with the
  correlation of its two parameters in the uncertainty of every error read off it.

Sums are exact (see `rules.sample`).
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from rules.sample import deviation, mean, root, variance

ROUNDS_MIN = 2
POINTS_MIN = 3
Number = int | Fraction


@dataclass(frozen=True, slots=True)
class Nested:
    """Rounds of equally many readings each, in the unit of the readings.

    Attributes:
        mean: of all readings.
        u_mean: standard uncertainty of the mean, rounds taken as the units that vary.
        s_within: deviation within a round.
        s_between: deviation between rounds beyond what s_within explains, 0 when there is none.
        s_rounds: deviation of the rounds' means, which holds both.
        f: ratio of the two estimates of the variance within; large when rounds differ.
        dof_within: degrees of freedom of s_within.
        dof_rounds: degrees of freedom of s_rounds.
    """

    mean: Fraction
    u_mean: float
    s_within: float
    s_between: float
    s_rounds: float
    f: float
    dof_within: int
    dof_rounds: int


def nested(rounds: Sequence[Sequence[Number]]) -> Nested:
    """Analyse rounds of readings, the same number of two or more in each of two or more rounds.

    Raises:
        ValueError: too few rounds or readings, or rounds of different length.
    """
    counts = {len(one) for one in rounds}
    if len(rounds) < ROUNDS_MIN or len(counts) != 1 or min(counts) < ROUNDS_MIN:
        msg = "two or more rounds with the same number of readings, two or more, are needed"
        raise ValueError(msg)
    variances = [variance(one) for one in rounds]
    return nested_from([mean(one) for one in rounds], variances, counts.pop())


def nested_from(means: Sequence[Number], variances: Sequence[Number], count: int) -> Nested:
    """The same from the means and variances of rounds of `count` readings each (H.5.2)."""
    within = mean(variances)
    of_means = variance(means)
    between = of_means - within / count  # (H.28b), (H.31)
    return Nested(
        mean=mean(means),
        u_mean=root(of_means / len(means)),
        s_within=root(within),
        s_between=root(max(between, Fraction(0))),
        s_rounds=deviation(means),
        f=float(count * of_means / within) if within else math.inf,
        dof_within=len(means) * (count - 1),
        dof_rounds=len(means) - 1,
    )


@dataclass(frozen=True, slots=True)
class Line:
    """A least-squares line y = at_reference + slope·(x - reference), in the units of its points.

    Attributes:
        reference: the x at which the line is anchored.
        at_reference: the line's value there.
        slope: of the line.
        u_at_reference: standard uncertainty of at_reference.
        u_slope: standard uncertainty of slope.
        r: correlation coefficient of the two.
        s: deviation of the points from the line.
        dof: degrees of freedom, two fewer than points.
    """

    reference: float
    at_reference: float
    slope: float
    u_at_reference: float
    u_slope: float
    r: float
    s: float
    dof: int

    def value(self, x: float) -> float:
        """The line at `x`."""
        return self.at_reference + self.slope * (x - self.reference)

    def u(self, x: float) -> float:
        """Standard uncertainty of the line at `x`, the correlation included (H.15)."""
        off = x - self.reference
        a, b = self.u_at_reference, off * self.u_slope
        return math.sqrt(max(0.0, a * a + b * b + 2.0 * self.r * a * b))


def fit_line(points: Sequence[tuple[Number, Number]], reference: Number) -> Line:
    """Fit a line through three or more points by least squares (H.13).

    Args:
        points: (x, y); three or more, not all of one x.
        reference: the x at which to anchor the line.

    Raises:
        ValueError: too few points, or all of one x.
    """
    n = len(points)
    xs = [Fraction(x) - reference for x, _ in points]
    ys = [Fraction(y) for _, y in points]
    sum_x, sum_xx = sum(xs, Fraction(0)), sum((x * x for x in xs), Fraction(0))
    spread = n * sum_xx - sum_x * sum_x
    if n < POINTS_MIN or spread == 0:
        msg = "three or more points, not all of one length, are needed for a line"
        raise ValueError(msg)
    sum_y, sum_xy = sum(ys, Fraction(0)), sum((x * y for x, y in zip(xs, ys, strict=True)), 0)
    anchor = (sum_y * sum_xx - sum_xy * sum_x) / spread
    slope = (n * sum_xy - sum_x * sum_y) / spread
    rest = sum(((y - anchor - slope * x) ** 2 for x, y in zip(xs, ys, strict=True)), Fraction(0))
    about = rest / (n - 2)
    return Line(
        reference=float(reference),
        at_reference=float(anchor),
        slope=float(slope),
        u_at_reference=root(about * sum_xx / spread),
        u_slope=root(about * n / spread),
        r=-float(sum_x) / math.sqrt(float(n * sum_xx)) if sum_xx else 0.0,
        s=root(about),
        dof=n - 2,
    )
