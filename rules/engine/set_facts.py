"""A set's facts one by one: where each stands among a set file's keys, and the set with another.

A fact's place is written as in `rules.told`. What gauges and hands measure is no fact: a size is
swept or typed in.
"""

import re
from dataclasses import replace
from decimal import Decimal, InvalidOperation
from typing import Final

from barrelfit.rules.engine.catalogue import KINDS, fact_keys
from barrelfit.rules.engine.catalogue.looks import LOOKED
from barrelfit.rules.engine.form import Filled, Form, Key, Path
from barrelfit.rules.engine.parts import KIND_SAID, PartKind
from barrelfit.rules.engine.set_form import PISTON_RING, SET
from barrelfit.rules.engine.set_writer import plain_number
from barrelfit.rules.engine.slips import NM_PER_TYPED
from barrelfit.rules.errors import UnfitError
from barrelfit.rules.model import FeatureId
from barrelfit.rules.said import Said, said

LEAVES: Final = "feeler"
"""The one key that holds tables: leaves that were tried in a groove, each with its thickness."""
OF_ENGINE: Final = ("variant", "group", "oversize", "head_seal", "measured_by")
_OF_ANY: Final = ("serial", *(key.name for key in LOOKED.keys), "unreadable", "absent", "position")
PHOTOS: Final = "photos"
"""The key of a part's photos. One told at the bench is a fact by itself (`photo_at`)."""
PHOTO_FOLDER: Final = "photos"
"""Where photos told at the bench are kept, beside the session."""
PART: Final = "id"
"""The key under which another part is told: its kind, and `of` or `replaces` which one."""
_NAME: Final = re.compile(r"[A-Za-z][A-Za-z0-9-]{0,11}", re.ASCII)
_WHOSE: Final = {"of": "piston", "replaces": "replaces"}
REPLACED: Final = "replaced_by"
"""The key of a ring under which another one is told that lies in its place."""
_OF_RING: Final = ("gap_depth", REPLACED)
_WORDS: Final = {"in": True, "out": False}
_SPLIT: Final = re.compile(r"[\s,]+")
_KEPT: Final = re.compile(rf"{PHOTO_FOLDER}/([0-9a-f]{{64}})\.(?:jpg|png)", re.ASCII)
_MARK: Final = 16  # digits of a photo's hash that tell its place
_ONE_PHOTO: Final = Key(PHOTOS, "text", "a photo of it, kept under its hash", required=False)


def keys_for(kind: PartKind | None, *, of_ring: bool = False) -> tuple[Key, ...]:
    """The keys that may be told of a kind of part, of its rings, or of the engine (None)."""
    if kind is None:
        return tuple(k for k in SET.keys if k.name in OF_ENGINE)
    if of_ring:
        told = [k for k in PISTON_RING.keys if k.name in _OF_RING]
        return (*fact_keys(kind, of_ring=True), *told)
    form = _form_of(kind)
    return (*(k for k in form.keys if k.name in _OF_ANY), *fact_keys(kind))


def kind_of(filled: Filled, part: str) -> PartKind | None:
    """The kind of the part of that name, None when there is none."""
    return next((k for k in KINDS if any(p.text("id") == part for p in filled.tables(k))), None)


def key_at(filled: Filled, at: FeatureId) -> Key | None:
    """The key of a fact's place, None where nothing can be told there."""
    kind = kind_of(filled, at.part)
    if at.part and kind is None:
        return None
    if at.feature == PHOTOS:
        return _ONE_PHOTO if kind is not None and at.depth and not at.direction else None
    keys = keys_for(kind, of_ring=bool(at.depth)) if not at.depth or kind == "piston" else ()
    key = next((k for k in keys if k.name == at.feature), None)
    if key is None or (key.name == LEAVES) != bool(at.direction):
        return None
    return key


def leaf_at(part: str, ring: str, leaf: Filled) -> FeatureId:
    """The place of a leaf that was tried: its thickness in mm, and the ring beside it, if told."""
    words = (plain_number(leaf.number("leaf") or 0, "size"), leaf.text("beside"))
    return FeatureId(part, LEAVES, ring, " ".join(w for w in words if w))


def photo_hash(name: str) -> str:
    """The SHA-256 of a photo by its name, as photos told at the bench are named; else empty.

    >>> photo_hash("photos/" + 64 * "a" + ".jpg") == 64 * "a"
    True
    >>> photo_hash("piston 1.jpg")
    ''
    """
    kept = _KEPT.fullmatch(name)
    return kept.group(1) if kept else ""


def photo_at(part: str, name: str) -> FeatureId:
    """The place of a photo told at the bench: the part, and the first digits of its hash."""
    return FeatureId(part, PHOTOS, photo_hash(name)[:_MARK])


def photos_at(filled: Filled, part: str) -> tuple[FeatureId, ...]:
    """The places of a part's photos that were told at the bench."""
    table = _table_at(filled, FeatureId(part, PHOTOS))
    names = table.texts(PHOTOS) if table is not None else ()
    return tuple(photo_at(part, name) for name in names if photo_hash(name))


