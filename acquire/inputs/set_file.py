"""Reads sheets and set files, with the files that a set names, and says what is wrong with them."""

import hashlib
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from barrelfit.acquire.errors import UserError
from barrelfit.acquire.inputs.set_traces import swept_sizes
from barrelfit.acquire.inputs.shelf import given_sheet, given_text, parse_toml, shipped_text
from barrelfit.acquire.inputs.toml_places import Path as Place
from barrelfit.acquire.inputs.toml_places import located
from barrelfit.acquire.streams import is_standard, name_of
from barrelfit.rules.engine.doubts import text_problems
from barrelfit.rules.engine.form import FormError, Problem, fill
from barrelfit.rules.engine.parts import EngineSet, Photo
from barrelfit.rules.engine.set_doubts import set_doubts
from barrelfit.rules.engine.set_facts import photo_hash
from barrelfit.rules.engine.set_form import SET
from barrelfit.rules.engine.setfile import SetFile, set_from, set_of_filled
from barrelfit.rules.engine.sheet import Sheet, sheet_from
from barrelfit.rules.engine.sheet_doubts import sheet_doubts
from barrelfit.rules.judge.evidence import Evidence, Question
from barrelfit.rules.judge.set_sizes import SizeDesk, sizes_of
from barrelfit.rules.said import Said, said, written
from barrelfit.rules.uncertainty.materials import Material, materials_from


@dataclass(frozen=True, slots=True)
class Loaded:
    """A set, ready to be judged: the evidence, what had to be assumed, and the texts it is from."""

    evidence: Evidence
    notes: tuple[Said, ...]
    sheet_text: str
    set_text: str


def load_materials() -> dict[str, Material]:
    """The shipped materials by name."""
    text = shipped_text("rules", "data", "materials")
    return materials_from(parse_toml(text, "materials.toml"))


def sheet_of(text: str, name: str) -> Sheet:
    """Build a sheet from its text; raises UserError with every problem's line and key.

    Also where a value is so unusual that it is asked about, and the sheet does not confirm it.
    """
    table = parse_toml(text, name)
    _refuse(list(text_problems(table)), text, name)
    try:
        sheet = sheet_from(table, name)
    except FormError as error:
        raise UserError(located(error.located, text, name)) from None
    _refuse(sheet_doubts(table), text, name)
    named: list[tuple[Place, str]] = [(("piston", "material"), sheet.piston.material)]
    for number, kind in enumerate(sheet.barrel.kinds):
        named.append((("barrel", "kind", number, "material"), kind.material))
    check_materials(named, load_materials(), text, name)
    return sheet


def check_materials(
    named: Sequence[tuple[Place, str]], known: Collection[str], text: str, name: str
) -> None:
    """Raise UserError, with file, line and key, for each material named that there isn't.

    Args:
        named: where in the file a material is named, and its name.
        known: the materials that there are.
        text: the file's text.
        name: how messages call the file.
    """
    problems = [
        Problem(at, said("no_such_material", name=m, known=tuple(known)))
        for at, m in named
        if m not in known
    ]
    _refuse(problems, text, name)


def set_as_told(text: str, name: str) -> SetFile:
    """A set whose engine nobody knows: its keys are read, and held against no sheet.

    Raises:
        UserError: a key is not as it must be; every problem at once.
    """
    table = parse_toml(text, name)
    _refuse(list(text_problems(table)), text, name)
    unit = table.get("unit")
    filling = fill(SET, table, unit if isinstance(unit, str) else "")
    if filling.problems:
        raise UserError(located(filling.problems, text, name))
    return set_of_filled(filling.filled)


def hash_photos(text: str, sheet: Sheet, path: Path) -> dict[str, str]:
    """The SHA-256 of each photo that a set file names; raises UserError for a missing one."""
    try:
        return _hashes(checked_set(text, sheet, str(path)), path.parent)
    except FormError as error:
        raise UserError(located(error.located, text, str(path))) from None


