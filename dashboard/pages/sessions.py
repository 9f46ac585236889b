"""Recorded sessions for the sessions page: found through the index, read through their journals.

A redo or a what-if runs as a child process of its own (`barrelfit replay`), because it would hold
up the live pages for seconds; its answer is read as JSON lines.
"""

import json
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any, Final

from barrelfit.acquire.bus.plan_told import Planned, planned_features
from barrelfit.acquire.errors import UserError
from barrelfit.acquire.index.search import (
    SearchWanted,
    earlier_sizes,
    found_rows,
    open_index,
)
from barrelfit.acquire.inputs.set_now import set_text_of
from barrelfit.acquire.inputs.setup import setup_of
from barrelfit.acquire.inputs.shelf import shipped_names
from barrelfit.acquire.journal.codec import Record
from barrelfit.acquire.journal.session import Session, journals_in
from barrelfit.acquire.said_json import from_parts
from barrelfit.dashboard.words import say, say_or_raw
from barrelfit.rules.said import Said, decimal, said, written

COLUMNS: Final = (
    "opened_utc", "bench", "job", "about", "serial", "verdict", "sheet", "ended", "file",
)  # fmt: skip
CHILD_S: Final = 120.0


SAID_KEYS: Final = frozenset({"reasons", "todo", "pairing", "because", "problem"})
"""Under which keys of the lines something is said."""


@dataclass(frozen=True, slots=True)
class SessionsFound:
    """What a search came to: rows for a table, and what could not be read."""

    rows: list[dict[str, Any]]
    problems: list[Said]


@dataclass(frozen=True, slots=True)
class Rerun:
    """What a redo or a what-if said: JSON lines, and its words on standard error."""

    lines: list[dict[str, Any]]
    words: list[str]


def find_sessions(folder: Path, **wanted: str) -> SessionsFound:
    """Search a folder's sessions; raises UserError for a wrong day or verdict.

    Args:
        folder: where the journals are.
        wanted: part, job, verdict, since, until; empty texts ask for nothing.
    """
    asked = SearchWanted.of(
        **{"part": "", "job": "", "verdict": "", "since": "", "until": ""} | wanted
    )
    store, problems = open_index(folder, "", anew=False)
    try:
        return SessionsFound(found_rows(store, asked), problems)
    finally:
        store.close()


def earlier_of(folder: Path, serial: str, but: str) -> SessionsFound:
    """What earlier sessions found of the part with a serial number; raises UserError."""
    store, problems = open_index(folder, "", anew=False)
    try:
        return SessionsFound(earlier_sizes(store, serial, but), problems)
    finally:
        store.close()


def table_row(row: dict[str, Any]) -> dict[str, str]:
    """A found row as a table shows it: our words for columns and verdicts, texts alone."""
    shown = {key: str(row[key] or "") for key in COLUMNS}
    shown["opened_utc"] = shown["opened_utc"][:16].replace("T", " ")
    shown["verdict"] = say_or_raw(shown["verdict"])
    return {say(f"col_{key}"): text for key, text in shown.items()}


def journal_of(folder: Path, file: str) -> Path:
    """Path of a session's journal by its file's name; raises UserError when there is none.

    Only what lies in the folder is ever opened, whatever an address asks for.
    """
    for path in journals_in(folder):
        if path.name == file:
            return path
    raise UserError([said("no_session_there", file=file, folder=str(folder))])


def records_of(path: Path) -> Iterator[Record]:
    """A session's records; raises UserError."""
    return Session.open(path).records()


def plan_of(path: Path) -> list[Planned]:
    """What a session had to measure, in the plan's order; raises UserError or RulesError."""
    return planned_features(setup_of(Session.open(path).opening()))


def sheets() -> tuple[str, ...]:
    """Names of the shipped engine sheets."""
    return shipped_names("rules", "sheets")


def verify(path: Path) -> Rerun:
    """Ask whether a session is whole, torn or altered, and where."""
    return _child("verify", str(path), "--json")


def redo(path: Path) -> Rerun:
    """Run a session's bytes through today's code and compare."""
    return _child("replay", str(path), "--redo", "--json")


def what_if(path: Path, sheet: str, variant: str, guard_factor: float | None) -> Rerun:
    """Judge a session's sizes against another sheet, variant or guard band."""
    options = ["--sheet", sheet] if sheet else []
    options += ["--variant", variant] if variant else []
    options += [] if guard_factor is None else ["--guard-factor", f"{guard_factor:g}"]
    return _child("replay", str(path), "--what-if", *options, "--json")


def report(path: Path) -> bytes:
    """The session's report as one HTML file; raises UserError when it can't be made."""
    with TemporaryDirectory() as folder:
        made = Path(folder) / "report.html"
        done = _child("report", str(path), "-o", str(made))
        if not made.exists():
            raise UserError([written(one) for one in done.words])
        return made.read_bytes()


def set_file(path: Path) -> bytes:
    """The session's set file: told, found, and what waits; raises UserError or RulesError."""
    return set_text_of(Session.open(path).records()).encode()


def _child(*arguments: str) -> Rerun:
    command = [sys.executable, "-m", "barrelfit.acquire", *arguments]
    try:
        done = subprocess.run(command, capture_output=True, timeout=CHILD_S, check=False)  # noqa: S603  our own program
    except subprocess.TimeoutExpired:
        raise UserError(
            [said("no_answer", what=arguments[1], time=decimal(f"{CHILD_S:g}"))]
        ) from None
    texts = [line for line in done.stdout.decode().splitlines() if line[:1] == "{"]
    lines = [from_parts(json.loads(text), SAID_KEYS) for text in texts]
    words = [w.removeprefix("barrelfit: ") for w in done.stderr.decode().splitlines() if w]
    return Rerun(lines, words)
