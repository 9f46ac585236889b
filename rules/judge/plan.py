"""What to tell and to measure, as the trade works, with the fewest gauge changes and movements.

What is seen, read, cleaned and marked comes first, where the job asks for these steps. Then come
all skirts with the outside gauge (pins with it), all bores, each barrel from the top down, what is
tried by hand on the rings of each piston, and the bores in which their gaps were measured; fits,
masses and heights are last. Within a barrel the gauge is lowered once and turned at each depth, the
turn alternating so that the last direction of one depth is the first of the next. What is asked of
each feature and fact, and how, stands in `rules.engine.catalogue`.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Final, get_args

from barrelfit.rules.engine.catalogue import FACTS, FEATURES
from barrelfit.rules.engine.catalogue.barrels import HEAD_SEAL
from barrelfit.rules.engine.catalogue.nouns import (
    STEP_OF,
    Feature,
    GaugeKind,
    Round,
    Telling,
    Where,
)
from barrelfit.rules.engine.gate import stopped_at_gate
from barrelfit.rules.engine.parts import EngineSet, Part, PartKind
from barrelfit.rules.engine.sheet import Sheet
from barrelfit.rules.model import FeatureId
from barrelfit.rules.said import Said, said


@dataclass(frozen=True, slots=True)
class PlannedFeature:
    """One feature to be measured: with which kind of gauge, and one line on how.

    What no gauge measures is tried by `hand`, seen by `eye`, or weighed on a `scale`.

    `about_nm` is roughly its size, for choosing a gauge by its range; None: not known. `telling` is
    how a fact is asked for, None for a length; `step` the step of the job.
    """

    at: FeatureId
    gauge_kind: GaugeKind
    sentence: Said
    about_nm: int | None = None
    telling: Telling | None = None
    step: str = ""


def _asked_by_round() -> dict[tuple[Round, PartKind], list[list[Feature]]]:
    """What each round asks of each kind of part, what is at the same places together."""
    asked: dict[tuple[Round, PartKind], list[list[Feature]]] = {}
    for where in get_args(Where):
        here: dict[tuple[Round, PartKind], list[Feature]] = {}
        for entry in FEATURES:
            if entry.asking is not None and entry.where == where:
                here.setdefault((entry.asking.round, entry.kind), []).append(entry)
        for key, entries in here.items():
            asked.setdefault(key, []).append(entries)
    return asked


_ASKED: Final = _asked_by_round()


@lru_cache(maxsize=4)  # asked again and again while a set is measured
def features(sheet: Sheet, engine: EngineSet) -> tuple[PlannedFeature, ...]:
    """Everything gauges must measure on a set, in order; parts that failed by eye are left out."""
    return tuple(p for p in whole_way(sheet, engine) if p.telling is None)


@lru_cache(maxsize=4)
def whole_way(sheet: Sheet, engine: EngineSet) -> tuple[PlannedFeature, ...]:
    """Everything the plan asks for on a set, in order: the facts of its steps, and all sizes.

    Of parts that failed by eye nothing is asked.
    """
    sound = [p for p in engine.parts if not (stopped_at_gate(p) or engine.is_replaced(p))]
    return tuple(
        planned
        for working in Round
        for asked in (
            _facts_of_engine(working, engine),
            *(
                one_round(working, sheet, engine, part)
                for part in sound
                for one_round in (_facts_of_round, _of_round)
            ),
        )
        for planned in asked
    )


def weighable(sheet: Sheet, engine: EngineSet) -> tuple[PlannedFeature, ...]:
    """What may be weighed of a set, whether or not its job asks for that step."""
    way = whole_way(sheet, replace(engine, steps=("mass",)))
    return tuple(p for p in way if p.gauge_kind == "scale")


def _facts_of_engine(working: Round, engine: EngineSet) -> Iterator[PlannedFeature]:
    """What a round asks to be told of the engine as a whole; it is no part."""
    asks = HEAD_SEAL.step in engine.steps and engine.asks(HEAD_SEAL.topic)
    if working == HEAD_SEAL.round and engine.parts and asks:
        at = FeatureId("", HEAD_SEAL.key)
        sentence = said("ask_head_seal")
        yield PlannedFeature(at, "eye", sentence, None, HEAD_SEAL, HEAD_SEAL.step)


def _facts_of_round(
    working: Round, sheet: Sheet, engine: EngineSet, part: Part
) -> Iterator[PlannedFeature]:
    """What a round asks to be told of a part."""
    if STEP_OF[working] not in engine.steps:
        return
    for fact in FACTS:
        for telling in fact.asking if part.kind in fact.kinds else ():
            if telling.round != working or (telling.topic and not engine.asks(telling.topic)):
                continue
            own = [FeatureId(part.id, telling.key)]
            for at in own if telling.places is None else telling.places(sheet, part):
                sentence = telling.sentence(sheet, part, at)
                if sentence:
                    step = telling.step
                    yield PlannedFeature(at, fact.gauge, sentence, None, telling, step)


def _of_round(
    measuring: Round, sheet: Sheet, engine: EngineSet, part: Part
) -> Iterator[PlannedFeature]:
    """What a round measures of a part: all features of one ring or place before the next's."""
    for entries in _ASKED.get((measuring, part.kind), ()):
        for at_one_place in zip(*(_places(f, sheet, part) for f in entries), strict=True):
            for entry, at in zip(entries, at_one_place, strict=True):
                yield from _planned(entry, at, sheet, engine, part)


def _planned(
    entry: Feature, at: FeatureId, sheet: Sheet, engine: EngineSet, part: Part
) -> Iterator[PlannedFeature]:
    asking = entry.asking
    if asking is None or (asking.topic and not engine.asks(asking.topic)):
        return
    sentence = asking.sentence(sheet, engine, part, at)
    if sentence:
        about_nm, step = asking.about_nm(sheet, part), STEP_OF[asking.round]
        yield PlannedFeature(at, entry.gauge, sentence, about_nm, step=step)


def _places(entry: Feature, sheet: Sheet, part: Part) -> list[FeatureId]:
    if entry.where == "part":
        return [FeatureId(part.id, entry.name)]
    if entry.where == "rings":
        return [FeatureId(part.id, entry.name, ring.id) for ring in sheet.rings]
    turned = (sheet.barrel.directions, sheet.barrel.directions[::-1])
    return [
        FeatureId(part.id, entry.name, depth.id, direction)
        for number, depth in enumerate(sheet.barrel.depths)
        for direction in turned[number % 2]
    ]
