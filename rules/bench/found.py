"""What a size is made of, before it is corrected to 20 °C."""

from dataclasses import dataclass

from barrelfit.rules.bench.setup import GaugeOnBench
from barrelfit.rules.model import FeatureId
from barrelfit.rules.sweep import Lesson
from barrelfit.rules.uncertainty.size_budget import AsRead
from barrelfit.rules.uncertainty.temperature import Temperatures


@dataclass(frozen=True, slots=True)
class FoundSize:
    """How a size was read, by which estimator, over which passes.

    `lesson` is what other sweeps may learn of it, `taught_by` whose sweeps taught this one.
    """

    read: AsRead
    estimator: str
    rank: str
    pass_sizes_nm: tuple[int, ...] = ()
    source: str = "sweep"
    lesson: Lesson | None = None
    taught_by: tuple[FeatureId, ...] = ()


@dataclass(frozen=True, slots=True)
class AsFound:
    """A size as it was read: by which gauge, and how warm everything was then."""

    gauge: GaugeOnBench
    found: FoundSize
    temperatures: Temperatures
