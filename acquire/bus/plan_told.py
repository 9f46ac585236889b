"""What viewers are told of a session's plan: features, gauges, where on the part. Pure."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import msgspec

from barrelfit.acquire.bus.jobs_told import JobsTold
from barrelfit.acquire.bus.set_told import PartKnown, choices_of, parts_known
from barrelfit.rules.bench.aim import aim_nm
from barrelfit.rules.bench.setup import Setup
from barrelfit.rules.engine.catalogue import feature
from barrelfit.rules.engine.sheet import Sheet
from barrelfit.rules.judge.plan import features
from barrelfit.rules.model import FeatureId


class Planned(msgspec.Struct, frozen=True, gc=False):
    """A feature of the plan, and the gauge that will measure it (empty: none does).

    `from_edge_nm` is how far from an edge it is measured: a skirt's height above the lower edge, a
    bore's depth below the top; None for what is measured at no set place. A size takes `passes`
    passes at least (0: not known), and is sure enough at about ± `aim_nm` (None: not known).
    """

    at: FeatureId
    gauge: str
    from_edge_nm: int | None = None
    passes: int = 0
    aim_nm: int | None = None


@dataclass(frozen=True, slots=True)
class SetTold:
    """A session's plan and set as viewers are told of them; see `acquire.bus.set_told`."""

    features: Sequence[Planned] = ()
    parts: Sequence[PartKnown] = ()
    choices: Mapping[str, list[str]] = field(default_factory=dict)
    jobs: JobsTold | None = None

    @classmethod
    def of(cls, setup: Setup, jobs: JobsTold | None = None) -> "SetTold":
        """What is told of a setup, and of the jobs that may come after it."""
        if not setup.engine.parts:
            return cls(jobs=jobs)
        return cls(planned_features(setup), parts_known(setup), choices_of(setup.sheet), jobs)


def planned_features(setup: Setup) -> list[Planned]:
    """Every feature in the plan's order."""
    told = []
    for planned in features(setup.sheet, setup.engine):
        gauge = setup.gauge_for(planned.gauge_kind, planned.about_nm)
        edge_nm = _from_edge_nm(setup.sheet, planned.at)
        if gauge is None:
            told.append(Planned(planned.at, "", edge_nm))
        else:
            aim = aim_nm(setup, planned, gauge)
            told.append(Planned(planned.at, gauge.name, edge_nm, gauge.passes, aim))
    return told


def _from_edge_nm(sheet: Sheet, at: FeatureId) -> int | None:
    entry = feature(at.feature)
    return None if entry is None else entry.from_edge_nm(sheet, at)
