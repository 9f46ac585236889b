"""The floors of the dependencies in pyproject.toml are true: the quick tests pass with them."""

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

HOUSE = Path(__file__).resolve().parents[2]
INSTALL_S, TESTS_S = 600, 2400

pytestmark = [pytest.mark.long, pytest.mark.slow, pytest.mark.timeout(INSTALL_S + TESTS_S)]


def run(command: list[str], folder: Path, seconds: float) -> str:
    """Run a command in a folder; gives the end of what it said."""
    found = subprocess.run(  # noqa: S603
        command,
        cwd=folder,
        capture_output=True,
        text=True,
        timeout=seconds,
        check=False,
        env={name: text for name, text in os.environ.items() if name != "PYTHONPATH"},
    )
    said = (found.stdout + found.stderr)[-4000:]
    assert found.returncode == 0, said
    return said


def test_the_quick_tests_pass_with_the_lowest_versions(tmp_path):
    uv = shutil.which("uv") or str(Path(sys.prefix) / "bin" / "uv")
    if not Path(uv).exists():
        pytest.skip("uv, which chooses lowest versions, is not on this system")
    house = tmp_path / "house"
    left_out = shutil.ignore_patterns(".venv", ".git", "__pycache__", ".*_cache")
    shutil.copytree(HOUSE, house, ignore=left_out)
    run([uv, "venv", "-q", "-p", sys.executable, ".venv"], house, 60)
    python = str(house / ".venv" / "bin" / "python")
    lowest = ["--resolution", "lowest-direct"]
    run([uv, "pip", "install", "-q", "-p", python, *lowest, ".[test]"], house, INSTALL_S)
    said = run([python, "-m", "pytest", "-q", "-m", "not long and not system"], house, TESTS_S)
    sys.stdout.write(said[-200:])
