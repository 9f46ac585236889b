"""The commands on recorded sessions, as a user meets them; and a dispute acted through."""

import json

import pytest

from barrelfit.acquire.cli import run_cli
from barrelfit.acquire.inputs.shelf import shipped_text
from barrelfit.acquire.journal.session import Session
from tests.acquire.recorded import SHEET, opening, record_set

pytestmark = pytest.mark.slow  # a whole set is recorded


@pytest.fixture
def journal(whole_set, tmp_path):
    path = tmp_path / whole_set.name
    path.write_bytes(whole_set.read_bytes())
    return path


def run(capsys, *arguments):
    """Exit code, lines of standard output, text of standard error."""
    code = run_cli([str(a) for a in arguments])
    said = capsys.readouterr()
    return code, said.out.splitlines(), said.err


def test_verify_says_whole_with_the_head_hash(journal, capsys):
    code, lines, _ = run(capsys, "verify", journal)
    assert code == 0
    assert lines[0] == f"WHOLE  {journal.name}"
    code, (line,), _ = run(capsys, "verify", journal, "--json")
    found = json.loads(line)
    assert (code, found["outcome"]) == (0, "whole")
    assert any(found["head_hash"] in text for text in lines)
    assert run(capsys, "verify", journal, "--head", found["head_hash"])[0] == 0
    assert run(capsys, "verify", journal, "--head", "0" * 64)[0] == 1


def test_verify_names_the_altered_line(journal, capsys):
    text = journal.read_bytes().splitlines(keepends=True)
    text[99] = text[99].replace(b"84", b"85", 1)
    journal.write_bytes(b"".join(text))
    code, lines, _ = run(capsys, "verify", journal)
    assert code == 1
    assert lines[0] == f"ALTERED  {journal.name}, line 100"


def test_verify_tells_torn_from_altered(journal, capsys):
    journal.write_bytes(journal.read_bytes()[:-5])
    code, lines, _ = run(capsys, "verify", journal)
    assert code == 1
    assert lines[0].startswith("TORN")


