"""Where in a TOML text each key stands, so that a problem can name its line.

A parser forgets where it found what; this reader finds just that, in a text that a parser accepts.
In any other it finds the places up to what it does not understand.
"""

import re
import tomllib
from bisect import bisect_left
from collections import Counter
from collections.abc import Iterable
from difflib import get_close_matches
from itertools import accumulate
from typing import Final, Protocol

import msgspec

from barrelfit.rules.engine.form import Problem, written
from barrelfit.rules.said import NOTHING, Said, said
from barrelfit.rules.said import written as as_text

Path = tuple[str | int, ...]

_BLANK: Final = re.compile(r"[ \t]*")
_SPACE: Final = re.compile(r"(?:[ \t\r\n]|#[^\n]*)*")
_STEP: Final = re.compile(r""""(?:\\.|[^"\\\n])*"|'[^'\n]*'|[A-Za-z0-9_-]+""")
_SCALAR: Final = re.compile(
    r'"""(?:\\.|[^\\])*?""""{0,2}'
    r"|'''.*?''''{0,2}"
    r'|"(?:\\.|[^"\\\n])*"'
    r"|'[^'\n]*'"
    r"|\d{4}-\d\d-\d\d[ Tt]\d\d:[^\s,\]}#]*"
    r"|[^\s,\[\]{}#=]+",
    re.DOTALL,
)
_DEPTH_MAX: Final = 60


class Placed(Protocol):
    """What is wrong with one key, in whatever room it was found."""

    @property
    def path(self) -> Path:
        """The key's path."""

    @property
    def sentence(self) -> Said:
        """What is wrong."""


def located(problems: Iterable[Placed], text: str, name: str) -> list[Said]:
    """Problems as they are told, each with its file, line and key: `my.toml:7: piston[2].wear: …`.

    Args:
        problems: what is wrong, with the paths of the keys.
        text: the file's text.
        name: how messages call the file.
    """
    lines = key_lines(text)
    found = []
    for problem in problems:
        line, key = line_at(lines, problem.path), written(problem.path)
        what = said("of_key", key=key, what=problem.sentence) if key else problem.sentence
        found.append(said("of_file", file=f"{name}:{line}" if line else name, what=what))
    return found


def unknown_key(name: str, known: Iterable[str]) -> Said:
    """What is said of a key that there isn't, with the one that may be meant."""
    near = get_close_matches(name, list(known), n=1)
    return said("unknown_key", hint=said("is_meant", near=near[0]) if near else NOTHING)


def misfit(error: msgspec.ValidationError, at: Path, shape: type[msgspec.Struct]) -> Problem:
    """What a table's shape refused, with the key that it speaks of.

    Args:
        error: as msgspec raised it: `Expected `str`, got `int` - at `$.salt``.
        at: the table's path.
        shape: what it was to become.
    """
    says, _, place = str(error).partition(" - at `$")
    path = at + tuple(
        int(step[1:-1]) if step.startswith("[") else step.removeprefix(".")
        for step in re.findall(r"\.\w+|\[\d+\]", place)
    )
    named = re.search(r"(missing required|unknown) field `(\w+)`", says)
    if named is None:
        return Problem(path, as_text(says[:1].lower() + says[1:]))
    key = named.group(2)
    if named.group(1) == "unknown":
        return Problem((*path, key), unknown_key(key, shape.__struct_fields__))
    return Problem((*path, key), said("missing"))


def key_lines(text: str) -> dict[Path, int]:
    """Map every table, key and entry of a list of a TOML text to its line, counted from 1.

    A path names the keys from the root; an entry of a list or of an array of tables is a whole
    number from 0, as in `("piston", 2, "ring", 0, "id")`.
    """
    ends = [n - 1 for n in accumulate(len(line) + 1 for line in text.split("\n"))]
    return {path: bisect_left(ends, at) + 1 for path, at in _Reader(text).places.items()}


def line_at(lines: dict[Path, int], path: Path) -> int | None:
    """Line of a key, or of the nearest table around it; None when nothing of it stands there."""
    for length in range(len(path), 0, -1):
        shorter = path[:length]
        if shorter in lines:
            return lines[shorter]
        inside = [n for p, n in lines.items() if p[:length] == shorter]
        if inside:
            return min(inside)
    return None


