"""Facts that the plan asked for, in a session's record: redo, state, report, set file know them."""

from importlib.metadata import version

import pytest

from barrelfit.acquire.cli import run_cli
from barrelfit.acquire.fold.handlers import take
from barrelfit.acquire.fold.state import SessionState
from barrelfit.acquire.inputs.set_now import set_text_of
from barrelfit.acquire.inputs.setup import setup_of
from barrelfit.acquire.journal.job_events import SignedOn
from barrelfit.acquire.journal.session import Session
from barrelfit.acquire.redo.other_version import Steered
from barrelfit.acquire.redo.redo_journal import redo_session
from barrelfit.acquire.redo.what_if import answers, as_recorded
from barrelfit.acquire.report.from_session import session_lines
from barrelfit.acquire.said_json import texts
from barrelfit.rules.bench.phases import ToTell
from barrelfit.rules.bench.step import begin
from barrelfit.rules.events import EntryMade, PedalPressed, Wanted
from barrelfit.rules.model import FeatureId
from barrelfit.rules.told import FactTold
from tests.acquire.recorded import SET, Recording, opening

SMITH, JONES, PEDAL = "A. Smith", "B. Jones", "usb:1209:0002"
LEAF = "P1/feeler/top/0.12 new"
STEPS = SET.replace(
    'left_out = ["looked-at", "rings", "pins",',
    'steps = ["look", "rings"]\nleft_out = ["pins",',
)


def press(recording, action="next", after_ns=2_000_000_000):
    recording.t_ns += after_ns
    recording.input(PedalPressed(recording.t_ns, action, device=PEDAL))


def tell(recording, value, who=SMITH):
    """What is asked for is answered on the board."""
    recording.t_ns += 2_000_000_000
    phase = recording.bench.phase
    assert isinstance(phase, ToTell)
    told = FactTold(recording.t_ns, phase.ask.at, value, who=who, ask=phase.number)
    recording.input(told)


@pytest.fixture(scope="module")
def path(tmp_path_factory):
    """Looks by the pedal, one taken back; a size between; two places of a leaf, and an end."""
    path = tmp_path_factory.mktemp("way") / "bench1-20261125T010203Z.jsonl"
    text = STEPS.format(job="job-7", serial="K-100")
    recording = Recording(path, opening(code_version=version("barrelfit"), set_text=text))
    press(recording)
    recording.input(SignedOn(JONES, "board"))
    press(recording)
    press(recording, "undo")
    press(recording, after_ns=100_000_000)  # nobody can have read it
    tell(recording, "scored-skirt")
    for _ in range(6):
        press(recording)
    recording.t_ns += 1
    skirt = FeatureId("P1", "skirt")
    recording.input(EntryMade(recording.t_ns, skirt, "84.936", "mm", SMITH))
    recording.input(Wanted(recording.t_ns, FeatureId(*LEAF.split("/")), SMITH))
    for action in ("next", "next", "again", "undo"):
        press(recording, action)
    recording.close("stopped")
    return path


def state_of(path):
    state = SessionState()
    for record in Session.open(path).records():
        take(state, record)
    return state


def test_a_redo_finds_the_same(path):
    redone = redo_session(Session.open(path))
    assert redone.difference is None
    assert redone.is_same
    assert redone.open == 0


def test_an_undo_of_a_fact_takes_no_size_back(path):
    state = state_of(path)
    assert [str(at) for at in state.sizes] == ["P1/skirt"]
    assert state.undos == []
    stands = {str(at): stood.event for at, stood in state.facts_standing.items()}
    assert (stands["P1/looked"].who, stands["P1/looked"].by) == (SMITH, "pedal")
    assert (stands["P2/looked"].value, stands["P2/looked"].by) == ("scored-skirt", "board")
    assert stands["P3/looked"].who == JONES
    assert stands[LEAF].value == "out, out"


def test_the_report_tells_each_with_who_said_it_and_by_which_means(path):
    lines = texts(session_lines(str(path)))
    facts = [(f["at"], f["value"], f["who"], f["by"]) for f in lines if f["kind"] == "fact"]
    assert ("P1/looked", "good", SMITH, "pedal") in facts
    assert (LEAF, "out, out, in", JONES, "pedal") in facts
    verdicts = {p["part"]: p["verdict"] for p in lines if p["kind"] == "part"}
    assert verdicts["P2"] == "discard"


def test_a_what_if_without_a_change_gives_the_recorded_verdicts(path):
    recorded = as_recorded(Session.open(path).records())
    found = answers(recorded, setup_of(recorded.opening))
    assert [a.about for a in found if a.changed] == []


def test_its_set_file_asks_for_the_same_steps_and_has_the_leaf(path, tmp_path, capsys):
    text = set_text_of(Session.open(path).records())
    assert 'steps = ["look", "rings"]' in text
    assert "went_in = [false, false]" in text
    out = tmp_path / "facts.csv"
    assert run_cli(["export", str(path), "--table", "facts", "-o", str(out)]) == 0
    assert f"{JONES},pedal" in out.read_text(encoding="utf-8")


def test_an_answer_in_a_session_of_another_version_answers_what_was_asked_then():
    """Today's rules count their asks themselves; which number it was then says nothing now."""
    text = STEPS.format(job="job-7", serial="K-100")
    bench, found = begin(setup_of(opening(set_text=text)))
    at = FeatureId("P1", "looked")
    steered = Steered(bench, at, found)
    steered.hear(FactTold(3_000_000_000, at, "good", who=SMITH, ask=77))
    assert steered.bench.setup.engine.part("P1").looked == ("good",)
