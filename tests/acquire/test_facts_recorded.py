"""Facts in a session's record: redo, report, what-if, index, export and set file know each."""

import json
from importlib.metadata import version

import pytest
from sqlalchemy import select

from barrelfit.acquire.cli import run_cli
from barrelfit.acquire.index.search import earlier_sizes
from barrelfit.acquire.index.store import Store
from barrelfit.acquire.index.tables import FACTS, PARTS
from barrelfit.acquire.inputs.set_now import set_text_of
from barrelfit.acquire.inputs.setup import setup_of
from barrelfit.acquire.journal.session import Session
from barrelfit.acquire.redo.redo_journal import redo_session
from barrelfit.acquire.redo.what_if import answers, as_recorded
from barrelfit.acquire.report.from_session import session_lines
from barrelfit.acquire.said_json import texts
from barrelfit.rules.events import EntryMade
from barrelfit.rules.model import FeatureId
from barrelfit.rules.told import FactTold
from tests.acquire.recorded import Recording, opening

SMITH, JONES = "A. Smith", "B. Jones"


def tell(recording, place, value, unit="", who=SMITH, **more):
    recording.t_ns += 1_000_000_000
    at = FeatureId(*place.split("/"))
    recording.input(FactTold(recording.t_ns, at, value, unit, who=who, **more))


def typed_through(recording, most=400):
    for number in range(most):
        at = recording.asked.at
        if at is None:
            return
        mm = f"84.9{16 + 3 * int(at.part[1:])}" if at.feature == "skirt" else "85.010"
        recording.t_ns += 1_000_000
        recording.input(EntryMade(number, at, mm, "mm", SMITH))


@pytest.fixture(scope="module")
def told(tmp_path_factory):
    """A set measured by hand, with facts: one scored, one that two people see otherwise."""
    path = tmp_path_factory.mktemp("told") / "bench1-20261125T010203Z.jsonl"
    recording = Recording(path, opening(code_version=version("barrelfit")))
    tell(recording, "P1/looked", "good")
    tell(recording, "P2/looked", "good")
    tell(recording, "P4/serial", "K-104")
    typed_through(recording)
    tell(recording, "B1/looked", "good")
    tell(recording, "B1/looked", "scored-bore", who=JONES, why="dropped after measuring")
    tell(recording, "P2/looked", "cracked", who=JONES)  # held: nobody knows which is right
    tell(recording, "P3/mass_g", "512", "g", by="gauge")
    recording.close("done")
    return path


def verdicts(lines):
    return {p["part"]: p["verdict"] for p in lines if p["kind"] == "part"}


def test_a_redo_finds_the_same(told):
    redone = redo_session(Session.open(told))
    assert redone.difference is None
    assert redone.is_same


def test_the_report_tells_each_with_who_said_it(told):
    lines = texts(session_lines(str(told)))
    facts = {(f["at"], f["value"]): f for f in lines if f["kind"] == "fact"}
    scored = facts["B1/looked", "scored-bore"]
    assert (scored["who"], scored["before"], scored["stands"]) == (JONES, "good", True)
    assert scored["why"] == "dropped after measuring"
    assert not facts["B1/looked", "good"]["stands"]
    assert facts["P3/mass_g", "512"]["by"] == "gauge"
    assert "good" in facts["P2/looked", "cracked"]["open"]
    found = verdicts(lines)
    assert (found["P1"], found["P2"], found["B1"]) == ("serviceable", "undecided", "rework")
    assert not next(line for line in lines if line["kind"] == "set")["notes"] or all(
        "today's rules" not in note
        for note in next(line for line in lines if line["kind"] == "set")["notes"]
    )


def test_the_report_is_made(told, tmp_path, capsys):
    made = tmp_path / "report.html"
    assert run_cli(["report", str(told), "-o", str(made)]) == 0
    text = made.read_text(encoding="utf-8")
    assert "What was told at the bench" in text
    assert "dropped after measuring" in text
    assert "NOT TAKEN" in text


def test_a_what_if_without_a_change_gives_the_recorded_verdicts(told):
    recorded = as_recorded(Session.open(told).records())
    found = answers(recorded, setup_of(recorded.opening))
    assert [a.about for a in found if a.changed] == []


def test_the_index_knows_each(told):
    store = Store(told.parent / "index.sqlite")
    try:
        assert store.take(told)
        rows = store.rows(select(FACTS).where(FACTS.c.part == "B1"))
        assert [(r["value"], r["who"], r["stands"]) for r in rows] == [
            ("good", SMITH, False),
            ("scored-bore", JONES, True),
        ]
        parts = store.rows(select(PARTS).where(PARTS.c.serial == "K-104"))
        assert [r["part"] for r in parts] == ["P4"]
    finally:
        store.close()


def test_a_part_from_the_shelf_has_its_earlier_sizes_as_history(told):
    store = Store(told.parent / "history.sqlite")
    try:
        store.take(told)
        session = Session.open(told).opening().session
        rows = earlier_sizes(store, "K-104", "another session")
        assert {(r["part"], r["feature"]) for r in rows} == {("P4", "skirt")}
        assert rows[0]["size_nm"] == 84_928_000
        assert earlier_sizes(store, "K-104", session) == []  # its own sizes are no history
        assert earlier_sizes(store, "K-10", "") == []  # the whole number
    finally:
        store.close()


def test_they_are_exported(told, tmp_path, capsys):
    out = tmp_path / "facts.csv"
    assert run_cli(["export", str(told), "--table", "facts", "-o", str(out)]) == 0
    text = out.read_text(encoding="utf-8")
    assert "B1,looked,,,scored-bore,good,B. Jones,board,dropped after measuring,taken" in text
    assert ",cracked,good,B. Jones," in text


def test_the_set_file_of_the_session_is_judged_the_same(told, tmp_path, capsys):
    out = tmp_path / "set.toml"
    assert run_cli(["export", str(told), "--table", "set", "-o", str(out)]) == 0
    capsys.readouterr()
    assert run_cli(["judge", str(out), "--sheet", "flat-four-85", "--json"]) in {0, 1}
    said = capsys.readouterr()
    by_file = [json.loads(line) for line in said.out.splitlines()]
    by_session = json.loads(json.dumps(texts(session_lines(str(told)))))
    assert verdicts(by_file) == verdicts(by_session)
    for kind in ("size", "part", "clearance", "pairing", "rework"):
        ours = [line for line in by_session if line["kind"] == kind]
        theirs = [line for line in by_file if line["kind"] == kind]
        assert [_bare(line) for line in theirs] == [_bare(line) for line in ours], kind


def _bare(line):
    """A line without what only a session knows of it."""
    own = {"passes", "estimator", "rank"}
    return {k: _texts_alone(v) for k, v in line.items() if k not in own and "_said" not in k}


def _texts_alone(value):
    if isinstance(value, list):
        return [_texts_alone(one) for one in value]
    return _bare(value) if isinstance(value, dict) else value


def test_the_set_file_is_the_same_when_it_is_written_again(told):
    text = set_text_of(Session.open(told).records())
    assert text == set_text_of(Session.open(told).records())
    assert "[[open]]" in text
