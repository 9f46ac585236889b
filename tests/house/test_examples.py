"""Every command's help has an example, and every example can be typed as it stands."""

import io
import shlex
import shutil
import sys
from pathlib import Path

import pytest
import typer
from typer.core import TyperGroup

from barrelfit.acquire.cli import TASKS, app, run_cli
from barrelfit.acquire.commands.manual import examples_in
from barrelfit.acquire.inputs.shelf import shipped_text
from barrelfit.simulators.trace import make_trace

HOUSE = Path(__file__).resolve().parents[2]
# These wait for a gauge or a browser: their examples are only read as far as they can be typed.
PARSED_ONLY = {"demo", "run", "board", "identify"}
FOUND_OR_FINE = {0, 1}  # the example's set may have a finding


def commands(group=None, words=()):
    """Every command with its words, in the order of the help."""
    group = group or typer.main.get_command(app)
    for name, command in group.commands.items():
        if isinstance(command, TyperGroup):
            yield from commands(command, (*words, name))
        else:
            yield (*words, name), command


COMMANDS = dict(commands())


@pytest.fixture(scope="module")
def shop(tmp_path_factory):
    """A folder with the files that the examples speak of."""
    folder = tmp_path_factory.mktemp("shop")
    trace = make_trace("to-and-fro", 20.0, 3, size_mm=84.9, bounce_share=0.0)
    rows = [
        f"{t / 1e9:.6f},{n / 1e6:.3f}"
        for t, n in zip(trace.times_ns, trace.readings_nm, strict=True)
    ]
    (folder / "sweep.csv").write_text("\n".join(["t_s,reading_mm", *rows]) + "\n")
    readings = [f"84.0003,{n},{84.0 + n % 2 / 1000:.3f}" for n in range(1, 7)]
    text = "\n".join(["standard_mm,round,reading_mm", *readings]) + "\n"
    (folder / "readings.csv").write_text(text)
    (folder / "code.txt").write_text("4711\n")
    (folder / "passphrase.txt").write_text("a long passphrase\n")
    (folder / "gauge.bin").write_bytes(b"+012.345\r" * 3)
    (folder / "my-engine.toml").write_text(shipped_text("rules", "sheets", "flat-four-85"))
    shutil.copy(HOUSE / "tests/journals/v3.jsonl", folder / "session.jsonl")
    shutil.copy(HOUSE / "tests/sets/01-all-good.toml", folder / "set.toml")
    return folder


def typed(line, capsysbinary, monkeypatch):
    """Type a line as a shell would: `<`, `>` and `>>` are its own; gives code and error text."""
    words, given, kept, mode = [], None, None, "wb"
    split = iter(shlex.split(line))
    for word in split:
        if word == "<":
            given = Path(next(split))
        elif word in {">", ">>"}:
            kept, mode = Path(next(split)), "ab" if word == ">>" else "wb"
        else:
            words.append(word)
    assert words[0] == "barrelfit"
    capsysbinary.readouterr()
    with (given or Path("/dev/null")).open("rb") as stdin:
        monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(stdin, encoding="utf-8"))
        code = run_cli(words[1:])
    said = capsysbinary.readouterr()
    if kept is not None:
        with kept.open(mode) as file:
            file.write(said.out)
    return code, (said.out + said.err).decode(errors="replace")


@pytest.mark.parametrize("words", COMMANDS, ids=" ".join)
def test_every_command_has_an_example(words):
    lines = examples_in(COMMANDS[words].help)
    assert lines
    assert all(line.startswith("barrelfit ") for line in lines)
    assert any(line.split()[1 : 1 + len(words)] == list(words) for line in lines)


def test_every_command_is_for_a_task():
    assert {c.rich_help_panel for c in typer.main.get_command(app).commands.values()} == set(TASKS)


@pytest.mark.slow
@pytest.mark.parametrize("words", [w for w in COMMANDS if w[0] not in PARSED_ONLY], ids=" ".join)
def test_the_example_runs(words, shop, capsysbinary, monkeypatch):
    monkeypatch.chdir(shop)
    monkeypatch.setenv("HOME", str(shop))
    for line in examples_in(COMMANDS[words].help):
        code, said = typed(line, capsysbinary, monkeypatch)
        assert code in FOUND_OR_FINE, f"{line}\n{said}"
        assert "Traceback" not in said


@pytest.mark.parametrize("words", [w for w in COMMANDS if w[0] in PARSED_ONLY], ids=" ".join)
def test_the_example_can_be_typed(words):
    command = COMMANDS[words]
    for line in examples_in(command.help):
        typed_words = shlex.split(line)[1:]
        assert typed_words[: len(words)] == list(words)
        command.make_context(" ".join(words), typed_words[len(words) :])
