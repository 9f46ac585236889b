"""What a hand could do so that a sweep is sure sooner: slower over the top, or flatter.

An outside gauge tells the size by the moments in which the part stands upright: the longer it is
between the anvils, and the less it tilts there, the more of them. Half the speed or half the tilt
is worth as much as twice the passes. So what would help is told while the sweep goes on, each once,
and only where the passes that are asked for won't do.
"""

import math
from statistics import median
from typing import Final

from barrelfit.rules.bench.aim import enough_nm
from barrelfit.rules.said import Said, said
from barrelfit.rules.sweep import GaugeTraits, PassFound, SweepRefused, SweepSized
from barrelfit.rules.sweep.movements import entry_of

FIRST_AFTER: Final = 3  # passes: as many as can become a size
LAST_PASSES: Final = 3  # what the hand does now
DOES_IT_IN: Final = 2  # passes: a hand does one thing at a time
QUICK_NS: Final = 550_000_000  # over the crest
TILTED_NM: Final = 3_000  # by which a pass's middle reading stands over its lowest two


class Coach:
    """Watches the passes of one sweep."""

    def __init__(self, least: int, traits: GaugeTraits) -> None:
        """Begin a sweep of `least` passes at least."""
        self._least, self._traits = least, traits
        self._rides = entry_of(traits.movement).rides
        self._passes: list[PassFound] = []
        self._told: set[str] = set()
        self._since = 0  # passes since the last advice, or since the beginning

    def passed(self, note: PassFound) -> None:
        """Hear of a pass."""
        self._since += 1
        self._passes = [*self._passes, note][-LAST_PASSES:]

    def is_due(self, passes: int) -> bool:
        """Whether it is worth a look after so many passes, before there are as many as asked."""
        return self._rides and passes == FIRST_AFTER

    def of_refusal(self, found: SweepRefused) -> Said | None:
        """What would help where there is no size yet."""
        return self._advice() if found.reason == "too-quick" else None

    def of_size(self, found: SweepSized, passes: int, u_nm: float) -> Said | None:
        """What would help where a size is not sure, nor will be after the asked passes.

        Args:
            found: what the sweep says so far.
            passes: how many there were.
            u_nm: the size's whole standard uncertainty.
        """
        more = math.sqrt(passes / max(passes, self._least))
        if found.u_passes_nm * more <= enough_nm(self._traits.digit_nm, u_nm * more):
            return None
        return self._advice()

    def _advice(self) -> Said | None:
        if not self._rides or len(self._passes) < LAST_PASSES:
            return None
        crest_ns = median(note.end_ns - note.start_ns for note in self._passes)
        lift_nm = median(note.lift_nm for note in self._passes)
        helps = []
        if lift_nm > TILTED_NM + self._traits.digit_nm:
            helps.append(said("do_rest_flatter"))
        if crest_ns < QUICK_NS:
            helps.append(said("do_slower_over_top"))
        advice = next((one for one in helps if one.key not in self._told), None)
        if advice is None or self._since < DOES_IT_IN:
            return None
        self._told.add(advice.key)
        self._since = 0
        return advice
