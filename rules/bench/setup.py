"""What a session depends on, as its first record tells it: engine, gauges, materials."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from barrelfit.rules.engine.catalogue.nouns import GaugeKind
from barrelfit.rules.engine.form import Filled
from barrelfit.rules.engine.parts import EngineSet
from barrelfit.rules.engine.sheet import Sheet
from barrelfit.rules.sweep import GaugeTraits
from barrelfit.rules.uncertainty.decide import GUARD_FACTOR
from barrelfit.rules.uncertainty.materials import Material
from barrelfit.rules.uncertainty.size_budget import GaugeFacts
from barrelfit.rules.uncertainty.temperature import Temperatures


@dataclass(frozen=True, slots=True)
class GaugeOnBench:
    """A gauge: what it measures, how it moves, what its budget needs, and passes for a size."""

    name: str
    measures: GaugeKind
    traits: GaugeTraits
    facts: GaugeFacts
    passes: int


@dataclass(frozen=True, slots=True)
class Scale:
    """A scale: `by_print` says that it sends once when it has come to rest, or on its key."""

    name: str
    by_print: bool


@dataclass(frozen=True, slots=True)
class Setup:
    """All that a session depends on, as the journal's first record tells it.

    `keys` are the set's own, from which `engine` is made; without them no fact can be told. `who`
    is who opened the session, and is at the bench until somebody else signs on.
    """

    sheet: Sheet
    engine: EngineSet
    gauges: Mapping[str, GaugeOnBench]
    materials: Mapping[str, Material]
    temperatures: Temperatures = field(default=Temperatures())
    guard_factor: float = GUARD_FACTOR
    keys: Filled = field(default=Filled(()))
    who: str = ""
    scales: Mapping[str, Scale] = field(default_factory=dict)

    def gauge_for(self, kind: GaugeKind, about_nm: int | None = None) -> GaugeOnBench | None:
        """The first gauge of the bench that measures such a feature and reaches its size.

        Args:
            kind: what the gauge must measure.
            about_nm: roughly the feature's size, in nm; None, or a gauge without a range: any.
        """
        fitting = (g for g in self.gauges.values() if g.measures == kind)
        return next((g for g in fitting if about_nm is None or _reaches(g, about_nm)), None)


def _reaches(gauge: GaugeOnBench, size_nm: int) -> bool:
    low_nm, high_nm = gauge.traits.low_nm, gauge.traits.high_nm
    return (low_nm is None or low_nm <= size_nm) and (high_nm is None or size_nm <= high_nm)
