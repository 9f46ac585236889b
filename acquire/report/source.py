"""Where a report comes from: a result that `judge --json` wrote, or a session's journal."""

import hashlib
import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from barrelfit.acquire.errors import UserError
from barrelfit.acquire.inputs.photo import upright
from barrelfit.acquire.inputs.shelf import file_text
from barrelfit.acquire.journal.parts import SUFFIX
from barrelfit.acquire.report.blocks import Picture
from barrelfit.acquire.report.set_result import FORMAT, SAID_KEYS
from barrelfit.acquire.said_json import from_parts
from barrelfit.acquire.streams import is_standard, spooled_input
from barrelfit.rules.said import Said, said

Line = dict[str, Any]

_ONCE = ("set", "sheet", "pairing", "rework", "remaining", "summary")
_SHOWN = {".jpg", ".jpeg", ".png"}


def lines_of(name: str) -> list[Line]:
    """The lines that a report is made of.

    Args:
        name: a result file (lines of JSON that begin with a `set` line), or a session.

    Raises:
        UserError: there is no such thing, or it is not what it should be.
    """
    path = spooled_input(SUFFIX) if is_standard(name) else Path(name).expanduser()
    if path.is_file() and _is_result(path):
        return _result_lines(path)
    from barrelfit.acquire.report.from_session import session_lines  # noqa: PLC0415  the rules and the journal

    return session_lines(str(path) if is_standard(name) else name)


def _is_result(path: Path) -> bool:
    with path.open("rb") as file:
        return file.read(14).startswith(b'{"kind": "set"')


def _result_lines(path: Path) -> list[Line]:
    lines: list[Line] = []
    problems: list[Said] = []
    for number, text in enumerate(file_text(path).splitlines(), start=1):
        try:
            line = json.loads(text, parse_constant=_refuse)
            lines.append(from_parts(line, SAID_KEYS))
        except (ValueError, RecursionError) as error:
            problems.append(said("no_json", path=str(path), number=number, what=str(error)))
    kinds = [line.get("kind") for line in lines]
    problems += [said("line_missing", path=str(path), line=k) for k in _ONCE if k not in kinds]
    if lines and lines[0].get("format") != FORMAT:
        wrong = lines[0].get("format")
        problems.append(said("format_unknown", path=str(path), wrong=str(wrong), known=FORMAT))
    if problems:
        raise UserError(problems)
    return lines


def _refuse(constant: str) -> float:
    msg = f"{constant} is no number"
    raise ValueError(msg)


@dataclass(frozen=True, slots=True)
class Photos:
    """The photos of a report by part, and why those that its lines name are not among them."""

    found: dict[str, list[Picture]]
    troubles: list[Said]


def photos_of(lines: Iterable[Mapping[str, Any]], folder: Path) -> Photos:
    """Read the photos that the lines name.

    A photo that is not there, or is not the one that was judged (its SHA-256 differs), is left out
    and told. What is shown is the photo's upright view, without where it was taken.

    Args:
        lines: the report's lines.
        folder: where the photo files lie.
    """
    photos = Photos({}, [])
    for part, photo in _named(lines):
        seen = _seen(part, photo, folder)
        if isinstance(seen, Said):
            photos.troubles.append(seen)
        else:
            photos.found.setdefault(part, []).append(seen)
    return photos


def _seen(part: str, photo: Mapping[str, Any], folder: Path) -> Picture | Said:
    file = photo["file"]
    path = folder / file
    try:
        data = path.read_bytes()
    except OSError:
        return said("no_photo", file=file, part=part, folder=str(folder))
    if path.suffix.lower() not in _SHOWN:
        return said("strange_photo", file=file, part=part)
    if not _is_same(data, photo):
        return said("another_photo", file=file, part=part)
    try:
        return Picture(upright(data), "image/jpeg", f"{part}: {file}")
    except UserError:
        return said("broken_photo", file=file, part=part)


def _named(lines: Iterable[Mapping[str, Any]]) -> list[tuple[str, Mapping[str, Any]]]:
    parts = [line for line in lines if line["kind"] == "part"]
    return [(part["part"], photo) for part in parts for photo in part["photos"]]


def _is_same(data: bytes, photo: Mapping[str, Any]) -> bool:
    """Whether it is the file that was judged; a session knows no hash and takes what is there."""
    return not photo["sha256"] or bool(hashlib.sha256(data).hexdigest() == photo["sha256"])


def with_notes(lines: Sequence[Line], notes: Sequence[Said]) -> list[Line]:
    """The lines with more notes on the set."""
    return [
        {**line, "notes": [*line["notes"], *notes]} if line["kind"] == "set" else line
        for line in lines
    ]
