"""What a sweep tells the next one: its gauge's noise, and the barrel that a kind of part shares.

Near the floor a noisy gauge, a barrelled skirt and a narrow tilt look alike, and one sweep hardly
tells them apart. But the noise S is the gauge's, and the pistons of one engine are barrelled alike.
So each sized sweep leaves a lesson: how well each pair of noise and barrel (its lift c) explains
its readings y, with size D and spread T summed out,

    l(S, c) = log Σ_D Σ_T π(T)·Π_i p(y_i | D, S, c, T)^κ,

with the same κ as the size (`rules.sweep.floor`): readings that repeat one another say no more of
the barrel than of the size. Always both at once: noise learned alone leaves the barrel to explain
what another noise should, and deepens its bias.

What the sweeps share (S₀, c₀) each one has nearly: its own noise and barrel follow

    K(S, c | S₀, c₀) = K(S | S₀)·K(c | c₀),  K(x | x₀) = (1 - ε)·near(x | x₀) + ε·π(x),

where `near` is mostly x₀ itself, and else a step beside it: barrels differ a little from part to
part, and a plain cylinder is no little barrel. It leaves π as it is. With the share ε a part has
nothing to do with the others, so that none is sized by a barrel that its own readings speak
against. The next sweep begins with

    π'(S, c) = Σ_{S₀,c₀} K(S, c | S₀, c₀)·p(S₀, c₀),
    p(S₀, c₀) ∝ π(S₀)·π(c₀)·Π_lessons Σ_{S,c} K(S, c | S₀, c₀)·e^l(S, c).
"""

import math
from collections.abc import Mapping, Sequence
from itertools import pairwise

import numpy as np

from barrelfit.rules.sweep.excess import Floats
from barrelfit.rules.sweep.nouns import Lesson

NOISES_NM = {  # S: prior share; gauges noisier than 2 µm must show it
    150: 0.1,
    350: 0.224,
    650: 0.225,
    1_050: 0.225,
    1_550: 0.224,
    2_300: 0.001,
    3_300: 0.001,
}
BARRELS_NM = {0: 0.5, 1_500: 0.15, 3_500: 0.15, 7_000: 0.12, 13_000: 0.08}  # c: prior share
# ε: shares of sweeps and parts that have nothing to do with the others. Contact adds to a gauge's
# noise, with part and hand: what is found of it is not always the gauge's.
OTHER_NOISE, OTHER_BARREL = 0.3, 0.1
BESIDE = 0.1  # share of each step beside the shared one, less where that is a rare one
LEAST_LOG = -9.0  # a pair that explains the readings worse than the best by more counts as this
KEPT_PLACES = 3


class Evidence:
    """Sums up what the ways of scattering say of each pair of noise and barrel."""

    def __init__(self) -> None:
        self._logs: dict[tuple[int, int], float] = {}

    def add(self, noise_nm: int, barrel_nm: int, log: float) -> None:
        """One more way of a pair, as likely as e^`log`; a noise between the steps tells nothing."""
        pair = barrel_nm, noise_nm
        self._logs[pair] = float(np.logaddexp(self._logs.get(pair, -math.inf), log))

    @property
    def lesson(self) -> Lesson:
        """What they say together."""
        rows = [[self._logs[barrel, noise] for noise in NOISES_NM] for barrel in BARRELS_NM]
        best = max(map(max, rows))
        return Lesson(
            tuple(tuple(round(max(x - best, LEAST_LOG), KEPT_PLACES) for x in row) for row in rows)
        )


def prior_after(lessons: Sequence[Lesson]) -> Floats:
    """π'(S, c) by barrel (rows) and noise, whose sum is 1; in whatever order the lessons came."""
    logs = np.log(_PRIOR)
    for lesson in sorted(lessons, key=lambda lesson: lesson.logs):
        logs += np.log(_both(_NEAR_BARREL, np.exp(lesson.logs), _NEAR_NOISE))
    shared = np.exp(logs - logs.max())
    return _both(_NEAR_BARREL.T, shared / shared.sum(), _NEAR_NOISE.T)


class Taught:
    """How many times as likely as before a noise and a barrel are after lessons."""

    def __init__(self, lessons: Sequence[Lesson]) -> None:
        self._logs = np.log(prior_after(lessons) / _PRIOR)
        self._rows = {barrel: n for n, barrel in enumerate(BARRELS_NM)}
        self._noises = np.log(list(NOISES_NM))

    def times(self, noise_nm: int, barrel_nm: int) -> float:
        """The factor; of a noise between the steps, in between."""
        row = self._logs[self._rows[barrel_nm]]
        return math.exp(float(np.interp(math.log(noise_nm), self._noises, row)))


def _both(barrels: Floats, pairs: Floats, noises: Floats) -> Floats:
    """Σ_{S,c} barrels[c₀, c]·pairs[c, S]·noises[S₀, S] by c₀ (rows) and S₀.

    Not `@`: a linear algebra library may add in another order each time, and a redo must agree.
    """
    by_barrel = (barrels[:, :, None] * pairs[None, :, :]).sum(axis=1)
    found: Floats = (by_barrel[:, None, :] * noises[None, :, :]).sum(axis=2)
    return found


def _shares(priors: Mapping[int, float]) -> Floats:
    shares: Floats = np.array(list(priors.values()))
    shares /= shares.sum()
    return shares


def _nearly(priors: Mapping[int, float], other: float) -> Floats:
    """K(x | x₀) by x₀ (rows) and x."""
    usual = _shares(priors)
    near: Floats = np.zeros((len(priors), len(priors)))
    for n, (one, larger) in enumerate(pairwise(priors)):
        if one and larger:
            near[n, n + 1] = BESIDE * min(usual[n + 1] / usual[n], 1.0)
            near[n + 1, n] = BESIDE * min(usual[n] / usual[n + 1], 1.0)
    near += np.diag(1.0 - near.sum(axis=1))
    near *= 1.0 - other
    near += other * usual
    return near


_PRIOR: Floats = _shares(BARRELS_NM)[:, None] * _shares(NOISES_NM)
_NEAR_NOISE = _nearly(NOISES_NM, OTHER_NOISE)
_NEAR_BARREL = _nearly(BARRELS_NM, OTHER_BARREL)
