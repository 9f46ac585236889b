"""A form's keys as a JSON Schema (draft 2020-12), for editors that check and complete while typing.

The forms and the bench file's model stay what decides; a schema says of each key what can be said
of it alone. What must hold between keys, `barrelfit sheet check` and its like say.
"""

from collections.abc import Mapping
from typing import Final

from barrelfit.acquire.inputs.bench_file import BenchFile
from barrelfit.acquire.journal.codec import schema as journal_schema
from barrelfit.drivers.profile_keys import profile_keys
from barrelfit.drivers.schema import Asked, Keys, Table
from barrelfit.rules.engine.form import NUMBER_MAX, Form, Key
from barrelfit.rules.engine.set_form import SET
from barrelfit.rules.engine.sheet_form import SHEET

DRAFT: Final = "https://json-schema.org/draft/2020-12/schema"
FORMS: Final[Mapping[str, Form]] = {"sheet": SHEET, "set": SET}
FILES: Final = ("bench", *FORMS, "profile", "journal")

Schema = dict[str, object]

_LENGTH: Final[Schema] = {"type": "number", "minimum": 0, "maximum": NUMBER_MAX}
_ABOVE_0: Final[Schema] = {"type": "number", "exclusiveMinimum": 0, "maximum": NUMBER_MAX}
_TEXT: Final[Schema] = {"type": "string", "pattern": r"\S"}


def _by_place(value: Schema) -> Schema:
    """A table of tables: depth, then direction."""
    row = {"type": "object", "additionalProperties": value}
    return {"type": "object", "additionalProperties": row}


_KINDS: Final[Mapping[str, Schema]] = {
    "length": _LENGTH,
    "size": _ABOVE_0,
    "mass": _ABOVE_0,
    "celsius": {"type": "number", "minimum": -NUMBER_MAX, "maximum": NUMBER_MAX},
    "ratio": {"type": "number", "exclusiveMinimum": 0, "exclusiveMaximum": 1},
    "real": _LENGTH,
    "count": {"type": "integer", "minimum": 1, "maximum": NUMBER_MAX},
    "text": _TEXT,
    "flag": {"type": "boolean"},
    "grid": _by_place(_ABOVE_0),
    "names": _by_place(_TEXT),
}


def schema_of(file: str) -> Schema:
    """The JSON Schema of a kind of file, one of `FILES`; raises KeyError for others."""
    if file == "journal":
        return journal_schema()
    if file == "bench":
        made: Schema = BenchFile.model_json_schema(by_alias=True)
    elif file == "profile":
        made = _of_keys(profile_keys(), ())
    else:
        made = _of_form(FORMS[file])
    return {**made, "$schema": DRAFT, "title": f"barrelfit {file} file"}


def _of_form(form: Form) -> Schema:
    return {
        "type": "object",
        "properties": {key.name: _of_key(key) for key in form.keys},
        "required": [key.name for key in form.keys if key.required],
        "additionalProperties": False,
    }


def _of_key(key: Key) -> Schema:
    return {"description": key.meaning, **_of_kind(key)}


def _of_kind(key: Key) -> Schema:
    if key.form is not None:
        table = _of_form(key.form)
        return _some(table, key) if key.kind == "tables" else table
    known = _KINDS.get(key.kind)
    if known is not None:
        return {**known, "enum": list(key.choices)} if key.choices else dict(known)
    item = dict(_KINDS[key.kind.removesuffix("s")])
    return _some({**item, "enum": list(key.choices)} if key.choices else item, key)


def _some(item: Schema, key: Key) -> Schema:
    least = {"minItems": 1} if key.required else {}
    return {"type": "array", "items": item, **least}


def _of_keys(keys: Keys, at: tuple[str | int, ...]) -> Schema:
    """The table at a path, by what its reader asks of its keys."""
    own = {path[-1]: asked for path, asked in keys.items() if path[:-1] == at}
    return {
        "type": "object",
        "properties": {str(key): _of_asked(keys, (*at, key), a) for key, a in own.items()},
        "required": [str(key) for key, asked in own.items() if asked.needed],
        "additionalProperties": False,
    }


def _of_asked(keys: Keys, path: tuple[str | int, ...], asked: Asked) -> Schema:
    if asked.sort is int:
        return {"type": "integer", "minimum": asked.low, "maximum": asked.high}
    if asked.sort is bool:
        return {"type": "boolean"}
    if asked.sort is dict:
        return {"type": "object", "additionalProperties": {"type": "string"}}
    if asked.sort is list:
        return {"type": "array", "items": _of_keys(keys, (*path, 0))}
    if asked.sort is Table:
        return _of_keys(keys, path)
    some = [*asked.choices, *([] if asked.needed else [""])]
    return {"type": "string", **({"enum": some} if asked.choices else {})}
