"""The facts of a session: what stood at its begin, what was told since, what waits for an answer.

What a fact told brings about is `rules.bench.fact_told`.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace

from barrelfit.rules.engine.form import Filled
from barrelfit.rules.engine.parts import EngineSet
from barrelfit.rules.engine.setfile import set_of_filled
from barrelfit.rules.engine.sheet import Sheet
from barrelfit.rules.judge.evidence import Question
from barrelfit.rules.judge.fact_entry import open_doubts, with_taken
from barrelfit.rules.model import FeatureId
from barrelfit.rules.said import said
from barrelfit.rules.told import FactHeld, FactTaken


@dataclass(frozen=True, slots=True)
class FactsSoFar:
    """A set's keys as it was opened (`first`) and as they are `now`, and what is held of it."""

    first: Filled
    now: Filled
    held: tuple[FactHeld, ...] = ()
    doubts: tuple[Question, ...] = ()

    @classmethod
    def of(cls, first: Filled) -> "FactsSoFar":
        """Begin with the set as the session's first record has it."""
        return cls(first, first)

    @property
    def questions(self) -> tuple[Question, ...]:
        """What waits for an answer: its part is undecided meanwhile.

        What is said of the whole engine bears on every part; who measured bears on none.
        """
        parts = [p.text("id") for kind in ("piston", "barrel") for p in self.now.tables(kind)]
        held = (
            Question(replace(one.at, part=part), said("lacking", what=one.sentence, do=one.advice))
            for one in self.held
            if one.at.feature != "measured_by"
            for part in ([one.at.part] if one.at.part else parts)
        )
        return (*held, *self.doubts)

    def held_at(self, at: FeatureId) -> FactHeld | None:
        """What is held at a fact's place."""
        return next((one for one in self.held if one.at == at), None)

    def with_held(self, held: FactHeld) -> "FactsSoFar":
        """The same with one more that waits, in place of what waited there."""
        kept = tuple(one for one in self.held if one.at != held.at)
        return replace(self, held=(*kept, held))

    def without_held(self, at: FeatureId) -> "FactsSoFar":
        """The same with nothing that waits at a place."""
        kept = tuple(one for one in self.held if one.at != at)
        return replace(self, held=kept)

    def with_now(self, now: Filled, sheet: Sheet) -> "FactsSoFar":
        """The same with other keys now."""
        return replace(self, now=now, doubts=open_doubts(self.first, now, sheet))


def facts_after(
    first: Filled, taken: Iterable[FactTaken], held: Iterable[FactHeld], sheet: Sheet
) -> FactsSoFar:
    """The facts of a session whose record holds these.

    Args:
        first: the set as the session was opened with.
        taken: the facts that were taken, in order.
        held: those that wait for an answer.
        sheet: the engine's sheet.
    """
    now = first
    for one in taken:
        now = with_taken(now, one)
    return FactsSoFar(first, now, tuple(held)).with_now(now, sheet)


def engine_of(now: Filled, was: EngineSet) -> EngineSet:
    """The engine as its keys tell it; photos are known of the engine as it was."""
    photos = {part.id: part.photos for part in was.parts}
    engine = set_of_filled(now).engine
    parts = tuple(replace(part, photos=photos.get(part.id, ())) for part in engine.parts)
    return replace(engine, parts=parts)
