"""An override from the board's side to a real daemon's journal and back, over its own broker."""

import asyncio
import json
import threading
import time
from dataclasses import replace

import pytest

from barrelfit.acquire.clock import RunningClock
from barrelfit.acquire.inputs.leads import HashCosts, enrol, entry_text
from barrelfit.acquire.journal.session import Session
from barrelfit.acquire.topics import COMMAND, topic
from barrelfit.dashboard.board.hub import Hub
from barrelfit.dashboard.pages.override import Wish, ask_lead, override
from barrelfit.rules.said import written
from tests.system.bench_rig import Daemon, FarEnd, bench_text, ending, gauge_text
from tests.system.patience import PATIENCE_S
from tests.system.ports import free_port

pytest.importorskip("iotcore", reason="iotcore, the embedded broker, is not on this system")

pytestmark = [pytest.mark.system, pytest.mark.slow, pytest.mark.timeout(300)]

WORDS = "seven grey pistons"


class HubThread:
    """A hub on a loop of its own, as the board's server runs it."""

    def __init__(self, address, folder):
        self.hub = Hub(RunningClock(), folder)
        self._loop = asyncio.new_event_loop()
        self._thread = threading.Thread(target=self._run, args=(address,))
        self._thread.start()

    def _run(self, address):
        self._task = self._loop.create_task(self.hub.run(address))
        try:
            self._loop.run_until_complete(self._task)
        except asyncio.CancelledError:
            pass
        finally:
            self._loop.close()

    def publish(self, bench, payload):
        bus = self.hub._ears[bench].bus
        sending = bus.publish(topic(bench, COMMAND), payload)
        asyncio.run_coroutine_threadsafe(sending, self._loop).result(PATIENCE_S)

    def stop(self):
        self._loop.call_soon_threadsafe(self._task.cancel)
        self._thread.join()

    def wait(self, see, what):
        end = time.monotonic() + PATIENCE_S
        while time.monotonic() < end:
            found = self.hub.look_at("stand", lambda board, _now, _link: see(board))
            if found:
                return found
            time.sleep(0.05)
        return pytest.fail(f"{what} did not come")


def journal_kinds(folder):
    (path,) = (folder / "sessions").glob("*.jsonl")
    return [json.loads(line) for line in path.read_text().splitlines()], path


def test_an_override_is_journaled_answered_and_good_once(tmp_path):
    port, link, file = free_port(), tmp_path / "gauge", tmp_path / "bench.toml"
    leads = [
        enrol(name, WORDS, bytes(16), HashCosts(1, 8_192, 1)) for name in ("R. Lead", "a test")
    ]
    (tmp_path / "leads.toml").write_text("schema = 1\n" + "\n".join(map(entry_text, leads)))
    text = bench_text(tmp_path, port, gauge_text("micrometer", link))
    text = text.replace('who = "a test"', f'who = "a test"\nleads = "{tmp_path}/leads.toml"')
    file.write_text(text)
    far, daemon = FarEnd(link), Daemon(file)
    with ending(far, daemon):
        daemon.ready()
        board = HubThread(None, tmp_path / "sessions")
        try:
            drive(board)
        finally:
            board.stop()
        assert daemon.end() == 0
    records, path = journal_kinds(tmp_path)
    assert [
        (r["kind"], r["data"].get("code", "")) for r in records if r["kind"].startswith("overr")
    ] == [
        ("override_asked", ""),
        ("override_refused", "passphrase"),
        ("override_refused", "own-bench"),
        ("overridden", ""),
        ("override_refused", "stale"),
        ("override_refused", "no-right"),
        ("override_refused", "changed"),
    ]
    assert WORDS not in path.read_text()
    assert len(list(Session.open(path).records())) == len(records)  # and the chain holds


def drive(board):
    session, judged = board.wait(
        lambda b: (b.session, b.state.judged["P1"].event) if "P1" in b.state.judged else None,
        "a verdict on P1",
    )
    sent = []

    def ask(command):
        sent.append(command)
        return board.hub.ask("stand", command)

    wish = Wish(session, "P1", judged, "discard", "R. Lead", "a crack above the pin, seen by eye")
    assert ask_lead(wish, "a1", ask).ok
    board.wait(lambda b: "P1" in b.state.override_asked, "the request")
    assert "does not fit" in override(wish, "wrong words", "r1", ask).sentence
    own = Wish(session, "P1", judged, "discard", "a test", "a crack above the pin")
    assert "can't override" in override(own, WORDS, "r2", ask).sentence
    assert override(wish, WORDS, "r3", ask).ok
    made = board.wait(lambda b: b.state.overridden.get("P1"), "the override").event
    assert (made.verdict, made.was) == ("discard", "undecided")
    board.wait(
        lambda b: b.state.judged["P1"].event.verdict == "undecided", "the rules' own verdict"
    )
    assert WORDS not in json.dumps(sent)
    board.publish("stand", json.dumps(sent[-1]).encode())  # by a third client
    stranger = Wish(session, "P1", judged, "discard", "Mallory", "because I say so")
    assert "not among this bench's leads" in override(stranger, WORDS, "r4", ask).sentence
    seen_before = Wish(
        session, "P1", replace(judged, todo=written("x")), "discard", "R. Lead", "cracked"
    )
    assert "has changed meanwhile" in override(seen_before, WORDS, "r5", ask).sentence
