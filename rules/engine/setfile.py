"""A set file: one engine's parts, what was measured on them, and how."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Literal

from barrelfit.rules.engine.catalogue import KINDS, features_of
from barrelfit.rules.engine.catalogue.nouns import Feature
from barrelfit.rules.engine.form import Filled, FormError, Path, Problem, fill
from barrelfit.rules.engine.found_sizes import (
    FoundSizes,
    found_of,
    found_problems,
    place_of,
)
from barrelfit.rules.engine.parts import (
    BESIDES,
    Beside,
    EngineSet,
    Feeler,
    Marks,
    Override,
    Part,
    PartKind,
)
from barrelfit.rules.engine.set_check import set_problems
from barrelfit.rules.engine.set_form import SCHEMA, SET
from barrelfit.rules.engine.sheet import Sheet
from barrelfit.rules.model import FeatureId
from barrelfit.rules.said import said

By = Literal["outside", "bore", "hand"]


@dataclass(frozen=True, slots=True)
class Measured:
    """A length as measured, in nm; `path` is its key in the file."""

    at: FeatureId
    read_nm: int
    by: By
    path: Path


@dataclass(frozen=True, slots=True)
class Traced:
    """A feature whose sweep lies in a trace file beside the set file."""

    at: FeatureId
    file: str
    by: By
    path: Path


@dataclass(frozen=True, slots=True)
class Pictured:
    """A photo file of a part, named in the set file."""

    part: str
    file: str
    path: Path


@dataclass(frozen=True, slots=True)
class Measuring:
    """How the sizes of a set file were measured.

    Standard uncertainties in nm and temperatures in thousandths of a degree Celsius, None where the
    file does not say. `at_20` means that the sizes are corrected to 20 °C already. `warm` holds the
    parts that have a temperature of their own.
    """

    outside_u_nm: int | None = None
    bore_u_nm: int | None = None
    hand_u_nm: int | None = None
    standard: str = ""
    standard_u_nm: int = 0
    gauge_milli_celsius: int | None = None
    part_milli_celsius: int | None = None
    room_milli_celsius: int | None = None
    at_20: bool = False
    gauge_material: str = "gauge-steel"
    outside_movement: str = "following"
    digit_nm: int = 1_000
    warm: tuple[tuple[str, int], ...] = ()


@dataclass(frozen=True, slots=True)
class SetFile:
    """What a set file holds; `unit` is the unit it is written in, `filled` all its keys.

    `found` are sizes of a bench, `asked` what waited for an answer there, by its place.
    """

    filled: Filled
    engine: EngineSet
    measuring: Measuring
    measured: tuple[Measured, ...]
    traced: tuple[Traced, ...]
    pictured: tuple[Pictured, ...]
    confirmed: tuple[str, ...]
    unit: str
    found: FoundSizes
    asked: tuple[tuple[FeatureId, str], ...]


def set_from(table: Mapping[str, object], sheet: Sheet, name: str) -> SetFile:
    """Build a set from a parsed TOML file (decimals as `Decimal`).

    Args:
        table: the parsed file.
        sheet: the engine's sheet, whose names and sizes the file must keep to.
        name: name of the file, for the problems' sentences.

    Returns:
        The set, all lengths in nm.

    Raises:
        FormError: the file is not as it must be; all problems at once, each with its key.
    """
    schema = table.get("schema")
    if isinstance(schema, int) and schema > SCHEMA:
        sentence = said("schema_newer", schema=schema, known=SCHEMA)
        raise FormError(name, [Problem(("schema",), sentence)])
    unit = table.get("unit")
    filling = fill(SET, table, unit if isinstance(unit, str) else "")
    filled = filling.filled
    # Without a unit every length is in doubt: sizes are not held against the sheet then.
    known_unit = bool(filled.text("unit"))
    problems = [*filling.problems, *(set_problems(filled, sheet) if known_unit else ())]
    if not filling.problems:
        given = [*(m.at for m in _measured(filled)), *(t.at for t in _traced(filled))]
        problems += found_problems(filled, given)
    if problems:
        raise FormError(name, problems)
    return set_of_filled(filled)


def set_of_filled(filled: Filled) -> SetFile:
    """Build a set from its keys, which are known to be as they must be."""
    return SetFile(
        filled=filled,
        engine=_engine(filled),
        measuring=_measuring(filled),
        measured=tuple(_measured(filled)),
        traced=tuple(_traced(filled)),
        pictured=tuple(_pictured(filled)),
        confirmed=filled.texts("confirmed"),
        unit=filled.text("unit"),
        found=found_of(filled),
        asked=tuple((place_of(q.text("at")), q.text("question")) for q in filled.tables("open")),
    )


def _engine(filled: Filled) -> EngineSet:
    return EngineSet(
        job=filled.text("job"),
        variant=filled.text("variant"),
        group=filled.text("group"),
        oversize_nm=filled.number("oversize") or 0,
        head_seal=filled.text("head_seal"),
        parts=tuple(_parts(filled)),
        overrides=tuple(_override(o) for o in filled.tables("override")),
        left_out=filled.texts("left_out"),
        measured_by=filled.text("measured_by"),
        steps=filled.texts("steps"),
    )


def _parts(filled: Filled) -> Iterator[Part]:
    for kind in KINDS:
        for part in filled.tables(kind):
            yield _part(part, kind)


def _part(filled: Filled, kind: PartKind) -> Part:
    return Part(
        id=filled.text("id"),
        kind=kind,
        serial=filled.text("serial"),
        spare=filled.flag("spare") or bool(filled.text("replaces")),
        position=filled.number("position"),
        replaces=filled.text("replaces"),
        looked=filled.texts("looked") if "looked" in filled.values else None,
        marks=_marks(filled),
        mass_mg=filled.number("mass_g"),
        barrel_kind=filled.text("kind"),
        seal=filled.text("seal"),
        height_group=filled.text("height_group"),
        mate=filled.text("piston"),
        play=filled.text("play"),
        feelers=tuple(_feelers(filled)),
        gap_depths=tuple(
            (ring.text("id"), ring.text("gap_depth"))
            for ring in filled.tables("ring")
            if "gap_depth" in ring.values
        ),
        crown=filled.text("crown"),
        number=filled.text("number"),
        cleaned=filled.text("cleaned"),
        height_marked=filled.text("height_marked"),
    )


def _marks(filled: Filled) -> Marks:
    return Marks(
        size_nm=filled.number("size_stamp"),
        group=filled.text("group_stamp"),
        clearance_min_nm=filled.number("clearance_stamp"),
        pin_class=filled.text("pin_class") or filled.text("class"),
        weight_class=filled.text("weight_stamp"),
        direction=filled.text("direction_stamp"),
        unreadable=filled.texts("unreadable"),
        absent=filled.texts("absent"),
    )


def _feelers(piston: Filled) -> Iterator[Feeler]:
    for ring in piston.tables("ring"):
        for feeler in ring.tables("feeler"):
            leaf_nm = feeler.number("leaf") or 0
            yield Feeler(ring.text("id"), leaf_nm, feeler.flags("went_in"), _beside(feeler))


def _beside(feeler: Filled) -> Beside:
    return next(ring for ring in BESIDES if ring == feeler.text("beside"))


def _override(filled: Filled) -> Override:
    return Override(
        quantity=filled.text("quantity"),
        value_nm=filled.number("value") or 0,
        signed_by=filled.text("signed_by"),
        why=filled.text("why"),
        part=filled.text("part"),
    )


def _measuring(filled: Filled) -> Measuring:
    table, usual = filled.table("measuring"), Measuring()
    warm = [
        (part.text("id"), part.number("temp_c") or 0)
        for kind in ("piston", "barrel")
        for part in filled.tables(kind)
        if "temp_c" in part.values
    ]
    return Measuring(
        outside_u_nm=table.number("outside_u"),
        bore_u_nm=table.number("bore_u"),
        hand_u_nm=table.number("hand_u"),
        standard=table.text("standard"),
        standard_u_nm=table.number("standard_u") or 0,
        gauge_milli_celsius=table.number("gauge_temp_c"),
        part_milli_celsius=table.number("part_temp_c"),
        room_milli_celsius=table.number("room_temp_c"),
        at_20=table.flag("at_20") or False,
        gauge_material=table.text("gauge_material", usual.gauge_material),
        outside_movement=table.text("outside_movement", usual.outside_movement),
        digit_nm=table.number("digit") or usual.digit_nm,
        warm=tuple(warm),
    )


def _measured(filled: Filled) -> Iterator[Measured]:
    for kind in KINDS:
        for part in filled.tables(kind):
            name = part.text("id")
            for entry in features_of(kind):
                yield from _read(entry, part, name)
            for ring in part.tables("ring"):
                for entry in features_of(kind, of_ring=True):
                    yield from _read(entry, ring, name, ring.text("id"))


def _read(entry: Feature, filled: Filled, part: str, ring: str = "") -> Iterator[Measured]:
    """The lengths of one feature: one of a part or ring, or one at each place of a bore."""
    if entry.key is None:
        return
    key, gauge = entry.key.name, _gauge_of(entry)
    for place, read_nm in filled.grid(key).items():
        at = FeatureId(part, entry.name, *place)
        yield Measured(at, read_nm, gauge, (*filled.path, key, *place))
    length_nm = filled.number(key)
    if length_nm is not None:
        yield Measured(FeatureId(part, entry.name, ring), length_nm, gauge, (*filled.path, key))


def _traced(filled: Filled) -> Iterator[Traced]:
    for kind in KINDS:
        for part in filled.tables(kind):
            for entry in features_of(kind):
                yield from _traces(entry, part)


def _traces(entry: Feature, part: Filled) -> Iterator[Traced]:
    if entry.trace_key is None:
        return
    key, gauge, name = entry.trace_key.name, _gauge_of(entry), part.text("id")
    for place, file in part.names(key).items():
        at = FeatureId(name, entry.name, *place)
        yield Traced(at, file, gauge, (*part.path, key, *place))
    file = part.text(key)
    if file:
        yield Traced(FeatureId(name, entry.name), file, gauge, (*part.path, key))


def _gauge_of(entry: Feature) -> By:
    """With what a set file's length was measured; no gauge means by hand."""
    return entry.gauge if entry.gauge in {"outside", "bore"} else "hand"


def _pictured(filled: Filled) -> Iterator[Pictured]:
    for kind in KINDS:
        for part in filled.tables(kind):
            for file in part.texts("photos"):
                yield Pictured(part.text("id"), file, (*part.path, "photos"))
