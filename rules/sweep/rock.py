"""Bore sizes, estimator `rock-fit-windowed`: the reversal point of several rocks, fitted together.

A two-point bore gauge of tip radius r, tilted by θ in the axial plane, reads
L = (D − 2r)/cos θ + 2r. With K = D − 2r this is L = D + K/2·φ², φ² = 2/cos θ − 2, and φ passes
smoothly through zero when the gauge passes the upright. So each rock is fitted as

    L(t) = D + K/2·P(t)²,   P(t) = p₀ + p₁τ + p₂τ² + p₃τ³,

with one D for all rocks and a P of its own for each (K only scales P, so D serves for it).
What a hand can do is a mild prior: near the upright it moves fastest, so p₂ ≈ 0 and
p₃ ≈ −p₁Ω²/6, where π/Ω is the time between turns. An uneven hand, whom no cubic follows so far up,
is fitted nearer to the upright (`rules.sweep.closing`). Gauss-Newton with the P of each rock
eliminated from the normal equations; u is the a-posteriori standard deviation of D.

Noise: least squares averages it; the lowest sample has no say of its own, so few samples per rock
don't bias the size. Last digit: part of the residuals. Bounces: every sample is weighted by
exp(-(r/(3·noise))²/2), coarse noise first, so that one far from its neighbours' curve has no say.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import median

from barrelfit.rules.sweep.finder import Sample
from barrelfit.rules.sweep.lines import solve
from barrelfit.rules.sweep.window import Residuals

NS_PER_S = 1e9
NM_PER_UM = 1e3
BORE_LEAST_NM = 1_000_000
WINDOW_SHARE = 0.45  # of the rock's height: beyond, a cubic hardly ever follows the hand
POINTS_MIN = 5
SIDE_MIN = 2
ROUNDS = 16
REACH = 3.0
BEND_SHARE = 0.35  # doubt of p₂ against p₁Ω, and of p₃ against p₁Ω²
PATH_DOF = 3.6  # of the four numbers of a rock's path, what the prior leaves to the readings
FREE_MIN = 0.15
LIGHT_TAIL = 1.17  # for normal noise the weights make squares too small by this
STEP_MAX_UM = 5.0
NOISE_MAX_UM = 2.2  # a gauge that is noisier is out of order
NOISE_FLOOR_UM = 0.25
NOISE_START_UM = 16.0
ROUNDS_MIN = 6
TINY = 1e-12
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
class Curve:
    """How much one rock alone rises with the square of the time off its turn (nm/s²).

    `shared_nm2` is its covariance with the rock's size: what reads steeper reads deeper.
    """

    nm: float
    u_nm: float
    shared_nm2: float


@dataclass(frozen=True, slots=True)
class RockFit:
    """The common reversal point: value and standard uncertainty in nm, degrees of freedom.

    `by_rock_nm` is what each rock alone says beside the others' noise; `bend` is the mean of
    p₃/(−p₁Ω²/6): about 1 for rocks through the upright, far below for turns short of it; `kept`
    is the share of readings that had a say, `kept_least` the same of the rock that had the least;
    `step_nm` is how high the gauge reads one sampling step off the upright; `by_rock_curve` is how
    much it rises with the square of the time off it, `residuals` what the fit leaves.
    """

    size_nm: float
    u_nm: float
    dof: float
    noise_nm: float
    by_rock_nm: tuple[float, ...]
    by_rock_u_nm: tuple[float, ...]
    bend: float
    kept: float
    kept_least: float
    step_nm: float
    step_s: float
    by_rock_curve: tuple[Curve, ...]
    residuals: tuple[Residuals, ...]


def rock_window(hill: Sequence[Sample], share: float = WINDOW_SHARE) -> list[Sample]:
    """The readings around a rock's reversal point; empty when it isn't seen from both sides.

    Args:
        hill: the rock's readings, in time.
        share: up to which share of the rock's height.
    """
    if len(hill) < POINTS_MIN:
        return []
    lowest, low = _steady_low(hill)
    ends = (
        max((s[1] for s in hill[:lowest]), default=low),
        max((s[1] for s in hill[lowest + 1 :]), default=low),
    )
    limit = low + share * (min(ends) - low)
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


def fit_rocks(hills: Sequence[Sequence[Sample]], share: float = WINDOW_SHARE) -> RockFit:
    """Fit the common reversal point of at least one rock's window (see `rock_window`)."""
    lows = sorted(_steady_low(hill)[1] for hill in hills)
    base_nm = lows[len(lows) // 2]
    scale_um = _scale_um(base_nm)
    rocks = [_begin(hill, base_nm, scale_um, share) for hill in hills]
    size_um, noise_um, u_um, spread = 0.0, NOISE_START_UM, NOISE_START_UM, NOISE_START_UM
    for turn in range(ROUNDS):
        step, information, spread = _round(rocks, size_um, noise_um, scale_um)
        size_um += step
        u_um = noise_um / math.sqrt(information)
        # From coarse to fine, so that a start in the wrong place is not taken for bounces.
        start_um = NOISE_START_UM / 2 ** (turn + 1)
        noise_um = max(min(spread, NOISE_MAX_UM), NOISE_FLOOR_UM, start_um)
        if abs(step) < CLOSE_UM and turn > ROUNDS_MIN:
            break
    return _answer(rocks, base_nm, size_um, u_um, (noise_um, spread))


def _scale_um(base_nm: int) -> float:
    """K/2 in µm.

    A gauge that was zeroed in its bore reads about nothing, or less, which is told elsewhere; what
    it is rocked in is no point all the same.
    """
    return max(base_nm, BORE_LEAST_NM) / NM_PER_UM / 2


def _begin(hill: Sequence[Sample], base_nm: int, scale_um: float, share: float) -> Rock:
    heights = [(length - base_nm) / NM_PER_UM for _, length in hill]
    lowest, low_nm = _steady_low(hill)
    times = [(t - hill[lowest][0]) / NS_PER_S for t, _ in hill]
    low = (low_nm - base_nm) / NM_PER_UM
    rise = max(heights[0] - low, 1.0), max(heights[-1] - low, 1.0)
    speed = (math.sqrt(rise[0] / scale_um) + math.sqrt(rise[1] / scale_um)) / (times[-1] - times[0])
    # The window's ends stand at that share of the rock's height, asin(√share) of its quarter.
    omega = 2.0 * math.asin(math.sqrt(share)) / (times[-1] - times[0])
    return Rock(times, heights, omega, [0.0, speed, 0.0, -speed * omega**2 / 6], [1.0] * len(times))


def _round(
    rocks: Sequence[Rock], size_um: float, noise_um: float, scale_um: float
) -> tuple[float, float, float]:
    """One Gauss-Newton step of all rocks: the step of D, its information, the noise.

    The noise is the weighted residuals', with the numbers that were fitted taken off the count.
    """
    parts = [_normal_rows(rock, size_um, noise_um, scale_um) for rock in rocks]
    # Where no reading is near enough to have a say, nothing is known: an endless doubt.
    information = max(sum(part.information for part in parts), TINY)
    step = sum(part.gradient for part in parts) / information
    step = max(-STEP_MAX_UM, min(STEP_MAX_UM, step))
    count = sum(part.count for part in parts)
    free = max(count - PATH_DOF * len(rocks) - 1.0, FREE_MIN * count, TINY)
    noise = math.sqrt(LIGHT_TAIL * sum(part.squares for part in parts) / free)
    for rock, part in zip(rocks, parts, strict=True):
        for k in range(4):
            rock.path[k] += part.alone[k] - step * part.with_size[k]
    return step, information, noise


@dataclass(frozen=True, slots=True)
class _Part:
    """Normal equations of one rock with its path eliminated.

    Gradient and information of D, the path's own step, its step per step of D, weighted
    squares and count of the residuals, and the variance of p₁ for noise of 1 µm while D is known.
    """

    gradient: float
    information: float
    alone: tuple[float, ...]
    with_size: tuple[float, ...]
    squares: float
    count: float
    speed_variance: float


def _normal_rows(rock: Rock, size_um: float, noise_um: float, scale_um: float) -> _Part:
    """Set up and reduce the normal equations of one rock around its present path."""
    matrix = [[0.0] * 6 for _ in range(4)]
    plain = information = squares = 0.0
    p = rock.path
    for i, (t, height) in enumerate(zip(rock.times_s, rock.heights_um, strict=True)):
        place = p[0] + t * (p[1] + t * (p[2] + t * p[3]))
        residual = height - size_um - scale_um * place * place
        weight = math.exp(-0.5 * (residual / noise_um / REACH) ** 2)
        rock.weights[i] = weight
        slope = 2.0 * scale_um * place
        row = (slope, slope * t, slope * t * t, slope * t * t * t)
        for a in range(4):
            line, share = matrix[a], weight * row[a]
            for b in range(4):
                line[b] += share * row[b]
            line[4] += share * residual
            line[5] += share
        plain += weight * residual
        information += weight
        squares += weight * residual * residual
    count = information
    _add_prior(matrix, rock, noise_um)
    cross = [line[5] for line in matrix]
    alone = solve([line[:5] for line in matrix]) or (0.0,) * 4
    with_size = solve([[*line[:4], line[5]] for line in matrix]) or (0.0,) * 4
    speed = solve([[*line[:4], float(k == 1)] for k, line in enumerate(matrix)]) or (0.0,) * 4
    gradient = plain - sum(c * s for c, s in zip(cross, alone, strict=True))
    information -= sum(c * s for c, s in zip(cross, with_size, strict=True))
    information = max(information, 1e-6)
    return _Part(gradient, information, alone, with_size, squares, count, max(speed[1], 0.0))


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
    rocks: Sequence[Rock], base_nm: int, size_um: float, u_um: float, noises_um: tuple[float, float]
) -> RockFit:
    noise_um, spread_um = noises_um
    sizes, doubts, bends, steps_s, curves = [], [], [], [], []
    scale_um = _scale_um(base_nm)
    for rock in rocks:
        part = _normal_rows(rock, size_um, noise_um, scale_um)
        information = max(part.information, TINY)
        sizes.append(base_nm + NM_PER_UM * (size_um + part.gradient / information))
        doubts.append(NM_PER_UM * noise_um / math.sqrt(information))
        steps_s.append((rock.times_s[-1] - rock.times_s[0]) / (len(rock.times_s) - 1))
        curves.append(_curve(rock, part, noise_um, scale_um))
        bends.append(rock.path[3] / (-rock.path[1] * rock.omega**2 / 6))
    count = sum(sum(rock.weights) for rock in rocks)
    return RockFit(
        size_nm=base_nm + NM_PER_UM * size_um,
        u_nm=NM_PER_UM * u_um,
        dof=max(count - PATH_DOF * len(rocks) - 1.0, 2.0),
        noise_nm=NM_PER_UM * spread_um,
        by_rock_nm=tuple(sizes),
        by_rock_u_nm=tuple(doubts),
        bend=median(bends),
        kept=count / sum(len(rock.weights) for rock in rocks),
        kept_least=min(sum(rock.weights) / len(rock.weights) for rock in rocks),
        step_nm=median(
            NM_PER_UM * scale_um * (rock.path[1] * s) ** 2
            for rock, s in zip(rocks, steps_s, strict=True)
        ),
        step_s=median(steps_s),
        by_rock_curve=tuple(curves),
        residuals=tuple(_residuals(rock, size_um, noise_um, scale_um) for rock in rocks),
    )


