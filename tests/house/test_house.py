"""Sizes, names and places that the house keeps to, and data files that a wheel must carry."""

import ast
import re
import subprocess
import tomllib
from collections.abc import Iterator
from fnmatch import fnmatch
from functools import cache
from pathlib import Path
from typing import Any

import pytest

HOUSE = Path(__file__).resolve().parents[2]
ROOMS = ("acquire", "dashboard", "drivers", "rules", "simulators")
TOP = {*ROOMS, "tests", "README.md", "DEVELOPERS.md", "pyproject.toml", "LICENSE"}
FILE_LINES_MAX = 400
FUNCTION_LINES_MAX = 60
CODE = {".py", ".js", ".css"}
BESIDE_CODE = {".toml", ".css", ".js", ".json", ".rules", ".service", ".html", ".svg", ".txt"}
PROJECT = tomllib.loads((HOUSE / "pyproject.toml").read_text(encoding="utf-8"))

# Words of a workplace, none of which belongs to the project; written in two halves, so that this
# file does not name them itself.
WORKPLACE = (
    "/wo" + "rk/",
    r"\.\./sha" + "red",
    r"\bsub" + r"-?agents?\b",
    r"\bhelper" + r" session",
    r"\bsession of" + r" work\b",
    r"\biss" + r"ue #?\d",
    r"\biss" + r"ue [A-J]\b",
    r"\bFIX" + "ME",
    r"python" + r"hosted\.org|pypi" + r"\.org/simple",
)


def rooms_files() -> list[Path]:
    """Every file of the rooms and the tests that is no cache."""
    found = [p for room in (*ROOMS, "tests") for p in (HOUSE / room).rglob("*")]
    return sorted(p for p in found if p.is_file() and "__pycache__" not in p.parts)


def code_files() -> list[Path]:
    return [p for p in rooms_files() if p.suffix in CODE]


def named(path: Path) -> str:
    return path.relative_to(HOUSE).as_posix()


@cache
def texts() -> list[tuple[str, str]]:
    """Every text with its file, read once for all that look; a picture's letters are in it too."""
    documents = [HOUSE / "README.md", HOUSE / "DEVELOPERS.md", HOUSE / "pyproject.toml"]
    files = (*rooms_files(), *documents, HOUSE / ".ci" / "run")
    return [(named(path), path.read_bytes().decode("utf-8", "replace")) for path in files]


@cache
def statements() -> list[tuple[str, ast.stmt]]:
    """Every statement of our Python with its file: read once for all that look."""
    return [
        (named(path), node)
        for path in code_files()
        if path.suffix == ".py"
        for node in _within(ast.parse(path.read_text(encoding="utf-8")).body)
    ]


def _within(block: list[Any]) -> Iterator[ast.stmt]:
    """Every statement of a block and of the blocks in it, without the expressions."""
    for node in block:
        if isinstance(node, ast.stmt):
            yield node
        for name in ("body", "orelse", "finalbody", "handlers", "cases"):
            yield from _within(getattr(node, name, []))


def test_no_file_is_over_400_lines():
    lengths = {named(p): len(p.read_text(encoding="utf-8").splitlines()) for p in code_files()}
    assert {name: n for name, n in lengths.items() if n > FILE_LINES_MAX} == {}


def test_no_function_is_over_60_lines():
    long = {}
    for name, node in statements():
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            lines = (node.end_lineno or 0) - node.lineno + 1
            if lines > FUNCTION_LINES_MAX:
                long[f"{name}:{node.lineno} {node.name}"] = lines
    assert long == {}


def test_no_cancellation_is_forgotten():
    """Python 3.11's `wait_for` loses one that comes together with its result: the task goes on for
    ever, and whatever waits for its end with it. `asyncio.timeout` hears it.
    """
    ours = [path for path in code_files() if not named(path).startswith("tests/")]
    forgetful = [named(p) for p in ours if "asyncio.wait_for(" in p.read_text(encoding="utf-8")]
    assert forgetful == []


def test_no_name_is_a_grab_bag():
    grab_bags = re.compile(r"^_?(utils?|helpers?|common|misc|tools?)$")
    assert [named(p) for p in rooms_files() if grab_bags.match(p.stem)] == []
    folders = {part for p in rooms_files() for part in p.relative_to(HOUSE).parts[:-1]}
    assert [name for name in folders if grab_bags.match(name)] == []


def test_test_files_have_names_of_their_own():
    names = [p.name for p in rooms_files() if p.parts[-1].startswith("test_")]
    assert sorted({name for name in names if names.count(name) > 1}) == []


def test_the_top_level_is_fixed():
    listed = subprocess.run(  # noqa: S603
        ["git", "-c", f"safe.directory={HOUSE}", "ls-files"],  # noqa: S607
        cwd=HOUSE,
        capture_output=True,
        text=True,
        check=False,
    )
    if listed.returncode:
        pytest.skip("no git checkout")
    top = {line.split("/")[0] for line in listed.stdout.splitlines()}
    assert {name for name in top if not name.startswith(".")} <= TOP
    assert {name for name in top if name.startswith(".")} <= {".ci", ".gitignore"}


@pytest.mark.parametrize("word", WORKPLACE)
def test_the_repository_speaks_of_the_project_alone(word):
    pattern = re.compile(word)
    found = []
    for name, text in texts():
        if pattern.search(text):
            found += [
                f"{name}:{number}: {line.strip()[:80]}"
                for number, line in enumerate(text.splitlines(), 1)
                if pattern.search(line)
            ]
    assert found == []


def test_every_package_is_built():
    """What has Python files is listed, what is listed has Python files."""
    listed = set(PROJECT["tool"]["setuptools"]["packages"])
    there = {
        ".".join(("barrelfit", *p.relative_to(HOUSE).parent.parts))
        for p in rooms_files()
        if p.suffix == ".py" and p.relative_to(HOUSE).parts[0] in ROOMS
    }
    assert there == listed


def test_every_data_file_is_built():
    globs = PROJECT["tool"]["setuptools"]["package-data"]
    missing = []
    for path in rooms_files():
        inside = path.relative_to(HOUSE)
        if inside.parts[0] in ROOMS and path.suffix != ".py":
            room, rest = inside.parts[0], "/".join(inside.parts[1:])
            assert path.suffix in BESIDE_CODE or path.name == "py.typed", (
                f"{inside}: what is this file for?"
            )
            if not any(fnmatch(rest, glob) for glob in globs.get(f"barrelfit.{room}", [])):
                missing.append(inside.as_posix())
    assert missing == []


def test_every_data_glob_has_files():
    globs = PROJECT["tool"]["setuptools"]["package-data"]
    empty = [
        f"{room}/{glob}"
        for room, patterns in globs.items()
        for glob in patterns
        if not list((HOUSE / room.removeprefix("barrelfit.")).glob(glob))
    ]
    assert empty == []


def test_the_rooms_are_imported_by_their_installed_name():
    """From a checkout the bare names can be imported too, and would be other modules."""
    found = []
    for name, node in statements():
        names = [a.name for a in node.names] if isinstance(node, ast.Import) else []
        names += [node.module or ""] if isinstance(node, ast.ImportFrom) else []
        found += [f"{name}:{node.lineno}" for n in names if n.split(".")[0] in ROOMS]
    assert found == []
