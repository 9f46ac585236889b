"""What repeated readings on standards say of a gauge: how well it is set, and where it errs.

* Rounds on one standard, the gauge set anew before each: a balanced nested design (GUM H.5) parts
  the scatter within a round (the hand) from the scatter between rounds (the setting).
* Readings on standards of several lengths: a least-squares line of the error (GUM H.3), with the
  correlation of its two parameters in the uncertainty of every error read off it.

Sums are exact (see `rules.uncertainty.sample`).
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from barrelfit.rules.uncertainty.sample import deviation, mean, root, variance

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
class FittedLine:
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


def fit_line(points: Sequence[tuple[Number, Number]], reference: Number) -> FittedLine:
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
    return FittedLine(
        reference=float(reference),
        at_reference=float(anchor),
        slope=float(slope),
        u_at_reference=root(about * sum_xx / spread),
        u_slope=root(about * n / spread),
        r=-float(sum_x) / math.sqrt(float(n * sum_xx)) if sum_xx else 0.0,
        s=root(about),
        dof=n - 2,
    )


@dataclass(frozen=True, slots=True)
class Study:
    """What readings on standards say of a gauge as it is set, in nm.

    Attributes:
        error_nm: what the gauge shows too much.
        u_error_nm: standard uncertainty of error_nm from the readings alone.
        repeat_nm: standard uncertainty that one setting (or the line) adds to each size.
        dof: degrees of freedom of both.
        within_nm: deviation within a round, None where rounds are single readings or for a line.
        f: ratio of variances between and within rounds, None likewise.
    """

    error_nm: float
    u_error_nm: float
    repeat_nm: float
    dof: int
    within_nm: float | None = None
    f: float | None = None


def study_setting(standard_nm: int, rounds_nm: Sequence[Sequence[int]]) -> Study:
    """Study rounds of readings on one standard, the gauge set anew before each round.

    A bench sets its gauge once, so the deviation between rounds counts for each of its sizes, not
    that of their mean.

    Args:
        standard_nm: length of the standard, in nm.
        rounds_nm: the readings of each round, in nm; rounds of equal length.

    Raises:
        ValueError: fewer than two rounds, or rounds of different length.
    """
    deviations = [[reading - standard_nm for reading in one] for one in rounds_nm]
    if all(len(one) == 1 for one in deviations) and len(deviations) >= ROUNDS_MIN:
        singles = [one[0] for one in deviations]
        s = deviation(singles)
        n = len(singles)
        return Study(float(mean(singles)), s / math.sqrt(n), s, n - 1)
    found = nested(deviations)
    return Study(
        error_nm=float(found.mean),
        u_error_nm=found.u_mean,
        repeat_nm=found.s_rounds,
        dof=found.dof_rounds,
        within_nm=found.s_within,
        f=found.f,
    )


def study_line(readings_nm: Sequence[tuple[int, int]], at_nm: int) -> Study:
    """Study readings on standards of three or more lengths: the error at one length.

    Args:
        readings_nm: (standard, reading), in nm.
        at_nm: the length of which the error is wanted.

    Raises:
        ValueError: fewer than three readings, or all of one length.
    """
    line = fit_line([(standard, reading - standard) for standard, reading in readings_nm], at_nm)
    u_nm = line.u(float(at_nm))
    return Study(line.value(float(at_nm)), u_nm, u_nm, line.dof)
