"""A form: which keys a data file may hold, what they mean, and every problem with what it holds.

A sheet and a set are forms. Filling a form checks every key, refuses unknown ones, turns lengths
into whole nm, and collects *all* problems, each with the path of its key, before anyone stops.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from difflib import get_close_matches

from barrelfit.rules.errors import RulesError
from barrelfit.rules.length import NM_PER_UNIT, to_nm
from barrelfit.rules.said import NOTHING, Said

Path = tuple[str | int, ...]

NUMBER_MAX = 100_000  # 100 m in mm, 100 kg in grams: nothing of an engine is larger


@dataclass(frozen=True, slots=True)
class Problem:
    """What is wrong with one key, as a sentence; `path` leads from the file's root to the key.

    `question` is what is asked of a value that is only unusual, without how a file answers it.
    """

    path: Path
    sentence: str
    question: Said = NOTHING

    def __str__(self) -> str:
        """Write the problem as `piston[2].skirt: sentence`, counting from 1."""
        return f"{written(self.path)}: {self.sentence}" if self.path else self.sentence


def written(path: Path) -> str:
    """Write a path as a person reads it: `barrel.depth[1].id`, array entries counted from 1."""
    text = ""
    for step in path:
        text += f"[{step + 1}]" if isinstance(step, int) else f".{step}"
    return text.removeprefix(".")


class FormError(RulesError):
    """A data file is not as it must be; `located` holds all problems with their keys' paths."""

    def __init__(self, name: str, located: Sequence[Problem]) -> None:
        super().__init__([f"{name}: {problem}" for problem in located])
        self.located = tuple(located)


@dataclass(frozen=True, slots=True)
class Key:
    """One key of a form: its kind (a name in `_READERS`, or `table`, `tables`), and its meaning."""

    name: str
    kind: str
    meaning: str
    required: bool = True
    form: "Form | None" = None
    choices: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Form:
    """The keys one table may hold."""

    keys: tuple[Key, ...]

    def key(self, name: str) -> Key | None:
        """Find a key by its name, None when the form has no such key."""
        return next((k for k in self.keys if k.name == name), None)


@dataclass(frozen=True, slots=True)
class Filled:
    """A table's values by key, already of their kind; a key that is absent or wrong is None."""

    path: Path
    values: dict[str, object] = field(default_factory=dict)

    def number(self, name: str) -> int | None:
        """Value of a whole number (nm, mg, thousandths of a degree, count), None when absent."""
        value = self.values.get(name)
        return value if isinstance(value, int) else None

    def numbers(self, name: str) -> tuple[int, ...]:
        """Values of a list of whole numbers, empty when absent."""
        value = self.values.get(name)
        return tuple(v for v in value if isinstance(v, int)) if isinstance(value, tuple) else ()

    def ratio(self, name: str) -> Decimal | None:
        """Value of a plain ratio or number, None when absent."""
        value = self.values.get(name)
        return value if isinstance(value, Decimal) else None

    def text(self, name: str, default: str = "") -> str:
        """Value of a text, `default` when absent."""
        value = self.values.get(name)
        return value if isinstance(value, str) else default

    def texts(self, name: str) -> tuple[str, ...]:
        """Values of a list of texts, empty when absent."""
        value = self.values.get(name)
        return tuple(v for v in value if isinstance(v, str)) if isinstance(value, tuple) else ()

    def flag(self, name: str) -> bool | None:
        """Value of a yes or no, None when absent."""
        value = self.values.get(name)
        return value if isinstance(value, bool) else None

    def flags(self, name: str) -> tuple[bool, ...]:
        """Values of a list of yes and no, empty when absent."""
        value = self.values.get(name)
        return tuple(v for v in value if isinstance(v, bool)) if isinstance(value, tuple) else ()

    def table(self, name: str) -> "Filled":
        """Table of that name, an empty one when absent."""
        value = self.values.get(name)
        return value if isinstance(value, Filled) else Filled((*self.path, name))

    def tables(self, name: str) -> tuple["Filled", ...]:
        """Array of tables of that name, empty when absent."""
        value = self.values.get(name)
        return tuple(v for v in value if isinstance(v, Filled)) if isinstance(value, tuple) else ()

    def grid(self, name: str) -> dict[tuple[str, str], int]:
        """Lengths of a table of tables, in nm by (outer key, inner key)."""
        value = self.values.get(name)
        return dict(value) if isinstance(value, dict) else {}

    def names(self, name: str) -> dict[tuple[str, str], str]:
        """Texts of a table of tables, by (outer key, inner key)."""
        value = self.values.get(name)
        return dict(value) if isinstance(value, dict) else {}


