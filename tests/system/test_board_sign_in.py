"""A lead signs in through an identity provider, in a browser, and overrides a verdict."""

import subprocess
import sys
import time

import pytest

from barrelfit.acquire.bench.override_desk import OverrideDesk
from barrelfit.acquire.bus.payloads import ENCODE
from barrelfit.acquire.inputs.leads import Lead
from barrelfit.acquire.inputs.sign_in import sign_in_from
from barrelfit.acquire.journal.events import SessionOpened
from barrelfit.rules.events import Judged
from barrelfit.rules.model import Finding, Severity, Verdict
from barrelfit.rules.said import written
from tests.dashboard.scripted import ScriptedBench
from tests.system.board_rig import (
    BoardProcess,
    Broker,
    Publisher,
    Repeater,
    browser,
    need,
    wait_for,
)
from tests.system.oidc_provider import Identity, sign_in_file
from tests.system.patience import PATIENCE_S
from tests.system.ports import free_port

pytest.importorskip("authlib", reason="authlib is not installed")
pytest.importorskip("httpx", reason="httpx is not installed")
pytestmark = [pytest.mark.system, pytest.mark.slow, pytest.mark.timeout(300)]


class Bench:
    """A scripted bench whose desk takes the word of one board."""

    def __init__(self, publisher, told, name):
        self.script = ScriptedBench(bench=name, session="s1", clock=time.monotonic_ns)
        self.publisher, self.heard, self.events = publisher, [], []
        self.later_s = 0.0
        sign_in, problems = sign_in_from(told, "leads")
        assert problems == []
        numbers = iter(range(1_000))
        leads = {"R. Lead": Lead("R. Lead", subject="sub-1")}
        self.desk = OverrideDesk("s1", leads, lambda: f"n{next(numbers)}", sign_in)
        self.desk.hear(1, SessionOpened("s1", name, "Kim", "", "", "", "", "", "", "", {}, 1.65))
        found = Finding(
            "X1", Severity.UNDECIDED, "P1", written("too near its limit"), 1, 2, written("sheet")
        )
        self.desk.hear(2, Judged("P1", Verdict.UNDECIDED, (found,), written("")))
        plain = {
            "code": "X1", "severity": 1, "about": "P1", "sentence": "too near its limit",
            "value_nm": 1, "limit_nm": 2, "limit_from": "sheet", "advice": "",
        }  # fmt: skip
        publisher.client.message_callback_add(self.script.topic("command"), self.take)
        publisher.client.subscribe(self.script.topic("command"), 1)
        publisher.say(self.script.state())
        publisher.say(self.script.batch(self.script.event("session_opened", {"job": "7"})))
        publisher.say(self.script.batch(self.script.judged("P1", "undecided", [plain])))
        publisher.say(self.script.snapshot())  # retained: the board comes later

    def take(self, _client, _data, message):
        self.heard.append(message.payload)
        answer, event = self.desk.take(message.payload, 0, time.time_ns() / 1e9 + self.later_s)
        if event is not None:
            self.events.append(event)
        self.publisher.client.publish(self.script.topic("answer"), ENCODE(answer), qos=1)


@pytest.fixture(scope="module")
def provider():
    made = Identity()
    yield made
    made.close()


@pytest.fixture(scope="module")
def house(tmp_path_factory, provider):
    """Broker, a board that knows the provider, what a bench needs to know the board; a browser."""
    need("chromium")
    folder, port = tmp_path_factory.mktemp("sign-in"), free_port()
    broker = Broker(folder)
    publisher = Publisher(broker.port)
    file = sign_in_file(folder, provider, f"http://127.0.0.1:{port}")
    command = [sys.executable, "-m", "barrelfit.acquire", "board", "--sign-in", str(file)]
    command += ["--show-key"]
    shown = subprocess.run(command, capture_output=True, timeout=PATIENCE_S, check=True)  # noqa: S603
    board = BoardProcess(broker.port, folder, port, "--sign-in", str(file))
    with browser() as opened:
        yield board, publisher, shown.stdout.decode(), opened
    board.stop()
    publisher.close()
    broker.stop()


