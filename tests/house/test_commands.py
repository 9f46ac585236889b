"""The command line: quick to answer, nothing heavy loaded, and the papers tell what there is."""

import os
import re
import subprocess
import sys
from importlib.metadata import version
from pathlib import Path

import pytest

from barrelfit.acquire.cli import app, run_cli
from barrelfit.acquire.inputs.bench_file import bench_file
from barrelfit.acquire.inputs.shelf import shipped_names

HOUSE = Path(__file__).resolve().parents[2]
PAPERS = ("README.md", "DEVELOPERS.md")
HEAVY = ("pandas", "streamlit", "scipy", "numpy", "sqlalchemy", "reportlab", "aiomqtt")
HELP_S = 0.5


def fenced(language: str) -> list[tuple[str, str]]:
    """Fenced blocks of a language, each with the paper it stands in."""
    found = []
    for name in PAPERS:
        text = (HOUSE / name).read_text(encoding="utf-8")
        blocks = re.findall(rf"^```{language}\n(.*?)^```", text, re.MULTILINE | re.DOTALL)
        found += [(name, block) for block in blocks]
    return found


def written_commands() -> list[str]:
    """Every `barrelfit …` that the papers tell to type, in blocks and in running text."""
    lines = [
        line.strip() for _, block in fenced("(?:sh|bash|console)") for line in block.split("\n")
    ]
    for name in PAPERS:
        text = (HOUSE / name).read_text(encoding="utf-8")
        lines += re.findall(r"`(barrelfit [^`]+)`", text)
    commands = [re.split(r"\s+(?:#|>|\||&&)\s*", line.strip())[0] for line in lines]
    return sorted({c for c in commands if re.match(r"barrelfit( |$)", c)})


def command_names() -> list[list[str]]:
    """The words of every command, those of command groups included."""
    names = [[info.name or ""] for info in app.registered_commands]
    for group in app.registered_groups:
        inner = group.typer_instance
        assert inner is not None
        names += [[group.name or "", info.name or ""] for info in inner.registered_commands]
    return names


def help_of(words: list[str], capsys: pytest.CaptureFixture[str]) -> str:
    capsys.readouterr()
    assert run_cli([*words, "--help"]) == 0, words
    return " ".join(capsys.readouterr().out.split())


@pytest.fixture(autouse=True)
def _wide_terminal(monkeypatch):
    monkeypatch.setenv("COLUMNS", "200")


@pytest.mark.parametrize("words", command_names(), ids=" ".join)
def test_every_command_has_help_like_a_manual(words, capsys):
    text = help_of(words, capsys)
    assert "Usage: barrelfit" in text
    # A sentence of its own, not only the options' list.
    about = text.split("[OPTIONS]")[-1].split(" Options: ")[0].split(" Arguments: ")[0]
    assert len(about.split()) >= 5, about


@pytest.mark.parametrize("words", [[], *command_names()], ids=" ".join)
def test_help_is_plain_and_fits_the_terminal(words, capsys, monkeypatch):
    monkeypatch.setenv("COLUMNS", "50")
    capsys.readouterr()
    assert run_cli([*words, "-h"]) == 0
    # An example stands as it is typed, whatever the width.
    lines = [n for n in capsys.readouterr().out.split("\n") if not n.startswith("    barrelfit ")]
    assert not [n for n in lines if re.search(r"[│╭╮╰╯─\x1b]|<[a-z]", n)]
    assert not [n for n in lines if len(n) > 50]


def test_the_version_is_told(capsys):
    assert run_cli(["--version"]) == 0
    assert capsys.readouterr().out == f"barrelfit {version('barrelfit')}\n"


@pytest.mark.parametrize(
    ("typed", "offered"),
    [
        ("barrelfit ju", "judge"),
        ("barrelfit judge set.toml --sheet flat-", "flat-four-85"),
        ("barrelfit report session.jsonl --unit i", "inch"),
        ("barrelfit decode --profile signed-decimal-c", "signed-decimal-cr"),
        ("barrelfit sheet sh", "show"),
    ],
)
def test_the_shell_completes_commands_and_values(typed, offered, capsys, monkeypatch):
    monkeypatch.setenv("_BARRELFIT_COMPLETE", "complete_bash")
    monkeypatch.setenv("COMP_WORDS", typed)
    monkeypatch.setenv("COMP_CWORD", str(len(typed.split()) - 1))
    assert run_cli([]) == 0
    assert offered in capsys.readouterr().out.split()


@pytest.mark.parametrize("command", written_commands())
def test_every_command_in_the_papers_is_there_with_its_options(command, capsys):
    words = command.split()[1:]
    known = sorted((n for n in command_names() if words[: len(n)] == n), key=len)
    if not words or words[0].startswith("-"):
        known = [[]]
    assert known, f"no command is called so: {command}"
    text = help_of(known[-1], capsys)
    for word in words[len(known[-1]) :]:
        if word.startswith("-"):
            assert re.search(rf"(?<![\w-]){re.escape(word)}(?![\w-])", text), f"{command}: {word}"


@pytest.mark.parametrize(("paper", "text"), fenced("toml"))
def test_every_bench_file_in_the_papers_is_one(paper, text):
    if not re.search(r"^bench = ", text, re.MULTILINE):
        return
    bench = bench_file(text, paper)
    assert bench.sheet in shipped_names("rules", "sheets")
    assert {g.profile for g in bench.gauge} <= set(shipped_names("drivers", "profiles"))


@pytest.mark.slow
@pytest.mark.parametrize("module", ["barrelfit.acquire", "barrelfit.acquire.cli"])
def test_nothing_heavy_is_loaded_at_the_start(module):
    told = subprocess.run(  # noqa: S603
        [sys.executable, "-X", "importtime", "-c", f"import {module}"],
        capture_output=True,
        text=True,
        check=True,
        cwd=HOUSE,
    ).stderr
    loaded = {line.rsplit("|", 1)[-1].strip().split(".")[0] for line in told.splitlines()}
    assert loaded.isdisjoint(HEAVY)


@pytest.mark.slow
@pytest.mark.skipif(sys.platform == "win32", reason="children's processor time is not told there")
@pytest.mark.parametrize("words", [["--help"], ["judge", "--help"]], ids=" ".join)
def test_help_answers_in_under_half_a_second(words):
    """Processor time, best of three: what others do on this machine is not ours to answer for."""
    assert any(_help_time(words) < HELP_S for _ in range(3))


def _help_time(words: list[str]) -> float:
    before = os.times()
    subprocess.run(  # noqa: S603
        [sys.executable, "-m", "barrelfit.acquire", *words],
        capture_output=True,
        check=True,
        cwd=HOUSE,
    )
    after = os.times()
    children = after.children_user + after.children_system
    return children - before.children_user - before.children_system


def test_a_starting_daemon_loads_nothing_that_works_sizes_out():
    """Its rules service does, beside it; a bench that is run again records at once."""
    loaded = (
        "import sys, barrelfit.acquire.bench.run; print(*{m.split('.')[0] for m in sys.modules})"
    )
    told = subprocess.run(  # noqa: S603
        [sys.executable, "-c", loaded], capture_output=True, text=True, check=True, cwd=HOUSE
    ).stdout
    packages = {name.split(".")[0] for name in told.split()}
    assert {"asyncio", "barrelfit"} <= packages
    assert packages.isdisjoint({*HEAVY} - {"aiomqtt"})
