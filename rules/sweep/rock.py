"""Bore sizes, estimator `rock-fit`: the reversal point of several rocks, fitted together.

A two-point bore gauge of tip radius r, tilted by θ in the axial plane, reads
L = (D − 2r)/cos θ + 2r. With K = D − 2r this is L = D + K/2·φ², φ² = 2/cos θ − 2, and φ passes
smoothly through zero when the gauge passes the upright. So each rock is fitted as

    L(t) = D + K/2·P(t)²,   P(t) = p₀ + p₁τ + p₂τ² + p₃τ³,

with one D for all rocks and a P of its own for each (K only scales P, so D serves for it).
What a hand can do is a mild prior: near the upright it moves fastest, so p₂ ≈ 0 and
p₃ ≈ −p₁Ω²/6, where π/Ω is the time between turns. Gauss-Newton with the P of each rock
eliminated from the normal equations; u is the a-posteriori standard deviation of D.

Noise: least squares averages it; the lowest sample has no say of its own, so few samples per rock
don't bias the size. Last digit: part of the residuals. Bounces: every sample is weighted by
1/(1 + r²/(4·noise²)), so that a sample far from its neighbours' curve loses its say.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from rules.sweep.finder import Sample
from rules.sweep.lines import solve

NS_PER_S = 1e9
NM_PER_UM = 1e3
WINDOW_SHARE = 0.45  # of the rock's height: beyond, a cubic no longer follows the hand
POINTS_MIN = 5
SIDE_MIN = 2
ROUNDS = 12
HEAVY_DOF = 4.0
BEND_SHARE = 0.35  # doubt of p₂ against p₁Ω, and of p₃ against p₁Ω²
NOISE_FLOOR_UM = 0.25
NOISE_START_UM = 16.0
ROUNDS_MIN = 6
CLOSE_UM = 0.002


@dataclass(slots=True)
class Rock:
    """One rock: times (s, from its lowest reading), heights (µm over a common base), its P."""

    times_s: list[float]
    heights_um: list[float]
    omega: float
    path: list[float]
    weights: list[float]


@dataclass(frozen=True, slots=True)
class RockFit:
    """The common reversal point: value and standard uncertainty in nm, degrees of freedom.

    `by_rock_nm` is what each rock alone says beside the others' noise; `bend` is the mean of
    p₃/(−p₁Ω²/6): about 1 for rocks through the upright, far below for turns short of it.
    """

    size_nm: float
    u_nm: float
    dof: float
    noise_nm: float
    by_rock_nm: tuple[float, ...]
    by_rock_u_nm: tuple[float, ...]
    bend: float


def rock_window(hill: Sequence[Sample]) -> list[Sample]:
    """The readings around a rock's reversal point; empty when it isn't seen from both sides."""
    if len(hill) < POINTS_MIN:
        return []
    lowest, low = _steady_low(hill)
    ends = (
        max((s[1] for s in hill[:lowest]), default=low),
        max((s[1] for s in hill[lowest + 1 :]), default=low),
    )
    limit = low + WINDOW_SHARE * (min(ends) - low)
    first = last = lowest
    while first > 0 and (hill[first - 1][1] <= limit or lowest - first < SIDE_MIN):
        first -= 1
    while last < len(hill) - 1 and (hill[last + 1][1] <= limit or last - lowest < SIDE_MIN):
        last += 1
    if lowest - first < SIDE_MIN or last - lowest < SIDE_MIN:
        return []
    return list(hill[first : last + 1])


def _steady_low(hill: Sequence[Sample]) -> tuple[int, int]:
    """Index and length (nm) of the lowest median of three neighbours: a bounce can't be it."""
    middles = [sorted(s[1] for s in hill[i - 1 : i + 2])[1] for i in range(1, len(hill) - 1)]
    lowest = min(range(len(middles)), key=middles.__getitem__)
    return lowest + 1, middles[lowest]