def _curve(rock: Rock, part: _Part, noise_um: float, scale_um: float) -> Curve:
    """The curve at the size that the rock alone tells."""
    speed = rock.path[1]
    by_speed = 2.0 * NM_PER_UM * scale_um * speed
    by_size = -by_speed * part.with_size[1]  # nm/s² for each µm that the size lies higher
    size_var = noise_um * noise_um / part.information
    curve_nm = NM_PER_UM * scale_um * speed * speed + by_size * part.gradient / part.information
    u_nm = math.hypot(
        by_speed * noise_um * math.sqrt(part.speed_variance), by_size * math.sqrt(size_var)
    )
    return Curve(curve_nm, u_nm, NM_PER_UM * by_size * size_var)


def _residuals(rock: Rock, size_um: float, noise_um: float, scale_um: float) -> Residuals:
    """What the fit leaves of a rock, bounces clipped."""
    p, most_um = rock.path, REACH * noise_um
    places = [p[0] + t * (p[1] + t * (p[2] + t * p[3])) for t in rock.times_s]
    off = [
        min(max(height - size_um - scale_um * place * place, -most_um), most_um)
        for height, place in zip(rock.heights_um, places, strict=True)
    ]
    return Residuals(rock.times_s, off, [2.0 * scale_um * place for place in places])