def line_of_value(text: str, raw: str) -> int:
    """Line on which a value that is written so stands first; the last line when none does."""
    at = next((at for at, found in _Reader(text).values if found == raw), len(text))
    return text.count("\n", 0, at) + 1


class _LostError(Exception):
    """The text is no TOML from here on."""


class _Reader:
    """Goes through a text once: the places of its keys, and its plain values as written."""

    def __init__(self, text: str) -> None:
        self.places: dict[Path, int] = {}
        self.values: list[tuple[int, str]] = []
        self._text = text
        self._at = 0
        self._counts: Counter[Path] = Counter()
        try:
            self._document()
        except _LostError:
            return

    def _document(self) -> None:
        here: Path = ()
        while self._begins(_SPACE) < len(self._text):
            if self._text.startswith("[", self._at):
                here = self._header()
            else:
                self._pair(here, 0)

    def _header(self) -> Path:
        """A table's header; names of arrays in it stand for their last entry."""
        start, mark = self._at, "[[" if self._text.startswith("[[", self._at) else "["
        self._take(mark)
        path: Path = ()
        steps = self._key()
        self._take(mark.replace("[", "]"))
        for position, step in enumerate(steps):
            path = (*path, step)
            if mark == "[[" and position == len(steps) - 1:
                self._counts[path] += 1
            self.places.setdefault(path, start)
            if self._counts[path]:
                path = (*path, self._counts[path] - 1)
        self.places[path] = start  # its own header, where one of a table in it stood before
        return path

    def _pair(self, here: Path, depth: int) -> None:
        start = self._at
        path = here
        for step in self._key():
            path = (*path, step)
            self.places.setdefault(path, start)
        self._take("=")
        self._value(path, depth)

    def _value(self, path: Path, depth: int) -> None:
        self._begins(_BLANK)
        if depth > _DEPTH_MAX:
            raise _LostError
        if self._text.startswith("[", self._at):
            self._list(path, depth)
        elif self._text.startswith("{", self._at):
            self._inline(path, depth)
        else:
            start = self._at
            self.values.append((start, self._match(_SCALAR)))

    def _list(self, path: Path, depth: int) -> None:
        self._take("[")
        number = 0
        while not self._ends("]"):
            self.places[(*path, number)] = self._at
            self._value((*path, number), depth + 1)
            number += 1

    def _inline(self, path: Path, depth: int) -> None:
        self._take("{")
        while not self._ends("}"):
            self._pair(path, depth + 1)

    def _ends(self, mark: str) -> bool:
        """Whether a list or inline table ends here; goes past the mark, or to its next entry."""
        self._begins(_SPACE)
        if self._text.startswith(",", self._at):
            self._at += 1
            self._begins(_SPACE)
        if not self._text.startswith(mark, self._at):
            return False
        self._at += len(mark)
        return True

    def _key(self) -> list[str]:
        """A key's steps, the names between its dots."""
        steps = []
        while True:
            self._begins(_BLANK)
            steps.append(_plain(self._match(_STEP)))
            self._begins(_BLANK)
            if not self._text.startswith(".", self._at):
                return steps
            self._at += 1

    def _take(self, mark: str) -> None:
        self._begins(_BLANK)
        if not self._text.startswith(mark, self._at):
            raise _LostError
        self._at += len(mark)

    def _match(self, shape: re.Pattern[str]) -> str:
        found = shape.match(self._text, self._at)
        if found is None:
            raise _LostError
        self._at = found.end()
        return found.group()

    def _begins(self, blanks: re.Pattern[str]) -> int:
        """Go past blanks; gives the place behind them."""
        found = blanks.match(self._text, self._at)
        self._at = found.end() if found else self._at
        return self._at


def _plain(step: str) -> str:
    """A key's step without its quotes and escapes."""
    if step.startswith("'") or (step.startswith('"') and "\\" not in step):
        return step[1:-1]
    if step.startswith('"'):
        try:
            return str(tomllib.loads(f"x = {step}")["x"])
        except tomllib.TOMLDecodeError:
            raise _LostError from None
    return step
