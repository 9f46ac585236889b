"""A personal code at sign-on: proved and never sent; a name that has one tells nothing without."""

import contextlib
import json

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st

from barrelfit.acquire.bench.command_desk import CommandDesk, Moment
from barrelfit.acquire.bench.override_desk import OverrideDesk
from barrelfit.acquire.bench.proving import WRONG_MAX, WRONG_NS
from barrelfit.acquire.bench.sign_on_desk import SignOnDesk
from barrelfit.acquire.bus.payloads import ANSWERS, ENCODE
from barrelfit.acquire.bus.proof import Doorkeeper, new_key, seal
from barrelfit.acquire.errors import UserError
from barrelfit.acquire.fold.handlers import take
from barrelfit.acquire.fold.state import SessionState
from barrelfit.acquire.inputs.leads import HashCosts, enrol
from barrelfit.acquire.inputs.people import known_by, load_people, people_from, person_text
from barrelfit.acquire.journal.codec import decode
from barrelfit.acquire.journal.events import SessionResumed
from barrelfit.acquire.journal.job_events import SignedOn
from barrelfit.acquire.journal.recorder import JustRecorded
from barrelfit.acquire.report.told import _who
from barrelfit.dashboard.pages.entry import fact_command, job_command, pedal_command
from barrelfit.dashboard.pages.override import sign_on
from barrelfit.rules.events import PedalPressed
from barrelfit.rules.model import FeatureId
from barrelfit.rules.told import FactTaken
from tests.spoken import problems_of, text_of

SMITH, CODE = "A. Smith", "4711"
CHEAP = HashCosts(1, 8_192, 1)
PERSON = enrol(SMITH, CODE, bytes(16), CHEAP, least=4)
S = 1_000_000_000


class Bench:
    """A desk behind its door, as the board meets it over the bus."""

    def __init__(self, device="board"):
        self.key, self.device = new_key(), device
        numbers = iter(range(10**6))
        self.desk = CommandDesk(
            OverrideDesk("s", {}, lambda: "n"),
            Doorkeeper("b", {device: self.key}),
            job_problem=lambda _: None,
            people=SignOnDesk({known_by(SMITH): PERSON}, lambda: f"nonce-{next(numbers)}"),
        )
        self.now_ns = S
        self.events, self.sent = [], []

    def ask(self, command):
        self.now_ns += 1_000
        self.sent.append(command)
        payload = seal(self.key, "barrelfit/b/command", json.dumps(command).encode(), self.now_ns)
        taken = self.desk.take(payload, Moment(self.now_ns, self.now_ns, 0.0), is_own=True)
        if taken.event is not None:
            self.events.append(taken.event)
            self.desk.hear(len(self.events), taken.event)
        return ANSWERS.decode(ENCODE(taken.answer))

    def signs_on(self, who, code=""):
        return sign_on(who, code, f"r{len(self.sent)}", self.ask)


def test_a_name_without_a_code_is_a_statement_as_before():
    bench = Bench()
    assert bench.signs_on("B. Jones").ok
    assert bench.signs_on("B. Jones", "0000").ok  # nothing to prove it with
    assert bench.events == [SignedOn("B. Jones", "board")] * 2


def test_a_name_with_a_code_is_proved_and_the_code_never_sent():
    bench = Bench()
    assert bench.signs_on(SMITH, CODE).ok
    assert bench.events == [SignedOn(SMITH, "board", proven=True)]
    assert CODE not in json.dumps(bench.sent)


@pytest.mark.parametrize("who", [SMITH, "a. smith", " A.  SMITH "])
def test_such_a_name_is_none_without_its_code(who):
    bench = Bench()
    for code in ("", "4712"):
        assert not bench.signs_on(who, code).ok
    assert not bench.events


@pytest.mark.parametrize(
    "command",
    [
        lambda who: fact_command("x", FeatureId("P1", "looked"), "good", "", who=who),
        lambda who: pedal_command("x", "undo", who),
        lambda who: job_command("x", "pause", who),
    ],
)
def test_nobody_else_tells_in_that_name(command):
    bench = Bench()
    bench.signs_on("B. Jones")
    assert bench.ask(command(SMITH)).code == "code"
    bench.signs_on(SMITH, CODE)
    assert bench.ask({**command(SMITH), "id": "y"}).ok
    bench.signs_on("B. Jones")
    assert bench.ask({**command("a. smith"), "id": "z"}).code == "code"
    assert bench.ask({**command("B. Jones"), "id": "w"}).ok


def test_a_phone_speaks_for_nobody_who_has_a_code():
    bench = Bench()
    bench.signs_on(SMITH, CODE)
    told = fact_command("x", FeatureId("P1", "looked"), "good", "", who=SMITH)
    assert bench.ask({**told, "by": "phone"}).code == "code"


