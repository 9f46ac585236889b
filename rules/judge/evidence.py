"""What a judgement stands on: the sheet, the set's parts, and the sizes found so far."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from barrelfit.rules.compare import Value
from barrelfit.rules.engine.parts import EngineSet
from barrelfit.rules.engine.sheet import Sheet
from barrelfit.rules.model import FeatureId, Judgement, Size
from barrelfit.rules.said import Said
from barrelfit.rules.uncertainty.budget import difference
from barrelfit.rules.uncertainty.decide import GUARD_FACTOR


@dataclass(frozen=True, slots=True)
class Question:
    """Why a feature has no size although something was measured: a held entry, a refused sweep."""

    at: FeatureId
    sentence: Said


@dataclass(frozen=True, slots=True)
class Evidence:
    """Everything the rules may look at; `sizes` are at 20 °C and may still be incomplete.

    `firsts` are the first sizes of what was measured twice at a bench. None: the sizes are somebody
    else's, and nobody can be asked to measure once more. Nothing of it changes once it is made.
    """

    sheet: Sheet
    engine: EngineSet
    sizes: Mapping[FeatureId, Size]
    guard_factor: float = GUARD_FACTOR
    questions: tuple[Question, ...] = ()
    firsts: Mapping[FeatureId, Size] | None = None
    judged_once: dict[str, Judgement] = field(
        default_factory=dict, init=False, compare=False, repr=False
    )
    """What was judged of it already, by part: it is asked for again and again."""

    def value(self, at: FeatureId) -> Value | None:
        """Size of a feature with its uncertainty, None when it has none yet."""
        size = self.sizes.get(at)
        return None if size is None else Value.of_size(size, self.guard_factor)

    def less(self, large: Size, small: Size) -> Value:
        """Difference of two sizes; causes that both share cancel in its uncertainty."""
        budget = difference(large.budget, small.budget)
        return Value.of_budget(large.size_nm - small.size_nm, budget, self.guard_factor)
