"""Writes a set file's text from its keys: what `set_from` reads of it is the same again.

Lengths are written in mm, in which every nanometre is exact.
"""

import json
from collections.abc import Iterator, Mapping
from decimal import Decimal
from typing import Final

from barrelfit.rules.engine.form import Filled, Form, Key
from barrelfit.rules.engine.set_form import SET

_PER_MILLION: Final = frozenset({"length", "size", "grid"})
_PER_THOUSAND: Final = frozenset({"mass", "celsius"})


def set_file_text(filled: Filled) -> str:
    """The text of a set file that holds these keys."""
    in_mm = Filled(filled.path, {**filled.values, "unit": "mm"})
    return "\n".join(_lines(SET, in_mm, "")).lstrip("\n") + "\n"


def plain_number(value: int, kind: str) -> str:
    """A whole number of nm, mg or thousandths of a degree as a decimal in mm, g or °C."""
    places = 6 if kind in _PER_MILLION else 3 if kind in _PER_THOUSAND else 0
    return format(Decimal(value).scaleb(-places).normalize(), "f")


def _lines(form: Form, filled: Filled, name: str) -> Iterator[str]:
    """A table's own keys, then the tables in it, each under its whole name."""
    inner = [key for key in form.keys if key.form is not None and key.name in filled.values]
    for key in form.keys:
        if key.form is None and key.name in filled.values:
            yield f"{key.name} = {_written(key, filled.values[key.name])}"
    for key in inner:
        if key.form is None:
            continue
        whole = f"{name}.{key.name}".removeprefix(".")
        if key.kind == "table":
            yield from ("", f"[{whole}]", *_lines(key.form, filled.table(key.name), whole))
        for one in filled.tables(key.name) if key.kind == "tables" else ():
            yield from ("", f"[[{whole}]]", *_lines(key.form, one, whole))


def _written(key: Key, value: object) -> str:
    if isinstance(value, tuple):
        return f"[{', '.join(_one(key.kind.removesuffix('s'), item) for item in value)}]"
    if isinstance(value, Mapping):
        return _grid(key, value)
    return _one(key.kind, value)


def _one(kind: str, value: object) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int):
        return plain_number(value, kind)
    return _text(value) if isinstance(value, str) else str(value)


def _grid(key: Key, value: Mapping[tuple[str, str], object]) -> str:
    rows: dict[str, list[str]] = {}
    for (outer, inner), entry in value.items():
        rows.setdefault(outer, []).append(f"{_text(inner)} = {_one(key.kind, entry)}")
    inner = ", ".join(f"{_text(outer)} = {{ {', '.join(row)} }}" for outer, row in rows.items())
    return f"{{ {inner} }}"


def _text(text: str) -> str:
    """A TOML basic string; JSON's is one, but for the letter 127."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")
