"""Reads a profile's tables key by key and notes every problem, instead of stopping at the first."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from difflib import get_close_matches
from typing import Any

from barrelfit.drivers.coded import NOTHING, Coded, said
from barrelfit.drivers.errors import DriverError

Path = tuple[str | int, ...]

_TYPE_NAMES = {
    str: said("text_in_quotes"),
    int: said("a_whole_number"),
    bool: said("true_or_false"),
}
_A_TABLE = said("a_table")


@dataclass(frozen=True, slots=True)
class Problem:
    """What is wrong with one key; `path` leads from the file's root to the key."""

    path: Path
    sentence: Coded

    @property
    def told(self) -> Coded:
        """The problem with its key: `example[2].hex: …`, entries counted from 1."""
        steps = (f"[{s + 1}]" if isinstance(s, int) else f".{s}" for s in self.path)
        key = "".join(steps).removeprefix(".")
        return said("of_key", key=key, what=self.sentence) if key else self.sentence


class ProfileError(DriverError):
    """A profile's data is not as it must be; `located` holds all problems with their keys."""

    def __init__(self, name: str, located: Sequence[Problem]) -> None:
        super().__init__([said("of_file", file=name, what=one.told) for one in located])
        self.located = tuple(located)


@dataclass(frozen=True, slots=True)
class Asked:
    """What a reader asks of one key: the sort of value, and whether it must be there."""

    sort: type
    needed: bool
    choices: tuple[str, ...] = ()
    low: int | None = None
    high: int | None = None


Keys = dict[Path, Asked]
"""Every key that was asked for; an entry of an array of tables is 0 in its path."""


class Table:
    """One table of a data file: remembers which keys were asked for and what was wrong.

    Args:
        data: the table.
        path: its path from the file's root.
        problems: takes what is wrong.
        keys: takes what is asked of each key.
    """

    def __init__(
        self,
        data: Mapping[str, Any],
        path: Path,
        problems: list[Problem],
        keys: Keys | None = None,
    ) -> None:
        self._data = data
        self._path = path
        self._problems = problems
        self._asked: set[str] = set()
        self._looked_for: set[str] = set()
        self._keys: Keys = {} if keys is None else keys

    def has(self, key: str) -> bool:
        """Whether the key is there; it counts as asked for."""
        self._asked.add(key)
        self._looked_for.add(key)
        return key in self._data

    def complain(self, key: str, sentence: Coded) -> None:
        """Note a problem with one key."""
        self._problems.append(Problem((*self._path, key), sentence))

    def text(self, key: str, default: str | None = None, choices: tuple[str, ...] = ()) -> str:
        """A text, one of `choices` where there are any; needed when there is no default."""
        value = self._typed(key, str, default)
        self._note(key, Asked(str, default is None, choices))
        if value and choices and value not in choices:
            self.complain(key, said("not_one_of", value=value, choices=tuple(choices)))
        return value or ""

    def whole(self, key: str, low: int, high: int, default: int | None = None) -> int:
        """A whole number between `low` and `high`, both included."""
        value: int | None = self._typed(key, int, default)
        self._note(key, Asked(int, default is None, low=low, high=high))
        if value is None:
            return low
        if not low <= value <= high:
            self.complain(key, said("not_between", value=value, low=low, high=high))
        return value

    def flag(self, key: str, *, default: bool) -> bool:
        """`true` or `false`."""
        self._note(key, Asked(bool, needed=False))
        return bool(self._typed(key, bool, default))

    def hexadecimal(self, key: str, default: bytes | None = None) -> bytes:
        """Bytes written as hexadecimal digits, blanks allowed."""
        text = self.text(key, None if default is None else default.hex())
        try:
            return bytes.fromhex(text)
        except ValueError:
            self.complain(key, said("not_hex", text=text))
            return b""

    def ascii(self, key: str) -> bytes:
        """Bytes written as text; only ASCII characters."""
        text = self.text(key)
        if not text.isascii():
            self.complain(key, said("not_ascii"))
        return text.encode("ascii", "ignore")

    def pattern(self, key: str, groups: frozenset[str]) -> re.Pattern[bytes]:
        """A regular expression over bytes whose named groups are all known."""
        text = self.text(key)
        try:
            pattern = re.compile(text.encode("ascii"))
        except (re.error, UnicodeEncodeError) as error:
            self.complain(key, said("no_pattern", why=str(error)))
            return re.compile(b"")
        unknown = sorted(set(pattern.groupindex) - groups)
        if unknown:
            known = tuple(sorted(groups)) or said("none")
            self.complain(key, said("unknown_group", unknown=tuple(unknown), known=known))
        return pattern

    def texts(self, key: str) -> dict[str, str]:
        """A table of text to text, empty when it is not there."""
        self._note(key, Asked(dict, needed=False))
        value = self._typed(key, dict, {}) or {}
        for name, item in value.items():
            if not isinstance(item, str):
                self._problems.append(Problem((*self._path, key, name), said("must_be_quoted")))
        return {str(name): item for name, item in value.items() if isinstance(item, str)}

    def table(self, key: str) -> "Table | None":
        """A table, None when it is not there."""
        self._note(key, Asked(Table, needed=False))
        value = self._typed(key, dict, {})
        if value is None or key not in self._data:
            return None
        return Table(value, (*self._path, key), self._problems, self._keys)

    def tables(self, key: str) -> list["Table"]:
        """An array of tables, empty when it is not there."""
        self._note(key, Asked(list, needed=False))
        value = self._typed(key, list, []) or []
        if not all(isinstance(item, dict) for item in value):
            self.complain(key, said("must_be_tables_written", key=key))
            return []
        return [
            Table(item, (*self._path, key, number), self._problems, self._keys)
            for number, item in enumerate(value)
        ]

    def done(self) -> None:
        """Note every key that nobody asked for."""
        for key in sorted(set(self._data) - self._asked):
            near = get_close_matches(key, sorted(self._asked), n=1)
            meant = said("is_meant", near=near[0]) if near else NOTHING
            known = said("known_here", keys=tuple(sorted(self._asked)))
            self.complain(key, said("unknown_key", hint=meant or known))

    def _note(self, key: str, asked: Asked) -> None:
        """Keep what is asked of a key; one that is looked for first need not be there."""
        path = tuple(0 if isinstance(step, int) else step for step in (*self._path, key))
        self._keys[path] = replace(asked, needed=asked.needed and key not in self._looked_for)

    def _typed(self, key: str, kind: type, default: Any) -> Any:  # noqa: ANN401  any TOML value
        self._asked.add(key)
        if key not in self._data:
            if default is None:
                self.complain(key, said("missing_kind", what=_TYPE_NAMES.get(kind, _A_TABLE)))
            return default
        value = self._data[key]
        if not isinstance(value, kind) or (kind is int and isinstance(value, bool)):
            self.complain(key, said("kind_expected", what=_TYPE_NAMES.get(kind, _A_TABLE)))
            return default
        return value