def path_at(filled: Filled, at: FeatureId) -> Path:
    """The path of a fact's key in the set file that holds it, or would."""
    table = _table_at(filled, at)
    path = table.path if table is not None else (at.part, at.depth)
    if at.feature != LEAVES or table is None:
        return (*path, at.feature)
    leaves = table.tables(LEAVES)
    number = next((n for n, one in enumerate(leaves) if _is_leaf(one, at)), len(leaves))
    return (*path, LEAVES, number, "leaf")


def standing(filled: Filled, at: FeatureId) -> object:
    """What stands at a fact's place, None where nothing does."""
    table = _table_at(filled, at)
    if table is None:
        return None
    if at.feature == PHOTOS:
        return next((n for n in table.texts(PHOTOS) if _is_photo(n, at)), None)
    if at.feature != LEAVES:
        return table.values.get(at.feature)
    return next((one for one in table.tables(LEAVES) if _is_leaf(one, at)), None)


def with_fact(filled: Filled, at: FeatureId, value: object) -> Filled:
    """The set with another value at a fact's place; None: without one.

    Args:
        filled: the set.
        at: a place that `key_at` knows.
        value: as the key's kind is read; of a leaf, its table.
    """
    kind = kind_of(filled, at.part)
    if kind is None:
        return _with(filled, at.feature, value)
    parts = tuple(
        _in_part(p, at, value) if p.text("id") == at.part else p for p in filled.tables(kind)
    )
    return _with(filled, kind, parts)


def with_part(filled: Filled, name: str, told: str) -> Filled:
    """The set with another part.

    Args:
        filled: the set.
        name: the part's id.
        told: its kind, and of which piston it is, or which part's place it is to take, as in
            `pin of P5` or `piston replaces P3`.

    Raises:
        UnfitError: it is not told so, or there is a part of that name.
    """
    words = told.split()
    kind = next((k for k in KINDS if words[:1] == [k]), None)
    if kind is None or len(words) not in {1, 3} or (len(words) > 1 and words[1] not in _WHOSE):
        raise UnfitError(said("say_kind", kinds=KINDS))
    if not _NAME.fullmatch(name) or kind_of(filled, name) is not None:
        taken = _NAME.fullmatch(name)
        raise UnfitError(said("name_taken", name=name) if taken else said("name_of_part"))
    parts = filled.tables(kind)
    values: dict[str, object] = {"id": name}
    if len(words) > 1:
        values[_WHOSE[words[1]]] = words[2]
    if kind != "pin" and "replaces" not in values:
        values["spare"] = True
    if kind == "pin" and "replaces" in values:
        pins = filled.tables("pin")
        values["piston"] = next((p.text("piston") for p in pins if p.text("id") == words[2]), "")
    if kind == "pin" and not values.get("piston"):
        raise UnfitError(said("say_which_piston"))
    if any(_form_of(kind).key(key) is None for key in values):
        raise UnfitError(said("goes_with_piston", kind=KIND_SAID[kind]))
    return _with(filled, kind, (*parts, Filled((kind, len(parts)), values)))


def part_told(part: Filled, kind: PartKind) -> str:
    """How a part is told that is one more than the engine has; empty for the engine's own."""
    place = part.text("replaces")
    if place:
        return f"{kind} replaces {place}"
    return kind if part.flag("spare") else ""


def confirmed(filled: Filled, name: str) -> Filled:
    """The set with one more key that is said to be meant so, by its written path."""
    names = filled.texts("confirmed")
    return filled if name in names else _with(filled, "confirmed", (*names, name))


def unconfirmed(filled: Filled, start: str) -> Filled:
    """The set without the keys that are said to be meant so and whose paths begin with `start`."""
    names = filled.texts("confirmed")
    kept = tuple(name for name in names if not name.replace(" ", "").startswith(start))
    return filled if kept == names else _with(filled, "confirmed", kept or None)


def fact_text(key: Key, value: object) -> str:
    """A fact's value as it is told: in mm or g, names apart by commas; empty for none.

    `value_told` reads it back.
    """
    if value is None:
        return ""
    if isinstance(value, Filled):
        return ", ".join("in" if inside else "out" for inside in value.flags("went_in"))
    if isinstance(value, tuple):
        return ", ".join(str(item) for item in value)
    return plain_number(value, key.kind) if isinstance(value, int) else str(value)