def test_the_pedal_goes_on():
    bench = Bench()
    assert bench.ask(pedal_command("x", "next", "")).ok
    assert isinstance(bench.events[-1], PedalPressed)


def test_wrong_codes_are_counted_and_the_right_one_waits():
    bench = Bench()
    for _ in range(WRONG_MAX):
        assert "not right" in bench.signs_on(SMITH, "0000").sentence
    assert "five minutes" in bench.signs_on(SMITH, CODE).sentence
    bench.now_ns += WRONG_NS
    assert bench.signs_on(SMITH, CODE).ok


def test_a_proof_is_good_once_and_for_a_minute():
    bench = Bench()
    bench.signs_on(SMITH, CODE)
    (proof,) = [c for c in bench.sent if "proof" in c]
    bench.signs_on("B. Jones")
    assert bench.ask(proof).code == "code"  # sealed anew by somebody who heard it
    late = Bench()
    slow = lambda command: _later(late, command)  # noqa: E731  a board that hangs
    assert not sign_on(SMITH, CODE, "r", slow).ok
    other = Bench()
    assert other.ask(proof).code == "code"


def _later(bench, command):
    bench.now_ns += 61 * S if "proof" in command else 0
    return bench.ask(command)


@given(st.dictionaries(st.sampled_from(["who", "nonce", "proof", "id"]), st.text(max_size=70)))
def test_whatever_is_sent_only_the_code_proves(changes):
    bench = Bench()
    challenge = bench.ask({"kind": "sign_on_challenge", "id": "c", "who": SMITH})
    command = {"kind": "sign_on", "id": "1", "who": SMITH, "nonce": challenge.nonce, "proof": "00"}
    with contextlib.suppress(msgspec.ValidationError):  # an answer for no id
        bench.ask({**command, **changes})
    assert not any(isinstance(e, SignedOn) and e.proven for e in bench.events)
    assert not any(isinstance(e, SignedOn) and known_by(e.who) == known_by(SMITH)
                   for e in bench.events)  # fmt: skip


# ---------------------------------------------------------------- the record


def folded(*events):
    state = SessionState()
    for seq, event in enumerate(events, start=1):
        take(state, JustRecorded(seq, None, event))
    return state


def test_a_fact_is_proved_while_who_told_it_is_signed_on_with_a_code():
    fact = FactTaken(FeatureId("P1", "looked"), "good", who=SMITH)
    proven = SignedOn(SMITH, "board", proven=True)
    assert folded(proven, fact).by_proven == [2]
    assert folded(SignedOn(SMITH), fact).by_proven == []
    assert folded(proven, SignedOn("B. Jones"), fact).by_proven == []
    assert folded(proven, SessionResumed(1), fact).by_proven == []
    assert folded(proven, FactTaken(fact.at, "good", who="B. Jones")).by_proven == []
    assert folded(proven, FactTaken(fact.at, "good", who=SMITH, by="phone")).by_proven == []


def test_the_report_prints_which_is_which():
    line = {"who": SMITH, "by": "board", "proven": True}
    assert _who(line) == "A. Smith (proved by a code)"
    assert _who({**line, "proven": False}) == "A. Smith"


def test_a_sign_on_of_a_version_before_is_a_statement():
    data = b'{"who":"A. Smith","device":"board"}'
    assert decode("signed_on", 1, data) == SignedOn(SMITH, "board")


# ---------------------------------------------------------------- the file


def test_the_file_is_read_as_it_is_printed(tmp_path):
    path = tmp_path / "people.toml"
    path.write_text("schema = 1\n" + person_text(PERSON))
    path.chmod(0o600)
    assert load_people(path) == {known_by(SMITH): PERSON}
    assert load_people(None) == {}
    path.chmod(0o644)
    with pytest.raises(UserError, match="others can read it"):
        load_people(path)


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ("", "must be 1"),
        ("schema = 1\n", "needs a [[person]]"),
        ('schema = 1\n[[person]]\nname = "A"\n', "salt"),
        ("schema = 1\n" + 2 * person_text(PERSON), "twice"),
        ("schema = 1\n" + person_text(PERSON) + 'email = "a@b.example"\n', "email"),
        ("schema = 1\n" + person_text(PERSON).replace("lanes = 1", "lanes = 99"), "lanes"),
    ],
)
def test_what_is_wrong_with_a_file_is_said(text, wanted):
    with pytest.raises(UserError) as refused:
        people_from(text, "people.toml")
    assert any(wanted in problem for problem in problems_of(refused.value)), text_of(refused.value)


def test_a_code_has_four_characters_at_least():
    with pytest.raises(UserError):
        enrol(SMITH, "123", bytes(16), CHEAP, least=4)
