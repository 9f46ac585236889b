"""A gauge that sends only on its button: each press is one reading held at the crest.

The hand finds the crest, holds it and presses; nothing is known of the way there. So a size is
the average of several presses (average of two-point sizes, ISO 14405-1), and its doubt is their
scatter:

    u_sweep = s / √n with n - 1 degrees of freedom, s² = Σ(xᵢ - x̄)² / (n - 1)

beside the last digit's share, which more presses do not lessen. What every press has in common (the
part held askew in the same way each time) shows in no scatter.
"""

import math
from collections.abc import Sequence
from statistics import fmean, stdev

from barrelfit.rules.sweep.movements import entry_of
from barrelfit.rules.sweep.nouns import (
    GaugeTraits,
    Lesson,
    PassFound,
    SweepContact,
    SweepNote,
    SweepRefused,
    SweepSized,
)
from barrelfit.rules.sweep.refusals import refuse, too_few
from barrelfit.rules.uncertainty.size_budget import digit_u_nm
from barrelfit.rules.uncertainty.student import t_quantile

SPREAD_NM = 40_000  # no hand misses the crest by more; another part may differ by less
SPREAD_DIGITS = 4
KEPT_PLACES = 3
P_95 = 0.975


class Presses:
    """The presses at one feature; it is asked for and answers as a `Sweep` does."""

    def __init__(self, traits: GaugeTraits) -> None:
        self._traits = traits
        self._found: list[PassFound] = []

    @property
    def passes(self) -> int:
        """How many presses there were."""
        return len(self._found)

    def push(self, t_ns: int, length_nm: int) -> tuple[SweepNote, ...]:
        """Take one press; one at a time that was before is none."""
        if self._found and t_ns <= self._found[-1].end_ns:
            return ()
        note = PassFound(len(self._found) + 1, length_nm, t_ns, t_ns)
        self._found.append(note)
        return (note,) if len(self._found) > 1 else (SweepContact(t_ns), note)

    def fault(self, t_ns: int) -> None:
        """The gauge sent something that is no reading; no press is lost by it."""

    def waits(self, away_ns: int) -> None:
        """Nobody sees its part leave, however long that takes."""

    def estimate(self, _lessons: Sequence[Lesson] = ()) -> SweepSized | SweepRefused:
        """The size of all presses so far, or why there is none. Changes nothing.

        Presses tell neither noise nor barrel, and learn of none.
        """
        traits, lengths_nm = self._traits, [found.size_nm for found in self._found]
        if not lengths_nm:
            return refuse("no-contact", traits.movement)
        low_nm, high_nm = min(lengths_nm), max(lengths_nm)
        if low_nm < (traits.low_nm or low_nm) or high_nm > (traits.high_nm or high_nm):
            return refuse("out-of-range", traits.movement)
        if len(lengths_nm) < traits.passes_min:
            return too_few(traits, len(lengths_nm))
        if high_nm - low_nm > max(SPREAD_NM, SPREAD_DIGITS * traits.digit_nm):
            return refuse("passes-disagree", traits.movement)
        return self._sized(lengths_nm)

    def _sized(self, lengths_nm: list[int]) -> SweepSized:
        number, entry = len(lengths_nm), entry_of(self._traits.movement)
        u_sweep_nm = round(stdev(lengths_nm) / math.sqrt(number), KEPT_PLACES)
        u_digit_nm = round(digit_u_nm(self._traits.digit_nm), KEPT_PLACES)
        u_nm = round(math.hypot(u_sweep_nm, u_digit_nm), KEPT_PLACES)
        size_nm, dof = round(fmean(lengths_nm)), number - 1.0
        half_nm = math.ceil(t_quantile(P_95, dof) * u_nm)
        return SweepSized(
            size_nm=size_nm,
            u_nm=u_nm,
            dof=dof,
            low_nm=size_nm - half_nm,
            high_nm=size_nm + half_nm,
            pass_sizes_nm=tuple(lengths_nm),
            estimator=entry.estimator,
            rank=entry.rank,
            passes=tuple(self._found),
            u_sweep_nm=u_sweep_nm,
            u_digit_nm=u_digit_nm,
            u_passes_nm=u_sweep_nm,
        )
