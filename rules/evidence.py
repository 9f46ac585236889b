"""What a judgement stands on: the sheet, the set's parts, and the sizes found so far."""

from collections.abc import Mapping
from dataclasses import dataclass

from rules.budget import difference
from rules.check import Value
from rules.decide import GUARD_FACTOR
from rules.model import FeatureId, Size
from rules.parts import EngineSet
from rules.sheet import Sheet


@dataclass(frozen=True, slots=True)
class Question:
    """Why a feature has no size although something was measured: a held entry, a refused sweep."""

    at: FeatureId
    sentence: str


@dataclass(frozen=True, slots=True)
class Evidence:
    """Everything the rules may look at; `sizes` are at 20 °C and may still be incomplete."""

    sheet: Sheet
    engine: EngineSet
    sizes: Mapping[FeatureId, Size]
    guard_factor: float = GUARD_FACTOR
    questions: tuple[Question, ...] = ()

    def value(self, at: FeatureId) -> Value | None:
        """Size of a feature with its uncertainty, None when it has none yet."""
        size = self.sizes.get(at)
        return None if size is None else Value.of_size(size, self.guard_factor)

    def less(self, large: Size, small: Size) -> Value:
        """Difference of two sizes; causes that both share cancel in its uncertainty."""
        budget = difference(large.budget, small.budget)
        return Value.of_budget(large.size_nm - small.size_nm, budget, self.guard_factor)


def skirt_at(piston_id: str) -> FeatureId:
    """The skirt of a piston."""
    return FeatureId(piston_id, "skirt")


def pin_at(pin_id: str) -> FeatureId:
    """The diameter of a wrist pin."""
    return FeatureId(pin_id, "diameter")


def bore_places(sheet: Sheet, barrel_id: str) -> tuple[FeatureId, ...]:
    """Every place of a barrel's bore, from the top down, each depth in all directions."""
    return tuple(
        FeatureId(barrel_id, "bore", depth.id, direction)
        for depth in sheet.barrel.depths
        for direction in sheet.barrel.directions
    )


def wall_at(barrel_id: str) -> FeatureId:
    """The thinnest wall of a barrel or liner."""
    return FeatureId(barrel_id, "wall")


def ring_at(piston_id: str, what: str, ring: str) -> FeatureId:
    """A feature of a ring in its groove.

    `groove` and `ring` are widths; `side` is the thickest leaf that goes in anywhere, `side-all`
    the thickest that goes in all round; `gap` is the closed gap, measured in a bore of `gap-bore`.
    """
    return FeatureId(piston_id, what, ring)
