"""Reads the data files shipped with the rooms, and those that people hand in."""

import tomllib
from collections.abc import Mapping
from decimal import Decimal
from importlib.resources import files
from pathlib import Path
from typing import Any

from barrelfit.acquire.errors import UserError
from barrelfit.acquire.inputs.plain import decimal_of
from barrelfit.acquire.inputs.toml_mistake import mistake
from barrelfit.acquire.inputs.toml_places import line_of_value
from barrelfit.acquire.streams import is_standard, name_of, read_bytes
from barrelfit.rules.said import Said, said

_BITS_MAX, _DEPTH_MAX = 256, 30  # beyond any use, and still shown in a message
_SHOWN = 20
_TOO_DEEP = said("nested_too_deep")


def shipped_names(room: str, folder: str) -> tuple[str, ...]:
    """Names (without `.toml`) of the data files in a room's folder, sorted."""
    names = (entry.name for entry in files(f"barrelfit.{room}").joinpath(folder).iterdir())
    return tuple(sorted(n.removesuffix(".toml") for n in names if n.endswith(".toml")))


def shipped_text(room: str, folder: str, name: str) -> str:
    """Text of one shipped data file; raises UserError naming the choices when there is none."""
    if name not in shipped_names(room, folder):
        raise UserError([_none_called(folder, name, shipped_names(room, folder))])
    return files(f"barrelfit.{room}").joinpath(folder, f"{name}.toml").read_text(encoding="utf-8")


def _none_called(folder: str, name: str, known: tuple[str, ...]) -> Said:
    if folder == "sheets":
        return said("no_sheet_called", name=name, known=known)
    if folder == "profiles":
        return said("no_profile_called", name=name, known=known)
    return said("no_file_called", name=name, known=known)


def system_text(name: str) -> str:
    """Text of a file shipped for the operating system: the udev rule, the systemd unit."""
    return files("barrelfit.acquire").joinpath("system", name).read_text(encoding="utf-8")


def sheet_text(name_or_path: str) -> str:
    """Text of an engine sheet: a file's when the name ends in `.toml`, else a shipped one's."""
    if name_or_path.endswith(".toml"):
        return file_text(Path(name_or_path))
    return shipped_text("rules", "sheets", name_or_path)


def given_sheet(name_or_path: str) -> str:
    """Text of a sheet that was named on the command line: `sheet_text`, or standard input's."""
    return given_text(Path(name_or_path)) if is_standard(name_or_path) else sheet_text(name_or_path)


def given_text(path: Path) -> str:
    """Text of a file that was named on the command line, where `-` is standard input."""
    if not is_standard(path):
        return file_text(path)
    try:
        return read_bytes(path).decode().replace("\r\n", "\n")
    except UnicodeDecodeError as error:
        raise UserError([said("not_utf8", path=name_of(path), start=error.start)]) from None


def file_text(path: Path) -> str:
    """Text of a user's file; raises UserError saying what is wrong with it."""
    try:
        return path.read_text(encoding="utf-8")
    except FileNotFoundError:
        raise UserError([said("no_such_file", path=str(path))]) from None
    except UnicodeDecodeError as error:
        raise UserError([said("not_utf8", path=str(path), start=error.start)]) from None
    except OSError as error:
        raise UserError([said("of_file", file=str(path), what=str(error.strerror))]) from None


def parse_toml(text: str, name: str) -> dict[str, Any]:
    """Parse TOML with exact decimals (`Decimal`, never float); raises UserError with the line."""

    def exact(written: str) -> Decimal:
        number = decimal_of(written)
        if number is None:
            line = line_of_value(text, written)
            raise UserError([said("of_line", name=name, line=str(line), what=_far_out(written))])
        return number

    try:
        table = tomllib.loads(text, parse_float=exact)
    except tomllib.TOMLDecodeError as error:
        raise mistake(str(error), text, name) from None
    except RecursionError:
        raise UserError([said("of_file", file=name, what=_TOO_DEEP)]) from None
    except ValueError:  # a whole number of thousands of digits
        raise UserError([said("of_file", file=name, what=said("far_out_whole"))]) from None
    _check_reasonable(table, name)
    return table


def _far_out(written: str) -> Said:
    return said("far_out", number=written[:_SHOWN])


def _check_reasonable(table: Mapping[str, Any], name: str) -> None:
    """Refuse what could not even be shown in a message: endless numbers, endless nesting."""
    open_now: list[tuple[object, int]] = [(table, 0)]
    while open_now:
        value, depth = open_now.pop()
        if depth > _DEPTH_MAX:
            raise UserError([said("of_file", file=name, what=_TOO_DEEP)])
        if isinstance(value, int) and value.bit_length() > _BITS_MAX:
            raise UserError([said("of_file", file=name, what=said("far_out_whole"))])
        if isinstance(value, dict):
            open_now += ((item, depth + 1) for item in value.values())
        elif isinstance(value, list):
            open_now += ((item, depth + 1) for item in value)
