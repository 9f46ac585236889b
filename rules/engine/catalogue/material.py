"""What a gauge touches when it measures a feature, and what that is made of."""

from typing import Final

from barrelfit.rules.engine.catalogue import feature
from barrelfit.rules.engine.parts import EngineSet, Part
from barrelfit.rules.engine.sheet import Sheet
from barrelfit.rules.model import FeatureId

PIN_STEEL: Final = "steel-4140"


def touched(engine: EngineSet, at: FeatureId) -> Part | None:
    """The part that the gauge touches; None where that is another part, which the set has not.

    A ring is pushed into the barrel that its piston came with.
    """
    entry = feature(at.feature)
    return engine.home_of(at.part) if entry and entry.touches == "home" else engine.part(at.part)


def material_of(sheet: Sheet, part: Part) -> str:
    """What a part is made of where it is measured; empty where its kind says nothing of it."""
    if part.kind == "barrel":
        kind = sheet.barrel.kind(part.barrel_kind)
        return kind.material if kind is not None else ""
    return sheet.piston.material if part.kind == "piston" else PIN_STEEL
