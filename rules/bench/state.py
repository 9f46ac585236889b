"""A bench as the step knows it: its setup, and all that has happened so far."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Literal

from barrelfit.rules.bench.departure import Departure
from barrelfit.rules.bench.enough import Looks
from barrelfit.rules.engine.parts import EngineSet
from barrelfit.rules.engine.sheet import Sheet
from barrelfit.rules.events import Judged
from barrelfit.rules.judge.evidence import Evidence
from barrelfit.rules.judge.plan import GaugeKind, PlannedFeature, features
from barrelfit.rules.model import FeatureId, Size
from barrelfit.rules.sweep import GaugeTraits, Sweep
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
class Setup:
    """All that a session depends on, as the journal's first record tells it."""

    sheet: Sheet
    engine: EngineSet
    gauges: Mapping[str, GaugeOnBench]
    materials: Mapping[str, Material]
    temperatures: Temperatures = field(default=Temperatures())
    guard_factor: float = GUARD_FACTOR

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


Phase = Literal["armed", "leaving", "done"]


@dataclass(slots=True)
class Bench:
    """Everything a session has come to; owned by `rules.bench.step`, which changes it in place.

    `phase` is `armed` (the next contact begins a sweep of the asked feature), `leaving` (the part
    or the gauge must come away first, or the last passes of one feature would count for the
    next) or `done`. `asked_again` holds features that were measured twice for a verdict's sake,
    `put_off` those the pedal put off, `wanted` the one whose size was taken back.
    """

    setup: Setup
    sizes: dict[FeatureId, Size]
    temperatures: Temperatures
    asked: PlannedFeature | None = None
    gauge: GaugeOnBench | None = None
    sweep: Sweep | None = None
    looks: Looks | None = None
    passes: int = 0
    last_nm: int = 0
    departure: Departure | None = None
    phase: Phase = "armed"
    judged: dict[str, Judged] = field(default_factory=dict)
    asked_again: set[FeatureId] = field(default_factory=set)
    put_off: list[FeatureId] = field(default_factory=list)
    wanted: FeatureId | None = None
    history: list[FeatureId] = field(default_factory=list)
    held: dict[tuple[FeatureId, str], str] = field(default_factory=dict)

    @property
    def evidence(self) -> Evidence:
        """What the rules may look at now."""
        setup = self.setup
        return Evidence(setup.sheet, setup.engine, self.sizes, setup.guard_factor)

    @property
    def plan(self) -> tuple[PlannedFeature, ...]:
        """Everything gauges must measure on this set, in order."""
        return features(self.setup.sheet, self.setup.engine)

    def holds_another(self, action: str) -> bool:
        """Whether the gauge may still hold another part than a pedal's action will ask for.

        After a size the measured part is still there: right for `undo`, wrong for what was asked
        next. In the middle of a sweep the asked part is there: right for `again` alone.
        """
        if self.phase == "leaving":
            return action != "undo"
        return action != "again" and self.passes > 0

    def set_temperature(self, of: str, milli_celsius: int) -> None:
        """Take a temperature of `part`, `gauge` or `room` for the sizes to come."""
        key = f"{of}_milli_celsius"
        self.temperatures = replace(self.temperatures, **{key: milli_celsius})
