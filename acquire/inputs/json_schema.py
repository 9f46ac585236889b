"""A form's keys as a JSON Schema (draft 2020-12), for editors that check and complete while typing.

The forms and the bench file's model stay what decides; a schema says of each key what can be said
of it alone. What must hold between keys, `barrelfit sheet check` and its like say.
"""

from collections.abc import Mapping
from typing import Final

from barrelfit.acquire.inputs.bench_file import BenchFile
from barrelfit.rules.engine.form import NUMBER_MAX, Form, Key
from barrelfit.rules.engine.set_form import SET
from barrelfit.rules.engine.sheet_form import SHEET

DRAFT: Final = "https://json-schema.org/draft/2020-12/schema"
FORMS: Final[Mapping[str, Form]] = {"sheet": SHEET, "set": SET}
FILES: Final = ("bench", *FORMS)

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
    """The JSON Schema of a kind of file: `bench`, `sheet` or `set`; raises KeyError for others."""
    if file == "bench":
        made: Schema = BenchFile.model_json_schema(by_alias=True)
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