def fit_rocks(hills: Sequence[Sequence[Sample]]) -> RockFit:
    """Fit the common reversal point of at least one rock's window (see `rock_window`)."""
    lows = sorted(_steady_low(hill)[1] for hill in hills)
    base_nm = lows[len(lows) // 2]
    scale_um = base_nm / NM_PER_UM / 2  # K/2
    rocks = [_begin(hill, base_nm, scale_um) for hill in hills]
    size_um, noise_um, u_um = 0.0, NOISE_START_UM, NOISE_START_UM
    for turn in range(ROUNDS):
        step, information, spread = _round(rocks, size_um, noise_um, scale_um)
        size_um += step
        u_um = noise_um / math.sqrt(information)
        # From coarse to fine, so that a start in the wrong place is not taken for bounces.
        noise_um = max(spread, NOISE_FLOOR_UM, NOISE_START_UM / 2 ** (turn + 1))
        if abs(step) < CLOSE_UM and turn > ROUNDS_MIN:
            break
    return _answer(rocks, base_nm, size_um, u_um, noise_um)


def _begin(hill: Sequence[Sample], base_nm: int, scale_um: float) -> Rock:
    heights = [(length - base_nm) / NM_PER_UM for _, length in hill]
    lowest, low_nm = _steady_low(hill)
    times = [(t - hill[lowest][0]) / NS_PER_S for t, _ in hill]
    low = (low_nm - base_nm) / NM_PER_UM
    rise = max(heights[0] - low, 1.0), max(heights[-1] - low, 1.0)
    speed = (math.sqrt(rise[0] / scale_um) + math.sqrt(rise[1] / scale_um)) / (times[-1] - times[0])
    # The window's ends stand at WINDOW_SHARE of the rock's height, asin(√share) of its quarter.
    omega = 2.0 * math.asin(math.sqrt(WINDOW_SHARE)) / (times[-1] - times[0])
    return Rock(times, heights, omega, [0.0, speed, 0.0, -speed * omega**2 / 6], [1.0] * len(times))


def _round(
    rocks: Sequence[Rock], size_um: float, noise_um: float, scale_um: float
) -> tuple[float, float, float]:
    """One Gauss-Newton step of all rocks: the step of D, its information, the noise."""
    gradient = information = squares = count = 0.0
    steps = []
    for rock in rocks:
        part = _normal_rows(rock, size_um, noise_um, scale_um)
        steps.append(part)
        gradient += part[0]
        information += part[1]
        squares += part[4]
        count += part[5]
    step = gradient / information
    step = max(-5.0, min(5.0, step))
    for rock, (_, _, alone, with_size, _, _) in zip(rocks, steps, strict=True):
        for k in range(4):
            rock.path[k] += alone[k] - step * with_size[k]
    free = max(count - 3.0 * len(rocks) - 1.0, 0.3 * count)
    return step, information, math.sqrt(squares / free)


def _normal_rows(
    rock: Rock, size_um: float, noise_um: float, scale_um: float
) -> tuple[float, float, tuple[float, ...], tuple[float, ...], float, float]:
    """Normal equations of one rock with its path eliminated.

    Returns:
        gradient and information of D, the path's own step, its step per step of D, weighted
        squares and count of the residuals.
    """
    matrix = [[0.0] * 6 for _ in range(4)]
    plain = information = squares = count = 0.0
    cross = [0.0] * 4
    for i, (t, height) in enumerate(zip(rock.times_s, rock.heights_um, strict=True)):
        p = rock.path
        place = p[0] + t * (p[1] + t * (p[2] + t * p[3]))
        residual = height - size_um - scale_um * place * place
        weight = 1.0 / (1.0 + (residual / noise_um) ** 2 / HEAVY_DOF)
        rock.weights[i] = weight
        slope = 2.0 * scale_um * place
        row = (slope, slope * t, slope * t * t, slope * t * t * t)
        for a in range(4):
            for b in range(4):
                matrix[a][b] += weight * row[a] * row[b]
            matrix[a][4] += weight * row[a] * residual
            cross[a] += weight * row[a]
        plain += weight * residual
        information += weight
        squares += weight * residual * residual
        count += weight
    _add_prior(matrix, rock, noise_um)
    for a in range(4):
        matrix[a][5] = cross[a]
    alone = solve([row[:5] for row in matrix]) or (0.0,) * 4
    with_size = solve([[*row[:4], row[5]] for row in matrix]) or (0.0,) * 4
    gradient = plain - sum(c * s for c, s in zip(cross, alone, strict=True))
    information -= sum(c * s for c, s in zip(cross, with_size, strict=True))
    return gradient, max(information, 1e-6), alone, with_size, squares, count


def _add_prior(matrix: list[list[float]], rock: Rock, noise_um: float) -> None:
    """What a hand can do: p₂ near 0 and p₃ near −p₁Ω²/6."""
    speed, omega = abs(rock.path[1]) + 1e-6, rock.omega
    for k, want, doubt in (
        (2, 0.0, BEND_SHARE * speed * omega),
        (3, -rock.path[1] * omega**2 / 6, BEND_SHARE * speed * omega**2),
    ):
        weight = (noise_um / doubt) ** 2
        matrix[k][k] += weight
        matrix[k][4] += weight * (want - rock.path[k])


def _answer(
    rocks: Sequence[Rock], base_nm: int, size_um: float, u_um: float, noise_um: float
) -> RockFit:
    sizes, doubts, bends = [], [], []
    scale_um = base_nm / NM_PER_UM / 2
    for rock in rocks:
        gradient, information, *_ = _normal_rows(rock, size_um, noise_um, scale_um)
        sizes.append(base_nm + NM_PER_UM * (size_um + gradient / information))
        doubts.append(NM_PER_UM * noise_um / math.sqrt(information))
        bends.append(rock.path[3] / (-rock.path[1] * rock.omega**2 / 6))
    count = sum(sum(rock.weights) for rock in rocks)
    return RockFit(
        size_nm=base_nm + NM_PER_UM * size_um,
        u_nm=NM_PER_UM * u_um,
        dof=max(count - 3.0 * len(rocks) - 1.0, 2.0),
        noise_nm=NM_PER_UM * noise_um,
        by_rock_nm=tuple(sizes),
        by_rock_u_nm=tuple(doubts),
        bend=sorted(bends)[len(bends) // 2],
    )
