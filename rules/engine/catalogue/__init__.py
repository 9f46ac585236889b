"""The catalogue: one entry for everything that is measured, read, looked at or weighed of a part.

Plan, expectation, set file, sizing, judging, report and board read it. An entry stands with its
part (`pistons`, `rings`, `barrels`, `pins`), and is listed there; nothing is listed again here.
"""

from typing import Final

from barrelfit.rules.engine.catalogue import barrels, diameters, looks, pins, pistons, rings
from barrelfit.rules.engine.catalogue.looks import LOOKED
from barrelfit.rules.engine.catalogue.nouns import Fact, Feature, Lack
from barrelfit.rules.engine.form import Key
from barrelfit.rules.engine.parts import PartKind

FEATURES: Final = (*pistons.FEATURES, *rings.FEATURES, *barrels.FEATURES, *pins.FEATURES)
FACTS: Final = (LOOKED, *pistons.FACTS, *rings.FACTS, *barrels.FACTS, *pins.FACTS)
WORDS: Final = tuple(m.WORDS for m in (diameters, looks, pistons, rings, barrels, pins))
"""What its entries say: it stands with them."""
KINDS: Final[tuple[PartKind, ...]] = ("piston", "barrel", "pin")
MAIN: Final = {f.kind: f for f in FEATURES if f.is_main}
_BY_NAME: Final = {f.name: f for f in FEATURES}


def feature(name: str) -> Feature | None:
    """Find a feature by its name, None for what is no length, or of another version."""
    return _BY_NAME.get(name)


def features_of(kind: PartKind, *, of_ring: bool = False) -> tuple[Feature, ...]:
    """The features of a kind of part, those of its rings apart."""
    return tuple(f for f in FEATURES if f.kind == kind and (f.where == "rings") is of_ring)


def fact_keys(kind: PartKind, *, of_ring: bool = False) -> tuple[Key, ...]:
    """The keys of a set file that tell the facts which only this kind of part has."""
    own = (f for f in FACTS if f.kinds == (kind,) and f.of_ring is of_ring)
    return tuple(key for f in own for key in f.keys)


def feature_keys(kind: PartKind, *, of_ring: bool = False) -> tuple[Key, ...]:
    """The keys of a set file that hold the lengths of a kind of part, or their traces."""
    return tuple(key for f in features_of(kind, of_ring=of_ring) for key in f.keys)


def unreadable_marks() -> tuple[str, ...]:
    """What a set file calls the marks that can't be read."""
    return tuple(dict.fromkeys(mark for f in FACTS for mark in f.unreadable))


def lacks() -> dict[str, tuple[str, Lack]]:
    """What each finding lacks, by its code: the name of the feature or fact, and how to find it."""
    entries: tuple[Feature | Fact, ...] = (*FEATURES, *FACTS)
    return {lack.code: (entry.name, lack) for entry in entries for lack in entry.lacks}
