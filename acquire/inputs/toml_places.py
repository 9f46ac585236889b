"""Where in a TOML text each key stands, so that a problem can name its line."""

import re
from collections import Counter

Path = tuple[str | int, ...]

_HEADER = re.compile(r"\s*(\[\[?)\s*([^\[\]]+?)\s*\]\]?\s*(?:#.*)?$")
_KEY = re.compile(r"\s*((?:[A-Za-z0-9_-]+|\"[^\"]*\"|'[^']*')(?:\s*\.\s*[A-Za-z0-9_-]+)*)\s*=")


def key_lines(text: str) -> dict[Path, int]:
    """Map every table and key of a TOML text to its line, counted from 1.

    A path names the keys from the root; an entry of an array of tables is a whole number from 0,
    as in `("piston", 2, "ring", 0, "id")`. Keys inside inline tables are not listed.
    """
    lines: dict[Path, int] = {}
    counts: Counter[Path] = Counter()
    here: Path = ()
    for number, line in enumerate(text.splitlines(), start=1):
        header = _HEADER.match(line)
        if header:
            here = _table(header.group(2), counts, is_array=header.group(1) == "[[")
            lines.setdefault(here, number)
            continue
        key = _KEY.match(line)
        if key:
            lines.setdefault((*here, *_steps(key.group(1))), number)
    return lines


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


def _steps(dotted: str) -> tuple[str, ...]:
    return tuple(step.strip().strip("\"'") for step in dotted.split("."))


def _table(dotted: str, counts: Counter[Path], *, is_array: bool) -> Path:
    """Path of a table's header; names of arrays in it stand for their last entry."""
    path: Path = ()
    steps = _steps(dotted)
    for position, step in enumerate(steps):
        path = (*path, step)
        if is_array and position == len(steps) - 1:
            counts[path] += 1
        if counts[path]:
            path = (*path, counts[path] - 1)
    return path