@pytest.mark.parametrize(
    "arguments",
    [
        ("verify", "nowhere.jsonl"),
        ("replay", "nowhere.jsonl"),
        ("export", "nowhere.jsonl", "-o", "x.csv"),
        ("sign", "nowhere.jsonl", "--key", "no.pem", "--who", "me"),
        ("find", "--folder", "nowhere"),
    ],
)
def test_what_is_not_there_is_one_sentence_and_exit_2(arguments, tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    code, lines, error = run(capsys, *arguments)
    assert (code, lines) == (2, [])
    assert error.count("\n") == 1
    assert "Traceback" not in error


def test_a_folder_that_can_not_be_read_is_named(tmp_path, capsys):
    code, _, error = run(capsys, "verify", tmp_path)
    assert code == 2
    assert "no session" in error


def test_replay_shows_findings_and_on_request_readings(journal, capsys):
    code, lines, _ = run(capsys, "replay", journal)
    assert code == 0
    assert sum("  SIZE " in line for line in lines) == 29
    assert any("VERDICT P2: discard" in line for line in lines)
    code, more, _ = run(capsys, "replay", journal, "--show", "--readings", "--json")
    records = [json.loads(line) for line in more]
    assert len(records) == len(list(Session.open(journal).records()))
    assert records[0]["kind"] == "session_opened"


def test_replay_redo(journal, capsys):
    code, lines, _ = run(capsys, "replay", journal, "--redo")
    assert code == 0
    assert lines[-1].startswith("REDO EQUAL: 29 sizes")
    code, (line,), _ = run(capsys, "replay", journal, "--redo", "--json")
    assert json.loads(line)["equal"] is True


def test_replay_redo_across_a_changed_rule_exits_1(journal, capsys, monkeypatch):
    monkeypatch.setattr("barrelfit.acquire.redo.redo.step", lambda bench, event: (bench, ()))
    code, lines, _ = run(capsys, "replay", journal, "--redo")
    assert code == 1
    assert "REDO DIFFERS" in "\n".join(lines)
    assert any(line.strip().startswith("recorded:") for line in lines)


@pytest.mark.parametrize(
    "options",
    [
        ("--show", "--redo"),
        ("--what-if",),
        ("--variant", "late"),
        ("--redo", "--guard-factor", "2"),
        ("--what-if", "--guard-factor", "-1"),
        ("--what-if", "--sheet", "nonsense"),
        ("--what-if", "--variant", "nonsense"),
    ],
)
def test_options_that_do_not_fit_are_refused(journal, capsys, options):
    code, _, error = run(capsys, "replay", journal, *options)
    assert code == 2
    assert "Traceback" not in error


def test_a_damaged_journal_is_not_replayed(journal, capsys):
    journal.write_bytes(journal.read_bytes().replace(b"84.9", b"84.8", 1))
    for option in ("--show", "--redo"):
        code, _, error = run(capsys, "replay", journal, option)
        assert code == 2
        assert "its checksum does not fit" in error


def test_find_lists_and_rebuilds(journal, capsys):
    folder = journal.parent
    code, lines, _ = run(capsys, "find", "--folder", folder, "--verdict", "discard")
    assert code == 0
    assert [line for line in lines if "P2 (serial K-101): discard" in line]
    code, (line,), _ = run(capsys, "find", "--folder", folder, "--part", "K-101", "--json")
    assert json.loads(line)["about"] == "P2"
    assert run(capsys, "find", "--folder", folder, "--part", "K-101", "--rebuild")[0] == 0
    assert run(capsys, "find", "--folder", folder, "--job", "unknown")[0] == 1
    assert run(capsys, "find", "--folder", folder, "--verdict", "nice")[0] == 2


def test_find_names_a_damaged_journal(journal, capsys):
    record_set(journal.parent, opening(session="other"), features=1)
    journal.write_bytes(journal.read_bytes().replace(b"84.9", b"84.8", 1))
    code, lines, error = run(capsys, "find", "--folder", journal.parent)
    assert code == 1
    assert lines
    assert journal.name in error


def test_export(journal, tmp_path, capsys):
    for name in ("r.csv", "r.parquet"):
        code, (line,), _ = run(capsys, "export", journal, "-o", tmp_path / name, "--table", "sizes")
        assert (code, line) == (0, f"{tmp_path / name}: 29 rows of sizes")
    assert run(capsys, "export", journal, "-o", tmp_path / "r.txt")[0] == 2


def test_sign(journal, tmp_path, capsys):
    key = tmp_path / "owner.pem"
    assert run(capsys, "sign", "--key", key, "--make-key")[0] == 0
    assert run(capsys, "sign", "--key", key)[0] == 2
    assert run(capsys, "sign", journal, "--key", key)[0] == 2
    code, lines, _ = run(capsys, "sign", journal, "--key", key, "--who", "B. Jones")
    assert code == 0
    code, said, _ = run(capsys, "verify", journal, "--key", f"{key}.pub")
    assert code == 0
    assert any(line.strip() == "signed by B. Jones" for line in said)
    assert lines[0].rsplit(" ", 1)[1] in "\n".join(said)
    assert run(capsys, "replay", journal, "--redo")[0] == 0


def test_an_open_session_is_not_signed(tmp_path, capsys):
    path = record_set(tmp_path, opening(session="open"), features=1, how="")
    key = tmp_path / "owner.pem"
    run(capsys, "sign", "--key", key, "--make-key")
    code, _, error = run(capsys, "sign", path, "--key", key, "--who", "B. Jones")
    assert code == 2
    assert "not closed" in error


def test_a_dispute_months_later(journal, tmp_path, capsys):
    """The customer of piston K-101 says: it was good, and you changed the record."""
    folder = journal.parent
    _, (line,), _ = run(capsys, "find", "--folder", folder, "--part", "K-101", "--json")
    row = json.loads(line)
    path = folder / row["file"]
    assert run(capsys, "verify", path, "--head", row["head_hash"])[0] == 0
    _, lines, _ = run(capsys, "replay", path)
    assert any("SIZE P2/skirt: 84.8" in line for line in lines)
    assert run(capsys, "replay", path, "--redo")[0] == 0
    late = ("--what-if", "--variant", "late", "--group", "I")
    code, lines, _ = run(capsys, "replay", path, *late)
    assert lines[0].startswith("WHAT IF variant late, group I: not the session's verdicts")
    assert any("P2: discard -> discard" in line for line in lines)
    sheet = tmp_path / "kind.toml"
    text = shipped_text("rules", "sheets", SHEET).replace("wear_max = 0.080", "wear_max = 0.100")
    sheet.write_text(text, encoding="utf-8")
    code, lines, _ = run(capsys, "replay", path, "--what-if", "--sheet", sheet)
    assert code == 1
    assert any(line.startswith("* P2: discard -> serviceable") for line in lines)
    assert run(capsys, "verify", path, "--head", row["head_hash"])[0] == 0
