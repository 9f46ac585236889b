"""Turns a parsed file's tables into frozen dataclasses, naming every key that is wrong."""

from dataclasses import MISSING, fields, is_dataclass
from typing import Any, TypeVar, get_type_hints

Table = TypeVar("Table")

_WORDS = {str: "a text", int: "a whole number", float: "a number"}


class TableReader:
    """Reads tables of one file into dataclasses; problems pile up in `problems`."""

    def __init__(self, name: str, problems: list[str]) -> None:
        self._name, self._problems = name, problems

    def many(self, kind: type[Table], tables: object, where: str) -> list[Table]:
        """Read an array of tables; those with problems are left out."""
        if not isinstance(tables, list):
            self._problems.append(f"{self._name}: {where} must be an array of tables")
            return []
        read = [self.one(kind, t, f"{where}[{i}]") for i, t in enumerate(tables, start=1)]
        return [table for table in read if table is not None]

    def one(self, kind: type[Table], table: object, where: str) -> Table | None:
        """Read one table; None when it has problems."""
        if not isinstance(table, dict) or not is_dataclass(kind):
            self._problems.append(f"{self._name}: {where} must be a table")
            return None
        before = len(self._problems)
        known = {f.name: f for f in fields(kind)}
        for key in table:
            if key not in known:
                self._problems.append(f"{self._name}: {where}: no key is called '{key}'")
        types, values = get_type_hints(kind), {}
        for key, spec in known.items():
            if key in table:
                values[key] = self._value(table[key], types[key], f"{where}.{key}")
            elif spec.default is MISSING:
                self._problems.append(f"{self._name}: {where}.{key} is missing")
        return None if len(self._problems) > before else kind(**values)

    def _value(self, value: Any, wanted: type, where: str) -> Any:  # noqa: ANN401  a file's value
        right = isinstance(value, wanted) and not isinstance(value, bool)
        if wanted is float and isinstance(value, int) and not isinstance(value, bool):
            return float(value)
        if not right:
            self._problems.append(f"{self._name}: {where} must be {_WORDS[wanted]}")
        return value
