"""What viewers are told of a session's set: its parts, what is known of each. Pure."""

from collections.abc import Iterator

import msgspec

from barrelfit.rules.bench.setup import Setup
from barrelfit.rules.engine.catalogue import KINDS
from barrelfit.rules.engine.form import Filled
from barrelfit.rules.engine.parts import PartKind
from barrelfit.rules.engine.set_facts import (
    LEAVES,
    OF_ENGINE,
    PART,
    fact_text,
    key_at,
    keys_for,
    leaf_at,
    part_told,
    photos_at,
    standing,
)
from barrelfit.rules.engine.sheet import Sheet
from barrelfit.rules.model import FeatureId


class PartKnown(msgspec.Struct, frozen=True, gc=False):
    """A part of the set, and its facts: values as told, by their place below the part.

    So `looked`, or `feeler/top/0.05`. The engine's own have the empty part and kind.
    """

    part: str
    kind: str
    facts: dict[str, str]


def parts_known(setup: Setup) -> list[PartKnown]:
    """The engine, then every part in the set's order."""
    keys = setup.keys
    engine = PartKnown("", "", dict(_values(keys, [FeatureId("", name) for name in OF_ENGINE])))
    parts = [
        PartKnown(
            name,
            kind,
            _told(part, kind)
            | dict(_values(keys, [*_places(part, name, kind), *photos_at(keys, name)])),
        )
        for kind in KINDS
        for part in keys.tables(kind)
        for name in [part.text("id")]
    ]
    return [engine, *parts]


def choices_of(sheet: Sheet) -> dict[str, list[str]]:
    """What the sheet lets be told, by key; `ring` are the rings that a piston has."""
    kinds = sheet.barrel.kinds
    return {
        "ring": [ring.id for ring in sheet.rings],
        "gap_depth": [depth.id for depth in sheet.barrel.depths],
        "variant": [v.id for v in sheet.variants],
        "group": list(dict.fromkeys(g.id for v in sheet.variants for g in v.groups)),
        "group_stamp": list(dict.fromkeys(g.id for v in sheet.variants for g in v.groups)),
        "kind": [kind.id for kind in kinds],
        "seal": list(dict.fromkeys(seal for kind in kinds for seal in kind.seals)),
        "head_seal": list(dict.fromkeys(seal for kind in kinds for seal in kind.seals)),
        "class": list(sheet.pin.classes),
        "pin_class": list(sheet.pin.classes),
    }


def _told(part: Filled, kind: PartKind) -> dict[str, str]:
    """What is to be said of a part that is one more than the engine has."""
    told = part_told(part, kind)
    return {PART: told} if told else {}


def _places(part: Filled, name: str, kind: PartKind) -> Iterator[FeatureId]:
    yield from (FeatureId(name, key.name) for key in keys_for(kind))
    for ring in part.tables("ring"):
        own = [key.name for key in keys_for(kind, of_ring=True) if key.name != LEAVES]
        yield from (FeatureId(name, key, ring.text("id")) for key in own)
        yield from (leaf_at(name, ring.text("id"), leaf) for leaf in ring.tables(LEAVES))


def _values(
    keys: Filled, places: Iterator[FeatureId] | list[FeatureId]
) -> Iterator[tuple[str, str]]:
    for at in places:
        key, value = key_at(keys, at), standing(keys, at)
        if key is not None and value is not None:
            below = "/".join(word for word in (at.feature, at.depth, at.direction) if word)
            yield below, fact_text(key, value)
