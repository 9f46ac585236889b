"""A profile's tables as TOML text, for a person to read and for a file."""

import json
from collections.abc import Mapping
from decimal import Decimal


def toml_of(data: Mapping[str, object]) -> str:
    """The text of a file with these tables; values before tables, in the order given."""
    lines = [f"{key} = {_value(v)}" for key, v in data.items() if not _is_table(v)]
    for key, value in data.items():
        if isinstance(value, Mapping):
            lines += ["", f"[{key}]", *(f"{k} = {_value(v)}" for k, v in value.items())]
        elif _is_table(value) and isinstance(value, list):
            for table in value:
                lines += ["", f"[[{key}]]", *(f"{k} = {_value(v)}" for k, v in table.items())]
    return "\n".join(lines) + "\n"


def _is_table(value: object) -> bool:
    """Whether it is a table, or several."""
    if isinstance(value, list):
        return bool(value) and all(isinstance(one, Mapping) for one in value)
    return isinstance(value, Mapping)


def _value(value: object) -> str:
    if isinstance(value, Mapping):
        inner = ", ".join(f"{json.dumps(str(k))} = {_value(v)}" for k, v in value.items())
        return f"{{ {inner} }}"
    if isinstance(value, str) and "\\" in value and "'" not in value and value.isprintable():
        return f"'{value}'"
    if isinstance(value, list | tuple):
        return f"[{', '.join(map(_value, value))}]"
    return str(value) if isinstance(value, Decimal) else json.dumps(value, ensure_ascii=False)
