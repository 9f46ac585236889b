"""Displays that average: by how much that lifts a bore's reversal point, and whether one does.

A display that shows the mean over a window w of a rock y = D + k·t² shows its turn too high by
k·w²/12: the variance of a time that is spread evenly over w. Where a reading is the mean of the
last n conversions, and one is sent after each, w² = (n² - 1)·Δt², because the conversions
themselves are moments.

Where nobody said so, the readings may tell: a display's means share conversions, so the noise of
neighbours is alike, by 1 - |i - j|/n, while rounding is each reading's own. Each n up to
`MEANS_MOST` is weighed by the restricted likelihood of the rocks' residuals (Patterson and
Thompson): the size and a path of `TERMS` terms are fitted beside that noise, and don't count as
information on it. A hand's tremor looks alike, and few displays average; so n = 1 stands unless all
that speaks for it is less than `UNSURE`.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

MEANS = {1: 0.85, 2: 0.05, 3: 0.05, 4: 0.05}  # n: prior share
UNSURE = 0.05
TERMS = 4  # of a path
ROCKS_MOST = 8


@dataclass(frozen=True, slots=True)
class Residuals:
    """One rock's readings beside its fit.

    Times (s, from the turn), residuals (µm), and how the height rises with the path there
    (µm per unit of path).
    """

    times_s: Sequence[float]
    off_um: Sequence[float]
    slopes_um: Sequence[float]


def excess_share(window_s2: float) -> float:
    """What k (nm/s²) is multiplied by for the excess of a window whose square is `window_s2`."""
    return window_s2 / 12.0


def told_window(
    rocks: Sequence[Residuals], step_s: float, rounding_share: float
) -> tuple[float, float]:
    """The mean square window w² (s²) that the readings tell, and its own doubt as a share of it.

    Both are 0 where the readings tell of none.

    Args:
        rocks: each rock's residuals.
        step_s: the usual time between readings.
        rounding_share: the last digit's part of the residuals' variance.
    """
    logs = [
        math.log(prior) + _log_likelihood(rocks[:ROCKS_MOST], n, step_s, rounding_share)
        for n, prior in MEANS.items()
    ]
    best = max(logs)
    shares = [math.exp(log - best) for log in logs]
    total = sum(shares)
    if shares[0] > UNSURE * total:
        return 0.0, 0.0
    squares = [(n * n - 1.0) * step_s * step_s for n in MEANS]
    mean = sum(s * q for s, q in zip(shares, squares, strict=True)) / total
    spread = sum(s * (q - mean) ** 2 for s, q in zip(shares, squares, strict=True)) / total
    return mean, math.sqrt(spread) / mean


def _log_likelihood(
    rocks: Sequence[Residuals], means: int, step_s: float, rounding_share: float
) -> float:
    """Restricted log likelihood of all rocks, their common noise profiled out."""
    squares = halves = 0.0
    free = 0
    for rock in rocks:
        count = len(rock.times_s)
        if count <= TERMS + 2:
            continue
        part_squares, part_halves = _reduced(
            rock, _factor(_turns(rock.times_s, step_s), means, rounding_share)
        )
        squares += part_squares
        halves += part_halves
        free += count - TERMS - 1
    if free == 0 or squares <= 0.0:
        return 0.0
    return -halves - free / 2 * math.log(squares / free)


def _reduced(rock: Residuals, lower: Sequence[Sequence[float]]) -> tuple[float, float]:
    """Whitened squares with size and path taken out, and half the log determinants."""
    reach = max(abs(rock.times_s[0]), abs(rock.times_s[-1]))
    columns = [[1.0] * len(rock.times_s)]
    columns += [
        [s * (t / reach) ** k for s, t in zip(rock.slopes_um, rock.times_s, strict=True)]
        for k in range(TERMS)
    ]
    whole = [_whitened(lower, column) for column in (*columns, rock.off_um)]
    halves = sum(math.log(row[-1]) for row in lower)
    # Gram and Schmidt: what is left of each column beside those before it.
    for k, column in enumerate(whole):
        length2 = sum(c * c for c in column)
        if k == len(columns):
            return length2, halves
        if length2 <= 0.0:
            continue
        halves += 0.5 * math.log(length2)
        for later in whole[k + 1 :]:
            along = sum(a * b for a, b in zip(column, later, strict=True)) / length2
            for i, c in enumerate(column):
                later[i] -= along * c
    return 0.0, halves


def _turns(times_s: Sequence[float], step_s: float) -> list[int]:
    """The numbers of the display's conversions that were sent at those times."""
    turns = [0]
    for before, now in pairwise(times_s):
        turns.append(turns[-1] + max(round((now - before) / step_s), 1))
    return turns


def _factor(turns: Sequence[int], means: int, rounding_share: float) -> list[list[float]]:
    """Cholesky's factor of the noise's covariance (its scale is 1), by rows of a narrow band."""
    rows: list[list[float]] = []
    for i, turn in enumerate(turns):
        begin = max(0, i + 1 - len(MEANS))
        row: list[float] = []
        for j in range(begin, i + 1):
            shared = max(0.0, 1.0 - (turn - turns[j]) / means)
            value = (1.0 - rounding_share) * shared + (rounding_share if i == j else 0.0)
            other = row if j == i else rows[j]
            first = j + 1 - len(other) if j < i else begin
            low = max(begin, first)
            value -= sum(
                row[m - begin] * (row[m - begin] if j == i else other[m - first])
                for m in range(low, j)
            )
            row.append(math.sqrt(max(value, 1e-6)) if j == i else value / other[-1])
        rows.append(row)
    return rows


def _whitened(lower: Sequence[Sequence[float]], column: Sequence[float]) -> list[float]:
    """Solve the factor's equations for a column."""
    found: list[float] = []
    for i, row in enumerate(lower):
        begin = i + 1 - len(row)
        rest = column[i] - sum(a * found[begin + m] for m, a in enumerate(row[:-1]))
        found.append(rest / row[-1])
    return found
