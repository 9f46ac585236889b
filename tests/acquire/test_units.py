"""The units for systemd: they name what is installed here, and systemd itself finds them tight."""

import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from barrelfit.acquire.inputs import units
from barrelfit.acquire.inputs.units import outermost, quoted, unit_text
from tests.acquire.test_ports_found import run_cli

NAMES = {
    "bench": ("--service", "barrelfit@stand.service"),
    "board": ("--board-service", "barrelfit-board.service"),
    "kiosk": ("--kiosk-service", "barrelfit-kiosk.service"),
}
EXPOSURE_MAX = 2.0


def settings(text):
    """A unit's settings, each with all its values in order."""
    found = {}
    for line in text.splitlines():
        name, mark, value = line.partition("=")
        if mark and not line.startswith(("#", "[")):
            found.setdefault(name, []).append(value)
    return found


@pytest.mark.parametrize("unit", NAMES)
def test_it_is_printed_and_starts_a_program_that_is_there(unit, capsys, monkeypatch):
    monkeypatch.setattr(units, "browser", lambda: sys.executable)
    assert run_cli(["gauges", NAMES[unit][0]]) == 0
    text = capsys.readouterr().out
    assert text == unit_text(unit)
    program = settings(text)["ExecStart"][0].split()[0]
    assert Path(program).is_absolute()
    assert program == sys.executable
    assert "{" not in text


def test_a_bench_is_ready_when_it_says_so_and_is_watched():
    said = settings(unit_text("bench"))
    assert said["Type"] == ["notify"]
    assert int(said["WatchdogSec"][0]) > 0
    assert "--wait" in said["ExecStart"][0]
    assert said["Restart"] == ["on-failure"]


def test_an_installation_in_a_hidden_folder_is_seen_by_its_unit(monkeypatch):
    monkeypatch.setattr(units, "HIDDEN", ("/",))
    places = settings(unit_text("bench"))["BindReadOnlyPaths"]
    for needed in (sys.executable, sys.base_prefix, Path(units.__file__).resolve()):
        assert any(Path(needed).is_relative_to(place) for place in places), needed


def test_an_installation_where_all_see_it_needs_no_window(monkeypatch):
    monkeypatch.setattr(units, "HIDDEN", ())
    assert "BindReadOnlyPaths" not in unit_text("board")


def test_only_the_outermost_places_are_named():
    places = [Path(p) for p in ("/a/b", "/a", "/a/b/c", "/ab", "/c/d", "/a")]
    assert outermost(places) == [Path("/a"), Path("/ab"), Path("/c/d")]


@pytest.mark.parametrize(
    ("path", "word"),
    [
        ("/opt/v/bin/python", "/opt/v/bin/python"),
        ("/opt/my shop/python", '"/opt/my shop/python"'),
        ("/opt/50%/python", "/opt/50%%/python"),
        ("/opt/$x/python", "/opt/$$x/python"),
        ('/opt/"/python', '"/opt/\\"/python"'),
    ],
)
def test_a_path_is_one_word_of_a_unit(path, word):
    assert quoted(path) == word


def analysed(tmp_path, unit, *command):
    program = shutil.which("systemd-analyze")
    if program is None:
        pytest.skip("systemd-analyze is not on this system")
    file = tmp_path / NAMES[unit][1]
    file.write_text(unit_text(unit), encoding="utf-8")
    return subprocess.run(  # noqa: S603
        [program, *command, str(file)],
        capture_output=True,
        text=True,
        check=False,
        env={"XDG_RUNTIME_DIR": str(tmp_path), "HOME": str(tmp_path), "LC_ALL": "C.UTF-8"},
    )


@pytest.mark.slow
@pytest.mark.parametrize("unit", ["bench", "board"])
def test_systemd_finds_it_little_exposed(tmp_path, unit):
    said = analysed(tmp_path, unit, "security", "--offline=true")
    exposure = re.search(r"Overall exposure level for \S+: (\d+\.\d+)", said.stdout)
    assert exposure, said.stdout + said.stderr
    assert float(exposure[1]) <= EXPOSURE_MAX


@pytest.mark.slow
@pytest.mark.parametrize("unit", NAMES)
def test_systemd_finds_nothing_wrong_with_it(tmp_path, unit, monkeypatch):
    if shutil.which(units.browser()) is None:
        monkeypatch.setattr(units, "browser", lambda: sys.executable)
    said = analysed(tmp_path, unit, "verify", *(["--user"] if unit == "kiosk" else []))
    assert (said.returncode, said.stdout + said.stderr) == (0, "")
