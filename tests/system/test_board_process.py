"""The board as a process: who may listen, what it says when it can't start, how it ends.

And its part in overrides: the form, the proof on the bus, the answer, the verdict beside it.
"""

# ruff: noqa: F811  fixtures are imported by their names

import json
import subprocess
import sys

import pytest

from barrelfit.acquire.bench.override_desk import OverrideDesk
from barrelfit.acquire.bus.payloads import ENCODE
from barrelfit.acquire.inputs.leads import HashCosts, enrol
from barrelfit.acquire.journal.events import SessionOpened
from barrelfit.rules.events import Judged
from barrelfit.rules.model import Finding, Severity, Verdict
from barrelfit.rules.said import written
from tests.dashboard.scripted import place
from tests.system.board_browser import (
    bench,  # noqa: F401
    open_bench,
    page,  # noqa: F401
    rig,  # noqa: F401
    wait_text,
)
from tests.system.board_rig import BoardProcess, wait_for
from tests.system.patience import PATIENCE_S
from tests.system.ports import free_port

pytestmark = [pytest.mark.system, pytest.mark.slow, pytest.mark.timeout(300)]


# ---------------------------------------------------------------- the process


def test_a_page_of_another_site_gets_no_live_data(rig, bench):
    websockets = pytest.importorskip("websockets.sync.client")
    url = rig.board.url.replace("http", "ws", 1) + f"/live/bench/{bench.bench}"
    with websockets.connect(url) as own:
        assert "figure" in json.loads(own.recv())
    with pytest.raises(Exception, match="403"):
        websockets.connect(url, additional_headers={"Origin": "http://elsewhere.example"})


def test_a_taken_port_is_one_sentence_and_exit_2(rig):
    command = [sys.executable, "-m", "barrelfit.dashboard", "--port", str(rig.board.port)]
    done = subprocess.run(command, capture_output=True, timeout=PATIENCE_S, check=False)  # noqa: S603
    assert done.returncode == 2
    assert done.stdout == b""
    lines = done.stderr.decode().strip().splitlines()
    assert len(lines) == 1
    assert str(rig.board.port) in lines[0]


@pytest.mark.parametrize("how", ["stdin", "terminate"])
def test_the_board_ends_when_told(tmp_path, how):
    board = BoardProcess(free_port(), tmp_path)  # and it starts without a broker
    if how == "stdin":
        board.child.stdin.close()
        board.child.wait(PATIENCE_S)
    board.stop()
    assert board.child.returncode in {0, -15, 143}
    assert "Streamlit" not in board.errors  # it has nothing to say that is ours


# ---------------------------------------------------------------- overrides, end to end


WORDS = "seven grey pistons"


class Desk:
    """A daemon's desk on the bus, for one scripted bench."""

    def __init__(self, rig, bench):
        lead = enrol("R. Lead", WORDS, bytes(16), HashCosts(1, 8_192, 1))
        numbers = iter(range(1_000))
        self.desk = OverrideDesk(bench.session, {"R. Lead": lead}, lambda: f"n{next(numbers)}")
        self.desk.hear(
            1, SessionOpened(bench.session, "b", "Kim", "", "", "", "", "", "", "", {}, 1.65)
        )
        self.rig, self.bench, self.heard, self.events = rig, bench, [], []
        topic = bench.topic("command")
        rig.publisher.client.message_callback_add(topic, self._take)
        rig.publisher.client.subscribe(topic, 1)

    def judge(self, about):
        found = Finding(
            "X1", Severity.UNDECIDED, about, written("too near its limit"), 1, 2, written("sheet")
        )
        self.desk.hear(
            self.bench.seq, Judged(about, Verdict.UNDECIDED, (found,), written("measure again"))
        )
        plain = {
            "code": "X1", "severity": 1, "about": about, "sentence": "too near its limit",
            "value_nm": 1, "limit_nm": 2, "limit_from": "sheet", "advice": "",
        }  # fmt: skip
        self.rig.say(
            self.bench.batch(self.bench.judged(about, "undecided", [plain], "measure again"))
        )

    def _take(self, _client, _data, message):
        self.heard.append(message.payload)
        answer, event = self.desk.take(message.payload, 0, 0.0)
        if event is not None:
            self.events.append(event)
            kind = {"Overridden": "overridden", "OverrideAsked": "override_asked"}.get(
                type(event).__name__, "override_refused"
            )
            data = {name: getattr(event, name) for name in event.__struct_fields__}
            self.rig.say(self.bench.batch(self.bench.event(kind, data)))
        self.rig.publisher.client.publish(self.bench.topic("answer"), ENCODE(answer), qos=1)


def fill(page, who, words):
    page.get_by_label("Lead's name").fill(who)
    page.get_by_label("Reason").first.fill("measured again by hand, same ring")
    page.get_by_label("Passphrase", exact=True).fill(words)
    page.get_by_label("Passphrase", exact=True).press("Tab")
    page.get_by_role("button", name="Sign and send").click()


def test_an_override_is_signed_recorded_and_shown_beside_the_verdict(rig, page, bench):
    desk = Desk(rig, bench)
    desk.judge("P1")
    page.goto(f"{rig.board.url}/override?id={bench.bench}&about=P1")
    page.get_by_text("too near its limit").wait_for()
    fill(page, "R. Lead", "seven gray pistons")
    page.get_by_text("the passphrase does not fit").wait_for()
    fill(page, "R. Lead", WORDS)
    page.get_by_text("Recorded by the bench.").wait_for()
    assert [type(event).__name__ for event in desk.events] == ["OverrideRefused", "Overridden"]
    assert all(WORDS.encode() not in payload for payload in desk.heard)

    open_bench(rig, page, bench)
    rig.say(bench.batch(bench.sized(place("P1", "skirt"), 84_000_000, [])))
    wait_text(page, "[data-id=answer] .word", "UNDECIDED")  # the rules' own verdict stays
    wait_text(page, "[data-id=answer]", "R. Lead decided SERVICEABLE")
    wait_text(page, "[data-id=parts]", "lead: SERVICEABLE")

    rig.publisher.client.publish(bench.topic("command"), desk.heard[-1], qos=1)  # a third client
    wait_for(lambda: len(desk.events) == 3, "the replayed command")
    assert desk.events[-1].code == "stale"


def test_a_request_to_the_lead_heads_the_queue(rig, page, bench):
    desk = Desk(rig, bench)
    desk.judge("P1")
    page.goto(f"{rig.board.url}/override?id={bench.bench}&about=P1")
    page.get_by_label("Your name").fill("Kim")
    page.get_by_label("Reason").last.fill("the customer wants to keep it")
    page.get_by_role("button", name="Send to the lead").click()
    page.get_by_text("Recorded by the bench.").wait_for()
    page.goto(f"{rig.board.url}/floor")
    wait_text(page, f"[data-key='{bench.bench}/P1']", "Kim asks: the customer wants to keep it")
