"""The sweep of one feature, reading by reading: what the bench feeds and asks."""

from collections import deque
from collections.abc import Iterable, Sequence

from barrelfit.rules.sweep.faults import has_gap
from barrelfit.rules.sweep.finder import PassFinder, Phase, Sample
from barrelfit.rules.sweep.movements import entry_of, hills_of
from barrelfit.rules.sweep.nouns import (
    GaugeTraits,
    Left,
    Lesson,
    PassLost,
    SweepContact,
    SweepNote,
    SweepRefused,
    SweepSized,
)
from barrelfit.rules.sweep.outcome import StreamEvidence, judge
from barrelfit.rules.sweep.passes import pass_of
from barrelfit.rules.sweep.presses import Presses
from barrelfit.rules.sweep.stillness import Stillness

SILENCE_NS = 3_000_000_000  # a stream silent for so long may have lost the part
PASSES_KEPT = 24  # the oldest go first


class Sweep:
    """Collects one sweep; bounded memory, constant cost a reading."""

    def __init__(self, traits: GaugeTraits) -> None:
        self._traits = traits
        entry = entry_of(traits.movement)
        self._moves = hills_of(traits.movement)
        self._finder = PassFinder(self._moves.shape, entry.crest_sign)
        self._hills: deque[list[Sample]] = deque(maxlen=PASSES_KEPT)
        self._last_ns: int | None = None
        self._away_ns = self._moves.away_ns
        self._quiet_since_ns = 0
        self._stillness = Stillness(traits.digit_nm)
        self._touching = False
        self._counted = 0
        self._stale = 0
        self._outside = 0
        self._broken = 0

    @property
    def passes(self) -> int:
        """How many passes were found so far."""
        return self._counted

    def push(self, t_ns: int, length_nm: int) -> tuple[SweepNote, ...]:
        """Take one reading; times must grow.

        Returns:
            What this reading told: contact, a pass completed, the part gone.
        """
        last_ns = self._last_ns
        if last_ns is None:
            self._quiet_since_ns = t_ns
        elif t_ns <= last_ns:
            self._stale += 1
            return ()
        elif t_ns - last_ns > SILENCE_NS:
            return (*self._silence(t_ns), *self._take(t_ns, length_nm))
        return self._take(t_ns, length_nm)

    def fault(self, t_ns: int) -> None:
        """The gauge sent something that is no reading: time passed without one."""
        if self._last_ns is not None and t_ns < self._last_ns:
            self._stale += 1

    def waits(self, away_ns: int) -> None:
        """A hand that swings away for long has not taken its part away any sooner than this."""
        self._away_ns = max(self._moves.away_ns, away_ns)

    def estimate(self, lessons: Sequence[Lesson] = ()) -> SweepSized | SweepRefused:
        """The size of all passes so far, or why there is none. Changes nothing.

        Args:
            lessons: what other sweeps told of the same gauge, and of parts that are barrelled
                alike.
        """
        hills = list(self._hills)
        open_hill = self._finder.open_hill()
        if open_hill is not None:
            hills.append(open_hill)
        evidence = StreamEvidence(self._stale, self._outside, self._broken)
        return judge(hills, evidence, self._traits, lessons)

    def _take(self, t_ns: int, length_nm: int) -> tuple[SweepNote, ...]:
        self._last_ns = t_ns
        traits = self._traits
        if (traits.low_nm is not None and length_nm < traits.low_nm) or (
            traits.high_nm is not None and length_nm > traits.high_nm
        ):
            self._outside += 1
        before = self._finder.phase
        hill = self._finder.push(t_ns, length_nm)
        if hill is None and self._finder.phase is before:
            return self._away(t_ns, length_nm)
        return self._turned(t_ns, hill)

    def _turned(self, t_ns: int, hill: list[Sample] | None) -> tuple[SweepNote, ...]:
        """A hill began, was passed or was completed."""
        notes: list[SweepNote] = []
        if self._finder.phase is not Phase.LOW:
            self._quiet_since_ns = t_ns
        if not self._touching and self._finder.phase is Phase.HILL:
            self._touching = True
            notes.append(SweepContact(t_ns))
        if hill is not None:
            self._hills.append(hill)
            if has_gap(hill, self._traits):
                return (*notes, PassLost(t_ns))
            found = pass_of(hill, self._counted + 1, self._traits)
            if found is not None:
                self._counted = found.number
                notes.append(found)
        return tuple(notes)

    def _away(self, t_ns: int, length_nm: int) -> tuple[SweepNote, ...]:
        """Nothing turned: has the part been away for long?

        A slow hand in a bore takes its time for a rock, but does not stand still meanwhile.
        """
        rests, away_ns = self._moves.rests_away, self._away_ns
        still_ns = self._stillness.for_ns(t_ns, length_nm) if rests else away_ns
        quiet_ns = min(t_ns - self._quiet_since_ns, still_ns)
        if not self._touching or quiet_ns < away_ns:
            return ()
        if not rests and self._finder.phase is Phase.HILL:
            return ()
        # Few readings came meanwhile: the pass is over all the same.
        hill = None if rests else self._finder.interrupt()
        notes = self._turned(t_ns, hill)
        self._touching = False
        return (*notes, Left(t_ns))

    def _silence(self, t_ns: int) -> tuple[SweepNote, ...]:
        broken = self._finder.phase is Phase.HILL
        self._broken += broken
        hill = self._finder.interrupt()
        notes = self._turned(t_ns, hill)
        if broken:
            notes = (*notes, PassLost(t_ns))
        if self._touching:
            self._touching = False
            notes = (*notes, Left(t_ns))
        return notes


AnySweep = Sweep | Presses


def sweep_of(traits: GaugeTraits) -> AnySweep:
    """A sweep to begin with a gauge."""
    return Presses(traits) if entry_of(traits.movement).by_press else Sweep(traits)


def size_trace(
    samples: Iterable[tuple[int, int]], traits: GaugeTraits
) -> SweepSized | SweepRefused:
    """Size a whole trace of (time in ns, length in nm): the sweep at the trace's end."""
    sweep = sweep_of(traits)
    for t_ns, length_nm in samples:
        sweep.push(t_ns, length_nm)
    return sweep.estimate()