def set_of(text: str, sheet: Sheet, name: str) -> SetFile:
    """Build a set from its text; raises UserError with every problem's line and key."""
    table = parse_toml(text, name)
    try:
        return set_from(table, sheet, name)
    except FormError as error:
        raise UserError(located(error.located, text, name)) from None


def checked_set(text: str, sheet: Sheet, name: str) -> SetFile:
    """Build a set as `set_of` does, from a file that is new to us: its doubts must be answered.

    Raises:
        UserError: the file is not as it must be, or holds what is asked about.
    """
    table = parse_toml(text, name)
    _refuse(list(text_problems(table)), text, name)  # first: other problems repeat the texts
    file = set_of(text, sheet, name)
    _refuse(set_doubts(table, sheet), text, name)
    return file


def load_set(path: Path, sheet_name: str, guard_factor: float) -> Loaded:
    """Read a set file, its sheet, and the trace and photo files that it names.

    Args:
        path: the set file.
        sheet_name: a shipped sheet's name, or the path of a sheet file.
        guard_factor: guard band in standard uncertainties.

    Raises:
        UserError: a file is not as it must be; every problem with its file, line and key.
    """
    if is_standard(path) and is_standard(sheet_name):
        raise UserError([said("one_from_input")])
    text_of_sheet = given_sheet(sheet_name)
    sheet = sheet_of(text_of_sheet, name_of(sheet_name))
    text, name = given_text(path), name_of(path)
    file = checked_set(text, sheet, name)
    materials = load_materials()
    named = (("measuring", "gauge_material"), file.measuring.gauge_material)
    check_materials([named], materials, text, name)
    found = sizes_of(file, sheet, materials)
    try:
        swept = swept_sizes(file, path.parent, SizeDesk(file, sheet, materials))
        engine = with_photos(file, _hashes(file, path.parent))
    except FormError as error:
        raise UserError(located(error.located, text, name)) from None
    at_bench = {size.at: size for size in file.found.sizes}
    firsts = {size.at: size for size in file.found.firsts} if at_bench else None
    sizes = {**found.sizes, **swept.sizes, **at_bench}
    asked = tuple(Question(at, written(question)) for at, question in file.asked)
    questions = (*found.questions, *swept.questions, *asked)
    notes = tuple(dict.fromkeys((*found.notes, *swept.notes)))
    evidence = Evidence(sheet, engine, sizes, guard_factor, questions, firsts)
    return Loaded(evidence, notes, text_of_sheet, text)


def _hashes(file: SetFile, folder: Path) -> dict[str, str]:
    """The SHA-256 of every photo, by its name; raises FormError for each that can't be read."""
    problems: list[Problem] = []
    hashes: dict[str, str] = {}
    for pictured in file.pictured:
        try:
            content = folder.joinpath(pictured.file).read_bytes()
        except OSError as error:
            problems.append(
                Problem(
                    pictured.path,
                    said("photo_unread", file=pictured.file, what=str(error.strerror)),
                )
            )
            continue
        hashes[pictured.file] = hashlib.sha256(content).hexdigest()
    if problems:
        raise FormError(str(folder), problems)
    return hashes


def with_photos(file: SetFile, hashes: Mapping[str, str]) -> EngineSet:
    """The set's parts with their photos; a photo without a hash has an empty one.

    One that was told at the bench is named by its hash.
    """
    photos: dict[str, list[Photo]] = {}
    for p in file.pictured:
        photos.setdefault(p.part, []).append(
            Photo(p.file, hashes.get(p.file) or photo_hash(p.file))
        )
    parts = tuple(replace(p, photos=tuple(photos.get(p.id, ()))) for p in file.engine.parts)
    return replace(file.engine, parts=parts)


def _refuse(problems: Sequence[Problem], text: str, name: str) -> None:
    if problems:
        raise UserError(located(problems, text, name))
