"""What to measure, in the order that needs the fewest gauge changes and movements.

All skirts first with the outside gauge (pins with it), then all bores, each barrel from the top
down, then what is tried by hand on the rings of each piston, and the bores in which their gaps were
measured. Within a barrel the gauge is lowered
once and turned at each depth, the turn alternating so that the last direction of one depth is the
first of the next. What is asked of each feature, and how, stands in `rules.engine.catalogue`.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from typing import Final, get_args

from barrelfit.rules.engine.catalogue import FEATURES
from barrelfit.rules.engine.catalogue.nouns import Feature, GaugeKind, Round, Where
from barrelfit.rules.engine.gate import stopped_at_gate
from barrelfit.rules.engine.parts import EngineSet, Part, PartKind
from barrelfit.rules.engine.sheet import Sheet
from barrelfit.rules.model import FeatureId
from barrelfit.rules.said import Said


@dataclass(frozen=True, slots=True)
class PlannedFeature:
    """One feature to be measured: with which kind of gauge, and one line on how.

    What no gauge measures is tried by `hand`, seen by `eye`, or weighed on a `scale`.

    `about_nm` is roughly its size, for choosing a gauge by its range; None: not known.
    """

    at: FeatureId
    gauge_kind: GaugeKind
    sentence: Said
    about_nm: int | None = None


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
    sound = [p for p in engine.parts if not stopped_at_gate(p)]
    return tuple(
        planned
        for measuring in Round
        for part in sound
        for planned in _of_round(measuring, sheet, engine, part)
    )


def _of_round(
    measuring: Round, sheet: Sheet, engine: EngineSet, part: Part
) -> Iterator[PlannedFeature]:
    """What a round asks of a part: all features of one ring or place before those of the next."""
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
        yield PlannedFeature(at, entry.gauge, sentence, asking.about_nm(sheet, part))


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
