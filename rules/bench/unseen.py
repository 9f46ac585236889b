"""What may have come into an empty gauge while nobody saw it.

The gauge was lost, its record broken, or the daemon stopped. A part that came in then is of what
stood asked for at the time, and of nothing that is asked later: for that it must come away first.
Once a pass tells what such a part would read, the readings since tell whether it was ever out.
"""

from collections import deque
from typing import Final

from barrelfit.rules.bench.departure import GONE_NS
from barrelfit.rules.bench.enough import Stays
from barrelfit.rules.bench.setup import GaugeOnBench
from barrelfit.rules.model import FeatureId
from barrelfit.rules.sweep import PassFound
from barrelfit.rules.sweep.finder import AWAY_NS
from barrelfit.rules.sweep.movements import entry_of

KEPT_MAX: Final = 2_048  # readings; the oldest go first


class Unseen:
    """The readings of a gauge since nobody saw it; it was empty before.

    Args:
        at: what stood asked for meanwhile; None for more than one thing.
    """

    def __init__(self, at: FeatureId | None) -> None:
        self.at = at
        self._readings: deque[tuple[int, int]] = deque(maxlen=KEPT_MAX)

    def push(self, t_ns: int, length_nm: int) -> None:
        """Take one reading."""
        self._readings.append((t_ns, length_nm))

    def may_hold(self, gauge: GaugeOnBench, found: PassFound) -> bool:
        """Whether what a pass was made over may have been in the gauge from the beginning."""
        departure = unknown_stays(gauge, found.size_nm).departure(gauge.traits)
        before = (one for one in self._readings if one[0] < found.start_ns)
        return not any(departure.gone(t_ns, length_nm) for t_ns, length_nm in before)


def unseen_again(gauge: GaugeOnBench, before: Unseen | None, at: FeatureId | None) -> Unseen | None:
    """Nobody saw an empty gauge, for the first time or once more.

    Nothing comes into a gauge of which nothing is asked, nor is anything in one that sends only on
    its button before it is pressed.

    Args:
        gauge: the gauge.
        before: what may have come in at an earlier time.
        at: what could be seen to be asked of it; None for nothing.
    """
    if entry_of(gauge.traits.movement).by_press:
        return None
    if before is None:
        return None if at is None else Unseen(at)
    return Unseen(before.at if at in {None, before.at} else None)


def unknown_stays(gauge: GaugeOnBench, about_nm: int) -> Stays:
    """How it is missed, as long as how slowly this hand rocks is not known.

    A gauge that stands still when it is out is out at once.
    """
    rests_away = entry_of(gauge.traits.movement).rests_away
    return Stays(about_nm, AWAY_NS if rests_away else GONE_NS)
