"""What viewers are told of a session's plan: features, gauges, where on the part. Pure."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final

import msgspec

from barrelfit.acquire.bus.jobs_told import JobsTold
from barrelfit.acquire.bus.set_told import PartKnown, choices_of, parts_known
from barrelfit.rules.bench.aim import aim_nm
from barrelfit.rules.bench.setup import Setup
from barrelfit.rules.engine.catalogue import feature
from barrelfit.rules.engine.catalogue.nouns import CAUTIONS
from barrelfit.rules.engine.catalogue.rings import LEAVES, places_wanted
from barrelfit.rules.engine.parts import Part
from barrelfit.rules.engine.set_facts import key_at
from barrelfit.rules.engine.sheet import Sheet
from barrelfit.rules.judge.plan import features, weighable, whole_way
from barrelfit.rules.model import FeatureId
from barrelfit.rules.said import Said
from barrelfit.rules.sweep.movements import entry_of

ENGINE: Final = Part("", "barrel")
"""What is asked of the engine as a whole, is asked of no part; its barrels may be of any kind."""
UNITS: Final = {"mass": "g", "size": "mm", "length": "mm"}
"""In which a fact of each kind of key is told where nothing else is said."""


class Planned(msgspec.Struct, frozen=True, gc=False):
    """A feature of the plan, and the gauge that will measure it (empty: none does).

    `from_edge_nm` is how far from an edge it is measured: a skirt's height above the lower edge, a
    bore's depth below the top; None for what is measured at no set place. A size takes `passes`
    passes at least (0: not known), and is sure enough at about ± `aim_nm` (None: not known). `step`
    is the step of the job. `by_press`: its gauge sends only on its button; each press is a pass.
    """

    at: FeatureId
    gauge: str
    from_edge_nm: int | None = None
    passes: int = 0
    aim_nm: int | None = None
    step: str = ""
    by_press: bool = False


class FactAsked(msgspec.Struct, frozen=True, gc=False):
    """A fact that the plan asks for, told or not, and how it is answered.

    `step` is the step of the job, `by` what it is found with (eye, hand or scale). `options` are
    the answers by sheet and form; none: it is free. `press` and `long` are what the pedal's `next`
    and `again` answer; empty: they put it off, or ask once more. `is_mark`: it may be unreadable or
    absent. `places`: at how many places in turn it is answered; 0: once. `unit` is its number's.
    `gauge` is the scale that tells it; empty: it is told by somebody.
    """

    at: FeatureId
    step: str
    by: str
    options: list[str]
    press: str = ""
    long: str = ""
    is_mark: bool = False
    places: int = 0
    unit: str = ""
    gauge: str = ""


@dataclass(frozen=True, slots=True)
class SetTold:
    """A session's plan and set as viewers are told of them; see `acquire.bus.set_told`.

    `cautions` are what can hurt or spoil a part, by step; `pedal` is how the bench's pedal is
    pressed for each word it says.
    """

    features: Sequence[Planned] = ()
    parts: Sequence[PartKnown] = ()
    choices: Mapping[str, list[str]] = field(default_factory=dict)
    jobs: JobsTold | None = None
    facts: Sequence[FactAsked] = ()
    cautions: Mapping[str, Said] = field(default_factory=dict)
    pedal: Mapping[str, str] = field(default_factory=dict)

    @classmethod
    def of(
        cls, setup: Setup, jobs: JobsTold | None = None, pedal: Mapping[str, str] | None = None
    ) -> "SetTold":
        """What is told of a setup, of the jobs that may come after it, and of the pedal."""
        if not setup.engine.parts:
            return cls(jobs=jobs)
        return cls(
            features=planned_features(setup),
            parts=parts_known(setup),
            choices=choices_of(setup.sheet),
            jobs=jobs,
            facts=facts_asked(setup),
            cautions=CAUTIONS,
            pedal=pedal or {},
        )


def facts_asked(setup: Setup) -> list[FactAsked]:
    """Every fact that the plan asks for, in its order; with a scale any mass may be asked for."""
    told = []
    scale = next(iter(setup.scales), "")
    way = whole_way(setup.sheet, setup.engine)
    masses = weighable(setup.sheet, setup.engine) if scale else ()
    for planned in (*way, *(p for p in masses if p not in way)):
        telling, at = planned.telling, planned.at
        if telling is None:
            continue
        part = next((p for p in setup.engine.parts if p.id == at.part), ENGINE)
        key = key_at(setup.keys, at)
        options = [*telling.options(setup.sheet, part), *(key.choices if key is not None else ())]
        places = places_wanted(setup.sheet, at) if at.feature == LEAVES.name else 0
        unit = "" if key is None else UNITS.get(key.kind, "")
        told.append(
            FactAsked(
                at=at,
                step=telling.step,
                by=planned.gauge_kind,
                options=list(dict.fromkeys(options)),
                press=telling.press,
                long=telling.long,
                is_mark=bool(telling.mark),
                places=places,
                unit=unit,
                gauge=scale if planned.gauge_kind == "scale" else "",
            )
        )
    return told


def planned_features(setup: Setup) -> list[Planned]:
    """Every feature in the plan's order."""
    told = []
    for planned in features(setup.sheet, setup.engine):
        gauge = setup.gauge_for(planned.gauge_kind, planned.about_nm)
        edge_nm = _from_edge_nm(setup.sheet, planned.at)
        if gauge is None:
            told.append(Planned(planned.at, "", edge_nm, step=planned.step))
        else:
            aim = aim_nm(setup, planned, gauge)
            sweep = gauge.passes, aim, planned.step, entry_of(gauge.traits.movement).by_press
            told.append(Planned(planned.at, gauge.name, edge_nm, *sweep))
    return told


def _from_edge_nm(sheet: Sheet, at: FeatureId) -> int | None:
    entry = feature(at.feature)
    return None if entry is None else entry.from_edge_nm(sheet, at)
