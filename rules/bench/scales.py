"""What lies on a scale: when it has come to rest, and whether it came since the scale was bare."""

from collections import Counter
from typing import Final

from barrelfit.rules.bench.setup import Scale

FG_PER_MG: Final = 10**12
BARE_FG: Final = 500 * FG_PER_MG
"""A scale with nothing on it shows no more than this: half a gram is no part of an engine."""

REST_NS: Final = 1_000_000_000
FLICKER_NS: Final = 3_000_000_000
"""How long a scale shows the same, or two neighbouring digits by turns, until it is at rest."""

READINGS_LEAST: Final = 3
GAP_NS: Final = 1_500_000_000
"""After a longer silence nobody knows what lay on a scale that sends all the time."""

ALIKE_DIGITS: Final = 2
"""A part that is weighed twice reads the same but for its last digits."""


class Pan:
    """Follows one scale.

    `bare_ns` is when it was bare last, as far as anybody saw; `used` says that what lies there was
    taken or held already, `taken` what was taken of it (part and fg) since it was bare.
    """

    def __init__(self, scale: Scale) -> None:
        self._by_print = scale.by_print
        self.interrupted()

    def interrupted(self) -> None:
        """Nobody saw what came of it meanwhile."""
        self.bare_ns: int | None = None
        self.used = False
        self.taken: tuple[str, int] | None = None
        self._bare_run = 0
        self.disturbed()

    def disturbed(self) -> None:
        """It shows that it moves, or no mass at all."""
        self._run: Counter[int] = Counter()
        self._first_ns = self._last_ns = 0

    def push(self, t_ns: int, mass_fg: int, digit_fg: int) -> None:
        """Take a mass that it showed."""
        if self._by_print:
            self.disturbed()
            self.used = False
        known = [*self._run, mass_fg]
        if t_ns - self._last_ns > GAP_NS or max(known) - min(known) > digit_fg:
            self.disturbed()
        if not self._run:
            self._first_ns = t_ns
        self._run[mass_fg] += 1
        self._last_ns = t_ns
        if mass_fg < -BARE_FG:  # something was taken off that it had been set to zero with
            self.bare_ns = None
        self._bare_run = self._bare_run + 1 if abs(mass_fg) <= BARE_FG else 0
        if self._bare_run > 1 or (self._bare_run and self._by_print):
            self.bare_ns, self.used, self.taken = t_ns, False, None

    @property
    def at_rest_fg(self) -> int | None:
        """What it shows at rest, by the reading that came most often; None while it moves."""
        if not self._run:
            return None
        least_ns = REST_NS if len(self._run) == 1 else FLICKER_NS
        is_long = self._last_ns - self._first_ns >= least_ns
        if self._by_print or (is_long and self._run.total() >= READINGS_LEAST):
            return self._run.most_common(1)[0][0]
        return None

    def is_as_before(self, mass_fg: int, digit_fg: int) -> bool:
        """Whether it reads like what was taken of it last, and was not bare since."""
        before = self.taken
        return before is not None and abs(mass_fg - before[1]) <= ALIKE_DIGITS * digit_fg


def grams(mass_fg: int) -> str:
    """A mass in g to the nearest mg, half to even (an ounce is no whole number of mg)."""
    mg, rest = divmod(abs(mass_fg), FG_PER_MG)
    mg += 2 * rest > FG_PER_MG or (2 * rest == FG_PER_MG and mg % 2 == 1)
    sign = "-" if mass_fg < 0 and mg else ""
    return f"{sign}{mg // 1000}.{mg % 1000:03}".rstrip("0").rstrip(".")