def value_told(key: Key, at: FeatureId, text: str, unit: str) -> tuple[object, str]:
    """What a TOML parser would have read of a fact as told, and the unit of its lengths.

    Args:
        key: the fact's key.
        at: its place.
        text: the value as told, or as `fact_text` writes it.
        unit: as told; where none is, mm and g.

    Raises:
        UnfitError: it is not told as such a fact is.
    """
    if key.name in {LEAVES, PHOTOS}:
        return (_leaf_told if key.name == LEAVES else _photo_told)(at, text), "mm"
    if key.kind == "texts":
        return [name for name in _SPLIT.split(text.strip()) if name], "mm"
    if key.kind == "mass":
        _must_be(unit, ("g", ""), said("weigh_in_g"))
        return _number(text), "mm"
    if key.kind == "count":
        return int(_number(text)) if text.strip().isdecimal() else text.strip(), "mm"
    if key.kind in {"size", "length"}:
        _must_be(unit, (*NM_PER_TYPED, ""), said("in_which_unit"))
        return _length(text, unit or "mm")
    return text.strip(), "mm"


def _length(text: str, unit: str) -> tuple[Decimal, str]:
    """A length in mm or inch; µm are written as mm, exactly."""
    per_mm = NM_PER_TYPED["mm"] // NM_PER_TYPED[unit] if unit not in {"mm", "inch"} else 1
    return _number(text) / per_mm, unit if unit == "inch" else "mm"


def _leaf_told(at: FeatureId, text: str) -> object:
    thickness, _, beside = at.direction.partition(" ")
    words = [word for word in _SPLIT.split(text.strip().lower()) if word]
    if not words or any(word not in _WORDS for word in words):
        raise UnfitError(said("say_in_or_out"))
    told = {"leaf": _number(thickness), "went_in": [_WORDS[word] for word in words]}
    return {**told, "beside": beside} if beside else told


def _photo_told(at: FeatureId, text: str) -> object:
    name = text.strip()
    if not _is_photo(name, at):
        raise UnfitError(said("photo_by_hash"))
    return name


def _must_be(unit: str, units: tuple[str, ...], sentence: Said) -> None:
    if unit not in units:
        raise UnfitError(sentence)


def _number(text: str) -> Decimal:
    plain = text.strip()
    if not re.fullmatch(r"[0-9]{1,12}(\.[0-9]{1,12})?|\.[0-9]{1,12}", plain, re.ASCII):
        is_comma = "," in plain
        what = (
            said("mark_is_point", text=plain[:20])
            if is_comma
            else said("not_decimal", text=plain[:20])
        )
        raise UnfitError(what)
    try:
        return Decimal(plain)
    except InvalidOperation:
        raise UnfitError(said("not_decimal", text=plain[:20])) from None


# ---------------------------------------------------------------- tables within tables


def _form_of(kind: PartKind) -> Form:
    key = SET.key(kind)
    return key.form if key is not None and key.form is not None else Form(())


def _table_at(filled: Filled, at: FeatureId) -> Filled | None:
    if not at.part:
        return filled
    kind = kind_of(filled, at.part)
    tables = filled.tables(kind) if kind is not None else ()
    part = next((p for p in tables if p.text("id") == at.part), None)
    if part is None or not at.depth or at.feature == PHOTOS:
        return part
    rings = part.tables("ring")
    new = Filled((*part.path, "ring", len(rings)), {"id": at.depth})
    return next((r for r in rings if r.text("id") == at.depth), new)


def _in_part(part: Filled, at: FeatureId, value: object) -> Filled:
    if at.feature == PHOTOS:
        others = [name for name in part.texts(PHOTOS) if not _is_photo(name, at)]
        return _with(part, PHOTOS, (*others, *([value] if value else ())) or None)
    if not at.depth:
        return _with(part, at.feature, value)
    rings = part.tables("ring")
    if all(r.text("id") != at.depth for r in rings):
        rings = (*rings, Filled((*part.path, "ring", len(rings)), {"id": at.depth}))
    return _with(
        part,
        "ring",
        tuple(_in_ring(r, at, value) if r.text("id") == at.depth else r for r in rings),
    )


def _in_ring(ring: Filled, at: FeatureId, value: object) -> Filled:
    if at.feature != LEAVES:
        return _with(ring, at.feature, value)
    told = (value,) if isinstance(value, Filled) else ()
    before = ring.tables(LEAVES)
    place = next((n for n, one in enumerate(before) if _is_leaf(one, at)), len(before))
    others = [one for one in before if not _is_leaf(one, at)]
    leaves = [*others[:place], *told, *others[place:]]
    numbered = (replace(one, path=(*ring.path, LEAVES, n)) for n, one in enumerate(leaves))
    return _with(ring, LEAVES, tuple(numbered) or None)


def _is_photo(name: str, at: FeatureId) -> bool:
    return bool(photo_hash(name)) and photo_at(at.part, name) == at


def _is_leaf(leaf: Filled, at: FeatureId) -> bool:
    thickness, _, beside = at.direction.partition(" ")
    try:
        told_nm = _number(thickness) * NM_PER_TYPED["mm"]
    except UnfitError:
        return False
    return leaf.number("leaf") == told_nm and leaf.text("beside") == beside


def _with(filled: Filled, key: str, value: object) -> Filled:
    values = {**filled.values, key: value}
    if value is None:
        del values[key]
    return Filled(filled.path, values)
