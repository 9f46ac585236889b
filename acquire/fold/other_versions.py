"""A session's stretches by other versions: what stands at their end, for today's rules. Pure."""

from dataclasses import replace
from typing import Final

from barrelfit.acquire.fold.handlers import answer, take
from barrelfit.acquire.fold.noted import Noted
from barrelfit.acquire.fold.sizes import first_sizes, size_of
from barrelfit.acquire.fold.state import SessionState
from barrelfit.acquire.journal.events import READINGS, version_of
from barrelfit.rules.bench.setup import Setup
from barrelfit.rules.bench.taken_over import Standing
from barrelfit.rules.events import Judged, TwoPartsAsked, TwoPartsSettled
from barrelfit.rules.model import FeatureId, Verdict

_TWO_FOR_SURE: Final = frozenset({"pressed", "measured"})
_TWICE: Final = 2


class OtherVersions:
    """Follows a session from its first record on, and tells who recorded it.

    `foreign` says that the stretch is by another version, `state` what has happened so far.
    """

    def __init__(self, own: str) -> None:
        """Begin before the first record; `own` is this program's version."""
        self._own = own
        self.foreign = False
        self.state = SessionState()
        self._pairs: dict[str, frozenset[tuple[str, str, str]]] = {}
        self._settled: frozenset[tuple[str, str, str]] = frozenset()

    def take(self, noted: Noted) -> bool:
        """Take the next record; tells whether this version goes on after another from there."""
        event = noted.event
        if type(event) in READINGS:  # bear on nothing that stands
            return False
        take(self.state, noted)
        match event:
            case TwoPartsAsked(feature=feature, pairs=pairs):
                self._pairs[feature] = frozenset((feature, p.earlier, p.later) for p in pairs)
            case TwoPartsSettled(feature=feature, how=how) if how in _TWO_FOR_SURE:
                self._settled |= self._pairs.get(feature, frozenset())
        was, by = self.foreign, version_of(event)
        if by:
            self.foreign = by != self._own
        takes_over = was and not self.foreign
        if takes_over:
            answer(self.state, noted)  # what the other version had no time to answer
        return takes_over

    @property
    def judged(self) -> dict[str, Judged]:
        """The verdicts as they were said last."""
        return {about: stood.event for about, stood in self.state.judged.items()}

    def standing(self, setup: Setup) -> Standing:
        """What stands now; `setup` is the session's own."""
        state = self.state
        stood = sorted(state.sizes.values(), key=lambda one: one.seq)
        told = {f"{of}_milli_celsius": milli for of, milli in state.milli_celsius.items()}
        return Standing(
            sizes=tuple(size_of(one.event) for one in stood),
            firsts=first_sizes(state),
            asked_again=frozenset(at for at in state.sizes if self._was_repeated(at)),
            settled=self._settled,
            judged=self.judged,
            asks=state.asked.event.ask if state.asked is not None else 0,
            temperatures=replace(setup.temperatures, **told),
            facts=tuple(one.event for one in state.facts),
            facts_held=tuple(one.event for one in state.facts_held.values()),
        )

    def _was_repeated(self, at: FeatureId) -> bool:
        """Whether a feature was measured once more already, and need not be again.

        Some versions kept no first size of what was too near a limit; a discard that none was kept
        of rests on one sweep.
        """
        if at in self.state.firsts:
            return True
        judged = self.state.judged.get(at.part)
        undecided = judged is not None and judged.event.verdict is Verdict.UNDECIDED
        return undecided and self.state.history.count(at) >= _TWICE
