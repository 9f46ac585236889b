"""A bench as the step knows it: its setup, and all that has happened so far."""

from dataclasses import dataclass, field, replace

from barrelfit.rules.bench.phases import REPEATS, Armed, ByHand, Done, Hold, Leaving, Phase, Waiting
from barrelfit.rules.bench.setup import GaugeOnBench, Setup
from barrelfit.rules.events import Judged
from barrelfit.rules.judge.evidence import Evidence
from barrelfit.rules.judge.plan import PlannedFeature, features
from barrelfit.rules.model import FeatureId, Size
from barrelfit.rules.uncertainty.temperature import Temperatures


@dataclass(slots=True)
class Bench:
    """Everything a session has come to; owned by `rules.bench.step`, which changes it in place.

    `asks` counts what was asked for; `firsts` are the first sizes of what was measured twice for a
    verdict's sake. `asked_again` holds these features, and those that were not to be measured
    again; `put_off` those the pedal put off; `history` those that have a size, in the order in
    which they were taken.
    """

    setup: Setup
    sizes: dict[FeatureId, Size]
    temperatures: Temperatures
    phase: Phase = field(default=Done())
    asks: int = 0
    judged: dict[str, Judged] = field(default_factory=dict)
    firsts: dict[FeatureId, Size] = field(default_factory=dict)
    asked_again: set[FeatureId] = field(default_factory=set)
    put_off: list[FeatureId] = field(default_factory=list)
    history: list[FeatureId] = field(default_factory=list)
    held: dict[tuple[FeatureId, str], str] = field(default_factory=dict)

    @property
    def evidence(self) -> Evidence:
        """What the rules may look at now."""
        setup = self.setup
        return Evidence(
            setup.sheet, setup.engine, self.sizes, setup.guard_factor, firsts=self.firsts
        )

    @property
    def plan(self) -> tuple[PlannedFeature, ...]:
        """Everything gauges must measure on this set, in order."""
        return features(self.setup.sheet, self.setup.engine)

    @property
    def asked(self) -> PlannedFeature | None:
        """What is asked for, None when nothing is left."""
        return None if isinstance(self.phase, Done) else self.phase.ask.planned

    @property
    def gauge(self) -> GaugeOnBench | None:
        """The gauge that is asked for."""
        return None if isinstance(self.phase, Done | ByHand) else self.phase.gauge

    @property
    def hold(self) -> Hold | None:
        """What the gauge in use may hold now."""
        match self.phase:
            case Armed(touched=True) as armed:
                return Hold(armed.gauge, armed.ask.at, armed.stays)
            case Leaving(hold=hold):
                return hold
            case Waiting() as waiting:
                return waiting.leaves or waiting.swept
            case _:
                return None

    def is_repeat(self, at: FeatureId) -> bool:
        """Whether a size of a feature is asked for beside the one it has."""
        if isinstance(self.phase, Done) or at not in self.sizes:
            return False
        return self.phase.ask.at == at and self.phase.ask.why in REPEATS

    def forget(self, at: FeatureId) -> None:
        """A feature's size stands no more."""
        self.sizes.pop(at, None)
        self.firsts.pop(at, None)
        self.asked_again.discard(at)
        self.history = [other for other in self.history if other != at]

    def set_temperature(self, of: str, milli_celsius: int) -> None:
        """Take a temperature of `part`, `gauge` or `room` for the sizes to come."""
        key = f"{of}_milli_celsius"
        self.temperatures = replace(self.temperatures, **{key: milli_celsius})
