"""Packages of other people may be called as our rooms are: neither takes anything from the other.

Both are installed into a new environment by pip, so this needs a package index; without one it is
skipped.
"""

import hashlib
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

HOUSE = Path(__file__).parents[2]
ROOMS = ("acquire", "dashboard", "drivers", "rules", "simulators")
OURS = (*ROOMS, "pyproject.toml", "README.md", "LICENSE")
SET = HOUSE / "tests" / "sets" / "11-rings-and-pins.toml"

pytestmark = [pytest.mark.long, pytest.mark.slow, pytest.mark.timeout(900)]

OTHER = """\
[build-system]
requires = ["setuptools>=77"]
build-backend = "setuptools.build_meta"

[project]
name = "another-with-rules"
version = "1"

[tool.setuptools]
packages = ["acquire", "dashboard", "drivers", "rules", "simulators"]
"""


class Scratch:
    """A new environment with nothing in it."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        make = [sys.executable, "-m", "venv", str(folder / "venv")]
        subprocess.run(make, check=True)  # noqa: S603
        self.python = folder / "venv" / "bin" / "python"

    def pip(self, *arguments: str) -> None:
        found = self.run("-m", "pip", "-q", "--disable-pip-version-check", *arguments)
        if "No matching distribution" in found.stderr or "Connection" in found.stderr:
            pytest.skip(f"no package index: {found.stderr.splitlines()[-1]}")
        assert found.returncode == 0, found.stderr

    def run(self, *arguments: str) -> subprocess.CompletedProcess[str]:
        command = [str(self.python), *arguments]
        return subprocess.run(  # noqa: S603
            command, capture_output=True, text=True, check=False, cwd=self.folder
        )

    def told(self, *arguments: str) -> str:
        found = self.run("-m", "barrelfit.acquire", *arguments)
        assert found.returncode in {0, 1}, found.stderr
        return found.stdout

    def of(self, name: str) -> dict[str, str]:
        """Every installed source or data file of a package with its hash."""
        (site,) = (self.folder / "venv" / "lib").glob("python*/site-packages")
        found = (p for p in (site / name).rglob("*") if p.is_file() and p.suffix != ".pyc")
        return {str(p): hashlib.sha256(p.read_bytes()).hexdigest() for p in found}


@pytest.fixture
def scratch(tmp_path: Path) -> Scratch:
    return Scratch(tmp_path)


@pytest.fixture
def ours(tmp_path: Path) -> str:
    """A copy of what is installed, so that building leaves nothing in the checkout."""
    copy = tmp_path / "ours"
    copy.mkdir()
    for name in OURS:
        source = HOUSE / name
        (shutil.copytree if source.is_dir() else shutil.copy)(source, copy / name)
    return str(copy)


@pytest.fixture
def other(tmp_path: Path) -> str:
    """A package of somebody else, whose folders are all called as our rooms are."""
    project = tmp_path / "other"
    for room in ROOMS:
        (project / room).mkdir(parents=True)
        (project / room / "__init__.py").write_text(f"WHOSE = 'another {room}'\n")
    (project / "rules" / "length.py").write_text("raise RuntimeError('not yours')\n")
    (project / "pyproject.toml").write_text(OTHER)
    return str(project)


def test_another_package_named_rules_changes_nothing(scratch: Scratch, ours: str, other: str):
    judge = ("judge", str(SET), "--sheet", "flat-four-85", "--json")
    scratch.pip("install", ours)
    files, verdicts = scratch.of("barrelfit"), scratch.told(*judge)
    assert '"verdict": "discard"' in verdicts
    scratch.pip("install", other)
    theirs = {room: scratch.of(room) for room in ROOMS}
    assert all(theirs.values())
    assert (scratch.of("barrelfit"), scratch.told(*judge)) == (files, verdicts)
    scratch.pip("install", "--no-deps", "--force-reinstall", ours)
    assert {room: scratch.of(room) for room in ROOMS} == theirs
    whose = scratch.run("-c", "import rules, barrelfit.rules.length; print(rules.WHOSE)")
    assert whose.stdout == "another rules\n", whose.stderr
    scratch.pip("uninstall", "-y", "another-with-rules")
    assert (scratch.of("barrelfit"), scratch.told(*judge)) == (files, verdicts)
