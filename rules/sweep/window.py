"""Displays that average: by how much that lifts a bore's reversal point, and whether one does.

A display that shows the mean over a window w of a rock y = D + k·t² shows its turn too high by
k·w²/12: the variance of a time that is spread evenly over w. Where a reading is the mean of the
last n conversions, and one is sent after each, w² = (n² - 1)·Δt², because the conversions
themselves are moments.

Where nobody said so, the readings may tell, in two ways. A display's means share conversions, so
the noise of neighbours is alike, by 1 - |i - j|/n, while rounding is each reading's own. Each n is
weighed by the restricted likelihood of the rocks' residuals (Patterson and Thompson): the size and
a path of `TERMS` terms are fitted beside that noise, and don't count as information on it. A hand's
tremor makes neighbours alike, too, but leaves them noise of their own (`TREMORS`); so what tremors
explain as well is no average. And rocks of other speeds have another k: only without its excess do
they tell one size (`rules.sweep.averaged`). At 50 readings a second the noise tells nearly all, at
10 the speeds do. All n that are left have their say in the size, each with its share.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

# n: prior share. Means of two are hard to tell, so they must not be thought unlikely.
MEANS = {1: 0.54, 2: 0.14, 3: 0.08, 4: 0.05, 5: 0.01, 6: 0.01, 8: 0.01}
# For how long a tremor lasts (s), and each reading's own share of the noise: prior share.
TREMORS = {(0.1, 0.4): 0.05, (0.16, 0.2): 0.05, (0.2, 0.1): 0.06}
# Of what the readings say: what a path of a few terms leaves is not the gauge's noise alone.
WEIGHT = 0.4
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


def log_shares(
    rocks: Sequence[Residuals], step_s: float, rounding_share: float | None
) -> dict[int, float]:
    """How likely it is that a reading is the mean of n conversions, by n: logs, not normalised.

    Args:
        rocks: each rock's residuals.
        step_s: the usual time between readings.
        rounding_share: the last digit's part of the residuals' variance; None where they are
            more than noise and tell nothing.
    """
    if rounding_share is None:
        logs = {n: math.log(prior) for n, prior in MEANS.items()}
        return logs | {1: math.log(MEANS[1] + sum(TREMORS.values()))}
    ways = [(n, float(n), rounding_share, prior) for n, prior in MEANS.items()]
    ways += [
        (1, max(lasts_s / step_s, 1.0), own, prior) for (lasts_s, own), prior in TREMORS.items()
    ]
    found: dict[int, list[float]] = {}
    for n, lasts, own, prior in ways:
        told = WEIGHT * _log_likelihood(rocks[:ROCKS_MOST], lasts, step_s, own)
        found.setdefault(n, []).append(math.log(prior) + told)
    return {n: _log_sum(logs) for n, logs in found.items()}


def _log_sum(logs: Sequence[float]) -> float:
    best = max(logs)
    return best + math.log(sum(math.exp(log - best) for log in logs))


def _log_likelihood(rocks: Sequence[Residuals], lasts: float, step_s: float, own: float) -> float:
    """Restricted log likelihood of all rocks, their common noise profiled out.

    Noise lasts for so many readings, but for the share of it that is each reading's `own`.
    """
    squares = halves = 0.0
    free = 0
    for rock in rocks:
        count = len(rock.times_s)
        if count <= TERMS + 2:
            continue
        part_squares, part_halves = _reduced(
            rock, _factor(_turns(rock.times_s, step_s), lasts, own)
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


def _factor(turns: Sequence[int], lasts: float, own: float) -> list[list[float]]:
    """Cholesky's factor of the noise's covariance (its scale is 1), by rows of a narrow band."""
    rows: list[list[float]] = []
    for i, turn in enumerate(turns):
        begin = max(0, i + 1 - math.ceil(lasts))  # readings further apart share nothing
        row: list[float] = []
        for j in range(begin, i + 1):
            shared = max(0.0, 1.0 - (turn - turns[j]) / lasts)
            value = (1.0 - own) * shared + (own if i == j else 0.0)
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