class _Wrong(Exception):  # noqa: N818  private carrier of a sentence, turned into a Problem
    """One value is not of its key's kind."""


def fill(form: Form, table: Mapping[str, object], unit: str, path: Path = ()) -> "Filling":
    """Fill a form from a parsed table, collecting every problem.

    Args:
        form: the keys the table may hold.
        table: what the TOML parser returned (decimals as `Decimal`, never float).
        unit: unit of every length, `mm` or `inch`.
        path: path of the table from the file's root.

    Returns:
        The values and the problems found.
    """
    filling = Filling(Filled(path), [])
    _fill_unknown(form, table, filling)
    for key in form.keys:
        at = (*path, key.name)
        if key.name not in table:
            if key.required:
                filling.problems.append(Problem(at, f"is missing; {key.meaning}"))
            continue
        value = table[key.name]
        try:
            filling.filled.values[key.name] = _value(key, value, unit, filling, at)
        except _Wrong as wrong:
            filling.problems.append(Problem(at, str(wrong)))
        if key.required and filling.filled.values.get(key.name) == ():
            filling.problems.append(Problem(at, f"must not be empty; {key.meaning}"))
    return filling


@dataclass(frozen=True, slots=True)
class Filling:
    """A filled form and the problems met on the way."""

    filled: Filled
    problems: list[Problem]


def read_value(key: Key, value: object, unit: str, path: Path) -> tuple[object, list[Problem]]:
    """Read the value of one key alone, as `fill` reads it.

    Args:
        key: the key.
        value: what a TOML parser would have returned.
        unit: unit of every length in it, `mm` or `inch`.
        path: of the key, for the problems.

    Returns:
        The value, None where it is not of the key's kind, and what is wrong with it.
    """
    filling = Filling(Filled(path[:-1]), [])
    try:
        return _value(key, value, unit, filling, path), filling.problems
    except _Wrong as wrong:
        return None, [*filling.problems, Problem(path, str(wrong))]


def _fill_unknown(form: Form, table: Mapping[str, object], filling: Filling) -> None:
    names = [key.name for key in form.keys]
    for name in table:
        if name in names:
            continue
        near = get_close_matches(name, names, n=1)
        hint = f"; is '{near[0]}' meant?" if near else ""
        if name == "unit" and filling.filled.path:
            hint = "; one file has one unit, and it stands at the top of the file"
        filling.problems.append(Problem((*filling.filled.path, name), f"unknown key{hint}"))


def _value(key: Key, value: object, unit: str, filling: Filling, at: Path) -> object:
    if key.kind == "table" and key.form is not None:
        return _table(key.form, value, unit, filling, at)
    if key.kind == "tables" and key.form is not None:
        return _tables(key.form, value, unit, filling, at)
    if key.kind in _GRIDS:
        return dict(_grid(key, value, unit))
    if key.kind.endswith("s") and key.kind[:-1] in _READERS:
        return tuple(_READERS[key.kind[:-1]](key, item, unit) for item in _items(value))
    return _READERS[key.kind](key, value, unit)


def _table(form: Form, value: object, unit: str, filling: Filling, at: Path) -> Filled:
    if not isinstance(value, dict):
        msg = f"must be a table; write [{written(at)}]"
        raise _Wrong(msg)
    inner = fill(form, value, unit, at)
    filling.problems.extend(inner.problems)
    return inner.filled


def _tables(form: Form, value: object, unit: str, filling: Filling, at: Path) -> tuple[Filled, ...]:
    if not isinstance(value, list):
        msg = f"must be a list of tables; write [[{at[-1]}]]"
        raise _Wrong(msg)
    return tuple(_table(form, item, unit, filling, (*at, n)) for n, item in enumerate(value))


