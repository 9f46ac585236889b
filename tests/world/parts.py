"""The parts of one invented engine, their true sizes drawn by chance; nothing here is measured.

The sheet is the shipped 85 mm one with three cylinders and one depth, so that a set is played
in a fraction of a second. Lengths are mm.
"""

import random
import re
from dataclasses import dataclass, field

from barrelfit.acquire.inputs.shelf import shipped_text
from barrelfit.rules.model import FeatureId

SHEET = "flat-four-85"
NUMBERS = range(1, 4)
DIRECTIONS = ("thrust", "pin")
SPREADS_MM = (0.003, 0.010, 0.030)
WORN_MM = 84.8447  # below the wear limit of 84.860 by more than any doubt
GOOD_MM = (84.890, 84.925)
BORE_MM = (85.005, 85.030)


def sheet_text() -> str:
    """The shipped sheet with three cylinders and the middle depth alone."""
    text = shipped_text("rules", "sheets", SHEET)
    for depth in ("top", "bottom"):
        text = re.sub(rf'\[\[barrel\.depth\]\]\nid = "{depth}"\nbelow_top = [\d.]+\n', "", text)
    return text.replace("cylinders = 4", "cylinders = 3").replace("[2, 4]", "[2]")


STEPS = 'steps = ["look", "mark"]\n'
"""Two steps in which the plan asks for facts, too: a look at each part, a mark on each skirt."""


def set_text(*, asks_facts: bool = False) -> str:
    """Three pistons and three barrels, sizes alone, or some facts besides."""
    left_out = '"rings", "pins", "mass", "height-groups", "head-seal"]\n'
    looks = STEPS + "left_out = [" if asks_facts else 'left_out = ["looked-at", '
    head = (
        f'schema = 1\nunit = "mm"\njob = "W-1"\nvariant = "early"\ngroup = "II"\n{looks}{left_out}'
    )
    pistons = "".join(f'[[piston]]\nid = "P{n}"\n' for n in NUMBERS)
    barrels = "".join(
        f'[[barrel]]\nid = "B{n}"\nkind = "iron-liner"\npiston = "P{n}"\n' for n in NUMBERS
    )
    return head + pistons + barrels


@dataclass(frozen=True)
class Parts:
    """What the parts truly measure, in mm, by feature."""

    sizes_mm: dict[FeatureId, float]
    worn: frozenset[str] = field(default=frozenset())

    def size_mm(self, at: FeatureId) -> float:
        return self.sizes_mm[at]

    def places(self, at: FeatureId) -> list[FeatureId]:
        """Every place of that feature of the part."""
        return [p for p in self.sizes_mm if (p.part, p.feature) == (at.part, at.feature)]


def parts_of(chance: random.Random) -> Parts:
    """A set: pistons alike within a spread, now and then one worn out; bores worn a little."""
    spread_mm = chance.choice(SPREADS_MM)
    middle_mm = chance.uniform(*GOOD_MM)
    worn = {f"P{n}" for n in NUMBERS if chance.random() < 0.15}
    sizes: dict[FeatureId, float] = {}
    for number in NUMBERS:
        about_mm = WORN_MM if f"P{number}" in worn else middle_mm
        sizes[FeatureId(f"P{number}", "skirt")] = about_mm + chance.uniform(-0.5, 0.5) * spread_mm
    for number in NUMBERS:
        bore_mm = chance.uniform(*BORE_MM)
        for direction in DIRECTIONS:
            at = FeatureId(f"B{number}", "bore", "middle", direction)
            sizes[at] = bore_mm + chance.uniform(0, 0.006)
    return Parts(sizes, frozenset(worn))
