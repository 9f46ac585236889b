"""Units for systemd: a bench, its board and its screen, with the paths of this installation."""

import shutil
import sys
from collections.abc import Iterable
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import Final, Literal

from barrelfit.acquire.inputs.shelf import system_text

Unit = Literal["bench", "board", "kiosk"]

BROWSERS: Final = ("chromium", "chromium-browser", "google-chrome", "firefox")
SERIAL_GROUPS: Final = ("dialout", "uucp", "plugdev")
HIDDEN: Final = ("/home", "/root", "/run/user", "/tmp", "/var/tmp")  # noqa: S108  names, not used
"""Folders that a unit does not see, unless it is told of a place in them."""


def unit_text(unit: Unit) -> str:
    """A unit that starts what is installed here, as text.

    Raises:
        OSError: this installation's place can't be told.
    """
    text = system_text(f"{unit}.service")
    shared = system_text("shared.service").rstrip("\n")
    text = text.replace("{shared}", shared)
    text = text.replace("{binds}", "".join(f"BindReadOnlyPaths={p}\n" for p in seen_places()))
    text = text.replace("{python}", quoted(sys.executable))
    text = text.replace("{group}", serial_group())
    return text.replace("{browser}", quoted(browser()))


def quoted(text: str | Path) -> str:
    """A word of a command line as a unit writes it: no specifier, no variable, no two words."""
    plain = str(text).replace("\\", "\\\\").replace('"', '\\"').replace("%", "%%")
    plain = plain.replace("$", "$$")
    return f'"{plain}"' if any(c.isspace() or c in "\"'\\;" for c in plain) else plain


def seen_places() -> list[str]:
    """Where Python and this program lie, as far as a unit would not see it; as a unit's words."""
    python = Path(sys.executable)
    places = [Path(sys.prefix), Path(sys.base_prefix), python.parent, *_links(python), *_rooms()]
    hidden = (p for p in places if any(p.is_relative_to(h) for h in HIDDEN))
    return [quoted(p).replace(":", "\\:") for p in outermost(hidden)]


def outermost(places: Iterable[Path]) -> list[Path]:
    """The places that lie in no other of them, sorted."""
    found: list[Path] = []
    for place in sorted(set(places)):
        if not any(place.is_relative_to(outer) for outer in found):
            found.append(place)
    return found


def _links(python: Path) -> list[Path]:
    """Folders of the programs that Python's own name leads to, one link after another."""
    found: list[Path] = []
    while python.is_symlink() and len(found) < len(python.parts) + 8:
        python = python.parent / python.readlink()
        found.append(python.parent.resolve())
    return found


def _rooms() -> list[Path]:
    """Where the rooms of this program are: not in Python's own folder where it is a checkout."""
    rooms = ("acquire", "dashboard", "drivers", "rules")
    return [Path(str(files(f"barrelfit.{room}"))).resolve() for room in rooms]


@cache
def serial_group() -> str:
    """The group that owns serial ports on this machine."""
    import grp  # noqa: PLC0415  POSIX only

    there = {group.gr_name for group in grp.getgrall()}
    return next((name for name in SERIAL_GROUPS if name in there), SERIAL_GROUPS[0])


def browser() -> str:
    """A browser of this machine; the usual place of one where none is found."""
    found = (shutil.which(name) for name in BROWSERS)
    return next((path for path in found if path), "/usr/bin/chromium")