def _grid(key: Key, value: object, unit: str) -> Iterator[tuple[tuple[str, str], object]]:
    read = _READERS[_GRIDS[key.kind]]
    if not isinstance(value, dict):
        msg = f"must be a table of tables, as in {key.name}.top.thrust"
        raise _Wrong(msg)
    for outer, row in value.items():
        if not isinstance(row, dict):
            msg = f"'{outer}' must be a table, as in {key.name}.{outer}.thrust"
            raise _Wrong(msg)
        for inner, entry in row.items():
            try:
                yield (str(outer), str(inner)), read(key, entry, unit)
            except _Wrong as wrong:
                msg = f"{outer}.{inner} {wrong}"
                raise _Wrong(msg) from None


def _items(value: object) -> list[object]:
    if not isinstance(value, list):
        msg = "must be a list, in square brackets"
        raise _Wrong(msg)
    return value


def _decimal(value: object, what: str) -> Decimal:
    if isinstance(value, bool) or not isinstance(value, int | Decimal):
        shown = f"'{value}'" if isinstance(value, str) else str(value)
        msg = f"must be a plain number ({what}), not {shown}"
        raise _Wrong(msg)
    number = Decimal(value)
    if not number.is_finite():
        msg = f"must be a finite number ({what}), not {number}"
        raise _Wrong(msg)
    if number.copy_abs() > NUMBER_MAX:  # abs() would overflow on the largest of them
        msg = f"is far too large ({what}): {number:.3g}"
        raise _Wrong(msg)
    return number


def _length(_key: Key | None, value: object, unit: str) -> int:
    number = _decimal(value, f"in {unit}, the file's unit" if unit in NM_PER_UNIT else "a length")
    if number < 0:
        msg = f"must not be negative, it is {number}"
        raise _Wrong(msg)
    try:
        return to_nm(number, unit if unit in NM_PER_UNIT else "mm")
    except ValueError as error:
        raise _Wrong(str(error)) from None


def _size(key: Key | None, value: object, unit: str) -> int:
    size_nm = _length(key, value, unit)
    if size_nm == 0:
        msg = "must be more than zero"
        raise _Wrong(msg)
    return size_nm


def _thousandths(value: object, what: str) -> int:
    number = _decimal(value, what) * 1000
    if number != number.to_integral_value():
        msg = f"must have at most three decimals ({what})"
        raise _Wrong(msg)
    return int(number)


def _mass(_key: Key, value: object, _unit: str) -> int:
    mass_mg = _thousandths(value, "in grams")
    if mass_mg <= 0:
        msg = "must be more than zero grams"
        raise _Wrong(msg)
    return mass_mg


def _celsius(_key: Key, value: object, _unit: str) -> int:
    return _thousandths(value, "in degrees Celsius")


def _ratio(_key: Key, value: object, _unit: str) -> Decimal:
    number = _decimal(value, "a ratio, the same in mm per mm and inch per inch")
    if not 0 < number < 1:
        msg = f"must lie between 0 and 1, it is {number}"
        raise _Wrong(msg)
    return number


def _real(_key: Key, value: object, _unit: str) -> Decimal:
    number = _decimal(value, "a number that is not negative")
    if number < 0:
        msg = f"must not be negative, it is {number}"
        raise _Wrong(msg)
    return number


def _count(_key: Key, value: object, _unit: str) -> int:
    if isinstance(value, bool) or not isinstance(value, int) or not 1 <= value <= NUMBER_MAX:
        msg = f"must be a whole number from 1 to {NUMBER_MAX}, not {value}"
        raise _Wrong(msg)
    return value


def _text(key: Key, value: object, _unit: str) -> str:
    if not isinstance(value, str) or not value.strip():
        shown = "an empty one" if isinstance(value, str) else value
        msg = f"must be a text in quotes, not {shown}"
        raise _Wrong(msg)
    if key.choices and value not in key.choices:
        msg = f"'{value}' is not known; it must be one of: {', '.join(key.choices)}"
        raise _Wrong(msg)
    return value


def _flag(_key: Key, value: object, _unit: str) -> bool:
    if not isinstance(value, bool):
        msg = f"must be true or false, not {value}"
        raise _Wrong(msg)
    return value


_READERS: dict[str, Callable[[Key, object, str], object]] = {
    "length": _length,
    "size": _size,
    "mass": _mass,
    "celsius": _celsius,
    "ratio": _ratio,
    "real": _real,
    "count": _count,
    "text": _text,
    "flag": _flag,
}
_GRIDS = {"grid": "size", "names": "text"}  # kinds of tables of tables, and what they hold
