"""`-` is standard input or output wherever a command reads or writes a file."""

import io
import json
import sys
from pathlib import Path

import pytest

from barrelfit.acquire.cli import run_cli
from barrelfit.acquire.inputs.shelf import shipped_text

HOUSE = Path(__file__).resolve().parents[2]
SESSION = HOUSE / "tests/journals/v3.jsonl"
SET = HOUSE / "tests/sets/01-all-good.toml"
TRACE = b"t_s,reading_mm\n0.00,84.000\n0.05,84.001\n"


@pytest.fixture
def piped(monkeypatch, capsysbinary, tmp_path):
    """Runs a command with bytes on standard input; gives code, output and errors."""
    monkeypatch.chdir(tmp_path)

    def run(given, *words):
        monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(given), encoding="utf-8"))
        capsysbinary.readouterr()
        code = run_cli(list(words))
        said = capsysbinary.readouterr()
        return code, said.out, said.err.decode()

    return run


def same(piped, path, *words):
    """What a command says of a file and of the same content on standard input is the same."""
    of_file = piped(b"", *(str(path) if word == "-" else word for word in words))
    of_input = piped(path.read_bytes(), *words)
    assert of_input == of_file
    return of_input


def test_a_set_is_judged_from_standard_input(piped):
    code, out, _ = same(piped, SET, "judge", "-", "--sheet", "flat-four-85", "--json")
    assert code in {0, 1}
    assert json.loads(out.splitlines()[0])["kind"] == "set"


def test_a_sheet_is_judged_by_and_checked_from_standard_input(piped, tmp_path):
    sheet = tmp_path / "my.toml"
    sheet.write_text(shipped_text("rules", "sheets", "flat-four-85"))
    same(piped, sheet, "judge", str(SET), "--sheet", "-")
    same(piped, sheet, "sheet", "blank", "-")
    code, out, _ = piped(sheet.read_bytes(), "sheet", "check", "-")
    assert (code, out.startswith(b"standard input: ")) == (0, True)
    code, _, err = piped(b"a = 1\nb = 7x\n", "sheet", "check", "-")
    assert code == 2
    assert err.startswith("barrelfit: standard input:2: ")
    code, _, err = piped(b"\xff", "sheet", "check", "-")
    assert (code, err) == (2, "barrelfit: standard input: not UTF-8 text (byte 0)\n")


def test_one_input_is_not_read_as_two_files(piped):
    assert piped(b"", "judge", "-", "--sheet", "-")[0] == 2
    assert piped(TRACE, "size", "-", "-", "--gauge", "screw")[0] == 2
    assert piped(b"", "replay", "-", "--step")[0] == 2
    assert piped(b"", "sign", "-", "--key", "owner.pem")[0] == 2


@pytest.mark.slow
def test_a_session_is_read_from_standard_input(piped):
    for words in (
        ["replay", "-"],
        ["budget", "-", "--json"],
        ["export", "-", "-o", "-"],
        ["report", "-", "-o", "-"],
        ["verify", "-", "--json"],
    ):
        path_free = [w.replace(b"standard-input.jsonl", b"v3.jsonl") for w in _outs(piped, words)]
        assert path_free[0] == path_free[1]
        assert path_free[0]


def _outs(piped, words):
    named = [str(SESSION) if word == "-" and n == 1 else word for n, word in enumerate(words)]
    return piped(SESSION.read_bytes(), *words)[1], piped(b"", *named)[1]


@pytest.mark.slow
def test_a_table_and_a_report_go_to_standard_output(piped, tmp_path):
    piped(b"", "export", str(SESSION), "-o", "readings.csv")
    _, out, _ = piped(b"", "export", str(SESSION), "-o", "-")
    assert out == (tmp_path / "readings.csv").read_bytes()
    _, out, _ = piped(b"", "report", str(SESSION), "-o", "-", "--pdf")
    assert out.startswith(b"%PDF")
    assert piped(b"", "report", str(SESSION), "-o", "r.html", "--pdf")[0] == 2
    _, _, result = same(piped, SET, "judge", "-", "--sheet", "flat-four-85", "--json")
    assert not result


def test_a_trace_and_its_picture_go_through_pipes(piped):
    code, out, err = piped(TRACE, "size", "-", "--gauge", "following", "--picture", "-")
    assert code == 1
    assert out.startswith(b"<svg")
    assert "standard input" in err


def test_readings_on_standards_come_from_standard_input(piped):
    text = "standard_mm,round,reading_mm\n" + "84.0003,1,84.000\n84.0003,2,84.001\n" * 3
    code, out, _ = piped(text.encode(), "setting", "-", "--standard", "ring", "--u-um", "0.8")
    assert code in {0, 1}
    assert b"[gauge.setting]" in out
    code, _, err = piped(b"nothing", "setting", "-", "--standard", "ring", "--u-um", "0.8")
    assert (code, err.startswith("barrelfit: standard input:1: ")) == (2, True)


def test_on_a_fresh_machine_there_are_no_sessions_yet(piped, monkeypatch, tmp_path):
    monkeypatch.setenv("HOME", str(tmp_path))
    code, out, err = piped(b"", "find")
    assert (code, out) == (1, b"")
    assert err.startswith("no sessions yet")
    (tmp_path / "kept").mkdir()
    assert piped(b"", "find", "--folder", "kept")[2].startswith("no sessions yet")
    code, _, err = piped(b"", "find", "--folder", "nowhere")
    assert (code, "no such folder" in err) == (2, True)
