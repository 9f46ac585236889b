"""When a sweep under way has enough passes: what the bench does after each of them.

A size comes with a doubt (one standard uncertainty), which shrinks with every pass. The asked
number of passes is the least. A sweep whose size is less sure than `aim.SURE_NM` goes on, up to
`PASSES_MORE` times as many, because a following gauge shows the size only in the moments in which
the part stands upright; screw and bore gauges are sure with the asked passes as a rule. Where other
causes (how the gauge was set, temperatures) leave most of the doubt, more passes would not help.
"""

from dataclasses import dataclass

from barrelfit.rules.bench.aim import enough_nm
from barrelfit.rules.bench.departure import GONE_NS, Departure, Swings
from barrelfit.rules.sweep import GaugeTraits, PassFound, SweepRefused, SweepSized
from barrelfit.rules.sweep.movements import entry_of

PASSES_MORE = 2
GONE_MOST_NS = 6_000_000_000
EXCHANGE_NS = 300_000_000  # longer off the part than this hand swings: time to take another one

# Refusals that more passes can't mend: the sweep is over as soon as they show.
AGREEMENT = frozenset({"passes-disagree", "drift", "part-exchanged"})
ASKED_TIMES = 2
HOPELESS = AGREEMENT | {"out-of-range", "frozen", "stale-times"}


@dataclass(frozen=True, slots=True)
class Stays:
    """What a gauge reads while a part stays in it (nm), and how long away from it is gone (ns).

    `last_ns` is when a gauge that sends only on its button did so last. `is_sure` says whether it
    reads so still: nobody saw, for a while, whether it was set otherwise. What is back after
    `another_ns` away from it may be another part.
    """

    about_nm: int
    gone_ns: int = GONE_NS
    last_ns: int | None = None
    is_sure: bool = True
    another_ns: int = GONE_NS

    def departure(self, traits: GaugeTraits) -> Departure:
        """What watches for the part to leave."""
        return Departure(
            self.about_nm,
            traits,
            self.gone_ns,
            self.last_ns,
            another_ns=self.another_ns,
            is_sure=self.is_sure,
        )


class Looks:
    """The looks at one sweep, after each pass from the asked number on.

    `about_nm` is what the last pass read, None before the first.
    """

    def __init__(self, least: int, traits: GaugeTraits) -> None:
        """Begin a sweep.

        Args:
            least: the asked number of passes.
            traits: the gauge.
        """
        held = entry_of(traits.movement).by_press  # nobody sees its part leave, to end it before
        self._most = least if held else PASSES_MORE * least
        self._traits = traits
        self._refused = self._agreed = 0
        self._end_ns: int | None = None
        self._swings = Swings()
        self._longest_ns = self._far_ns = 0
        self.about_nm: int | None = None

    def reads(self, t_ns: int, length_nm: int, crest_nm: int) -> None:
        """Take one reading beside what a crest reads, as far as it is known."""
        self._swings.push(t_ns, length_nm, crest_nm)

    def passed(self, note: PassFound) -> None:
        """Hear of a pass."""
        if self._end_ns is not None:
            away_ns = note.start_ns - self._end_ns
            far_ns = self._swings.longest_ns(self._end_ns, note.start_ns)
            self._far_ns = max(self._far_ns, far_ns)
            if not entry_of(self._traits.movement).rests_away:
                away_ns = far_ns
            self._longest_ns = max(self._longest_ns, away_ns)
        self._end_ns = note.end_ns
        self.about_nm = note.size_nm

    def interrupted(self) -> None:
        """Hear that the part was put down: for how long tells nothing of the hand's swings."""
        self._end_ns = None

    @property
    def gone_ns(self) -> int:
        """For how long the hand must stay off the crest to have taken the part away, in ns.

        Some hands swing wide between two passes, and slowly: longer than the longest such time so
        far. In a bore, where one rock may go hardly far and the next one long, it is counted from
        crest to crest.
        """
        longer_ns = round(entry_of(self._traits.movement).longer * self._longest_ns)
        return min(max(GONE_NS, longer_ns), GONE_MOST_NS)

    def stays(self, crest_nm: int) -> Stays:
        """How it shows that the part left; `crest_nm` is its size as far as that was read."""
        if self.about_nm is None:
            return Stays(crest_nm)
        another_ns = min(GONE_NS, self._far_ns + EXCHANGE_NS)
        return Stays(self.about_nm, self.gone_ns, another_ns=another_ns)

    def is_refused(self, found: SweepRefused, passes: int) -> bool:
        """Whether a sweep without a size ends after `passes` passes.

        Passes are asked after each whether they agree. By chance alone a good sweep says no at one
        of them; another part says no at the next one, too: so they are asked twice.
        """
        is_last = passes >= self._most
        if found.reason in AGREEMENT and not is_last:
            self._refused, self._agreed = self._refused + 1, 0
            return self._refused >= ASKED_TIMES
        return is_last or found.reason in HOPELESS

    def is_enough(self, found: SweepSized, passes: int, u_nm: float) -> bool:
        """Whether a size ends its sweep after `passes` passes.

        Args:
            found: what the sweep says so far.
            passes: how many there were.
            u_nm: the size's whole standard uncertainty, that of the sweep and of all else.
        """
        self._agreed += 1
        if self._refused and self._agreed < ASKED_TIMES and passes < self._most:
            return False  # nor is one yes enough after a no
        self._refused = 0
        left_nm = enough_nm(self._traits.digit_nm, u_nm)
        return passes >= self._most or found.u_passes_nm <= left_nm
