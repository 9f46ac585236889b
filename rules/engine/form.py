"""A form: which keys a data file may hold, what they mean, and every problem with what it holds.

A sheet and a set are forms. Filling a form checks every key, refuses unknown ones, turns lengths
into whole nm, and collects *all* problems, each with the path of its key, before anyone stops.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from difflib import get_close_matches

from barrelfit.rules.errors import RulesError, UnfitError
from barrelfit.rules.length import NM_PER_UNIT, to_nm
from barrelfit.rules.said import NOTHING, Said, decimal, said

Path = tuple[str | int, ...]

NUMBER_MAX = 100_000  # 100 m in mm, 100 kg in grams: nothing of an engine is larger


@dataclass(frozen=True, slots=True)
class Problem:
    """What is wrong with one key, as it is said; `path` leads from the file's root to the key.

    `question` is what is asked of a value that is only unusual, without how a file answers it.
    """

    path: Path
    sentence: Said
    question: Said = NOTHING

    @property
    def told(self) -> Said:
        """The problem with its key: `piston[2].skirt: must be more than zero`."""
        if not self.path:
            return self.sentence
        return said("of_key", key=written(self.path), what=self.sentence)


def written(path: Path) -> str:
    """Write a path as a person reads it: `barrel.depth[1].id`, array entries counted from 1."""
    text = ""
    for step in path:
        text += f"[{step + 1}]" if isinstance(step, int) else f".{step}"
    return text.removeprefix(".")


class FormError(RulesError):
    """A data file is not as it must be; `located` holds all problems with their keys' paths."""

    def __init__(self, name: str, located: Sequence[Problem]) -> None:
        super().__init__([said("of_file", file=name, what=one.told) for one in located])
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
                filling.problems.append(Problem(at, said("is_missing", meaning=key.meaning)))
            continue
        value = table[key.name]
        try:
            filling.filled.values[key.name] = _value(key, value, unit, filling, at)
        except UnfitError as wrong:
            filling.problems.append(Problem(at, wrong.what))
        if key.required and filling.filled.values.get(key.name) == ():
            filling.problems.append(Problem(at, said("is_empty", meaning=key.meaning)))
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
    except UnfitError as wrong:
        return None, [*filling.problems, Problem(path, wrong.what)]


def _fill_unknown(form: Form, table: Mapping[str, object], filling: Filling) -> None:
    names = [key.name for key in form.keys]
    for name in table:
        if name in names:
            continue
        near = get_close_matches(name, names, n=1)
        hint = said("is_meant", near=near[0]) if near else NOTHING
        if name == "unit" and filling.filled.path:
            hint = said("unit_at_top")
        filling.problems.append(
            Problem((*filling.filled.path, name), said("unknown_key", hint=hint))
        )


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
        raise UnfitError(said("must_be_table", key=written(at)))
    inner = fill(form, value, unit, at)
    filling.problems.extend(inner.problems)
    return inner.filled


def _tables(form: Form, value: object, unit: str, filling: Filling, at: Path) -> tuple[Filled, ...]:
    if not isinstance(value, list):
        raise UnfitError(said("must_be_tables", key=str(at[-1])))
    return tuple(_table(form, item, unit, filling, (*at, n)) for n, item in enumerate(value))


def _grid(key: Key, value: object, unit: str) -> Iterator[tuple[tuple[str, str], object]]:
    read = _READERS[_GRIDS[key.kind]]
    if not isinstance(value, dict):
        raise UnfitError(said("must_be_grid", name=key.name))
    for outer, row in value.items():
        if not isinstance(row, dict):
            raise UnfitError(said("must_be_row", outer=outer, name=key.name))
        for inner, entry in row.items():
            try:
                yield (str(outer), str(inner)), read(key, entry, unit)
            except UnfitError as wrong:
                raise UnfitError(
                    said("in_grid", outer=outer, inner=inner, wrong=wrong.what)
                ) from None


def _items(value: object) -> list[object]:
    if not isinstance(value, list):
        raise UnfitError(said("must_be_list"))
    return value


def _decimal(value: object, what: Said) -> Decimal:
    if isinstance(value, bool) or not isinstance(value, int | Decimal):
        shown = said("quoted", text=value) if isinstance(value, str) else str(value)
        raise UnfitError(said("must_be_number", what=what, shown=shown))
    number = Decimal(value)
    if not number.is_finite():
        raise UnfitError(said("must_be_finite", what=what, number=str(number)))
    if number.copy_abs() > NUMBER_MAX:  # abs() would overflow on the largest of them
        raise UnfitError(said("is_too_large", what=what, number=decimal(f"{number:.3g}")))
    return number


def _length(_key: Key | None, value: object, unit: str) -> int:
    known = unit in NM_PER_UNIT
    number = _decimal(value, said("in_unit", unit=unit) if known else said("a_length"))
    if number < 0:
        raise UnfitError(said("is_negative", number=decimal(number)))
    try:
        return to_nm(number, unit if known else "mm")
    except ValueError:
        what = said("is_finer", number=decimal(number), unit=unit if known else "mm")
        raise UnfitError(what) from None


def _size(key: Key | None, value: object, unit: str) -> int:
    size_nm = _length(key, value, unit)
    if size_nm == 0:
        raise UnfitError(said("is_zero"))
    return size_nm


def _thousandths(value: object, what: Said) -> int:
    number = _decimal(value, what) * 1000
    if number != number.to_integral_value():
        raise UnfitError(said("too_many_decimals", what=what))
    return int(number)


def _mass(_key: Key, value: object, _unit: str) -> int:
    mass_mg = _thousandths(value, said("in_grams"))
    if mass_mg <= 0:
        raise UnfitError(said("is_zero_grams"))
    return mass_mg


def _celsius(_key: Key, value: object, _unit: str) -> int:
    return _thousandths(value, said("in_celsius"))


def _ratio(_key: Key, value: object, _unit: str) -> Decimal:
    number = _decimal(value, said("a_ratio"))
    if not 0 < number < 1:
        raise UnfitError(said("must_be_share", number=decimal(number)))
    return number


def _real(_key: Key, value: object, _unit: str) -> Decimal:
    number = _decimal(value, said("not_negative"))
    if number < 0:
        raise UnfitError(said("is_negative", number=decimal(number)))
    return number


def _count(_key: Key, value: object, _unit: str) -> int:
    if isinstance(value, bool) or not isinstance(value, int) or not 1 <= value <= NUMBER_MAX:
        raise UnfitError(said("must_be_whole", most=NUMBER_MAX, value=str(value)))
    return value


def _text(key: Key, value: object, _unit: str) -> str:
    if not isinstance(value, str) or not value.strip():
        shown = said("an_empty_one") if isinstance(value, str) else str(value)
        raise UnfitError(said("must_be_text", shown=shown))
    if key.choices and value not in key.choices:
        raise UnfitError(said("not_a_choice", value=value, choices=key.choices))
    return value


def _flag(_key: Key, value: object, _unit: str) -> bool:
    if not isinstance(value, bool):
        raise UnfitError(said("must_be_flag", value=str(value)))
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