@pytest.fixture
def identity(provider):
    """What the provider says of a person; as at first when a test has ended."""
    claims, seconds = dict(provider.claims), provider.seconds
    yield provider
    provider.claims, provider.seconds = claims, seconds


@pytest.fixture
def signed(house, request):
    """A bench of its own for each test, and a browser's page that has never signed in."""
    board, publisher, told, opened = house
    bench = Bench(publisher, told, f"b{len(request.node.name)}")
    beat = Repeater(publisher, bench.script.heartbeat, 0.4)
    context = opened.new_context()
    yield board, bench, context.new_page()
    context.close()
    beat.stop()


def sign_in(page, board, bench):
    """By way of the provider, and back to the verdict it was begun for."""
    verdict = f"{board.url}/override?id={bench.script.bench}&about=P1"
    page.goto(verdict)
    page.get_by_role("button", name="Sign in as a lead").click()
    page.wait_for_url(f"{board.url}/")
    page.wait_for_url(verdict)


def decide(page):
    page.get_by_text("Signed in as r.lead@shop.example").wait_for()
    page.get_by_label("Reason").first.fill("measured again by hand, same ring")
    page.get_by_label("Reason").first.press("Tab")
    page.get_by_role("button", name="Sign and send").click()


def test_a_lead_signs_in_and_overrides_and_nobody_else_can_use_it(signed):
    board, bench, page = signed
    sign_in(page, board, bench)
    decide(page)
    page.get_by_text("Recorded by the bench.").wait_for()
    event = bench.events[0]
    assert (event.who, event.verdict, event.was) == ("R. Lead", "serviceable", "undecided")
    assert all(b"id_token" not in payload for payload in bench.heard)

    replayed = bench.heard[-1]  # by a third client, as heard on the bus
    bench.publisher.client.publish(bench.script.topic("command"), replayed, qos=1)
    wait_for(lambda: len(bench.events) == 2, "the replayed command")
    assert bench.events[1].code == "stale"

    page.get_by_role("button", name="Sign out").click()
    page.wait_for_url(f"{board.url}/")
    page.goto(f"{board.url}/override?id={bench.script.bench}&about=P1")
    page.get_by_role("button", name="Sign in as a lead").wait_for()


def test_a_sign_in_that_has_run_out_is_refused(signed, identity):
    board, bench, page = signed
    sign_in(page, board, bench)
    page.get_by_text("Signed in as r.lead@shop.example").wait_for()
    bench.later_s = identity.seconds + 100.0
    decide(page)
    page.get_by_text("the sign-in has run out").wait_for()
    assert [event.code for event in bench.events] == ["expired"]


def test_who_signs_in_but_is_no_lead_is_turned_down(signed, identity):
    board, bench, page = signed
    identity.claims["sub"] = "stranger"
    sign_in(page, board, bench)
    decide(page)
    page.get_by_text("r.lead@shop.example is not among this bench's leads").wait_for()
    assert [event.code for event in bench.events] == ["no-right"]


def test_a_bad_sign_in_file_is_clear_sentences_and_exit_2(tmp_path):
    file = tmp_path / "sign-in.toml"
    file.write_text('[auth]\nredirect_uri = "http://x/"\n')
    command = [sys.executable, "-m", "barrelfit.dashboard", "--sign-in", str(file)]
    done = subprocess.run(command, capture_output=True, timeout=PATIENCE_S, check=False)  # noqa: S603
    assert done.returncode == 2
    words = done.stderr.decode()
    assert "sign-in.toml:2: auth.redirect_uri: must end in /oauth2callback" in words
    assert "sign-in.toml:1: auth.client_id: missing" in words
    assert "Traceback" not in words
