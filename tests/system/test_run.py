"""A bench from its hand-written file to the bus, heard by an independent MQTT client."""

import json
import os
import signal
import subprocess
from pathlib import Path

import pytest

from tests.system.bench_rig import (
    PYTHON,
    Daemon,
    FarEnd,
    Listener,
    Machinist,
    bench_text,
    ending,
    family_of,
    gauge_text,
    wait_for_end,
)
from tests.system.board_rig import wait_for
from tests.system.patience import promptly
from tests.system.ports import free_port, until_open

pytest.importorskip("iotcore", reason="iotcore, the embedded broker, is not on this system")

pytestmark = [pytest.mark.system, pytest.mark.slow, pytest.mark.timeout(300)]

LOST_S = 1.0


@pytest.fixture
def stand(tmp_path: Path):
    """A bench file with one gauge, whose far end is played by another process."""
    port = free_port()
    link = tmp_path / "gauge"
    file = tmp_path / "bench.toml"
    file.write_text(bench_text(tmp_path, port, gauge_text("micrometer", link)))
    return file, link, port


def listener_of(daemon: Daemon, folder: Path, port: int) -> Listener:
    daemon.ready()
    password = (folder / "sessions" / "broker-password").read_text().strip()
    return Listener(port, "barrelfit", password)


def test_readings_reach_an_independent_client_and_a_lost_gauge_is_told_and_comes_back(
    stand, tmp_path
):
    file, link, port = stand
    far = FarEnd(link)
    daemon = Daemon(file)
    with ending(far, daemon):
        listener = listener_of(daemon, tmp_path, port)
        with ending(listener):
            _, first = listener.event("reading_taken", gauge="micrometer")
            assert first["data"]["length_nm"] % 1000 == 0
            listener.event("asked")

            before = listener.last_seq()
            with promptly(LOST_S, "told that the gauge is lost"):
                far.kill()
                _, lost = listener.event("gauge_changed", state="lost", since=before)
            assert lost["data"]["reason"]

            far = FarEnd(link)
            with ending(far):
                _, back = listener.event("gauge_changed", state="answering", since=lost["seq"])
                listener.event("reading_taken", since=back["seq"])
            assert daemon.end() == 0
        assert daemon.errors.texts() == []
        state = listener.heard("state")
        assert [message["state"] for _, message in state][-1] == "offline"


def test_a_verdict_follows_a_sweep(tmp_path):
    port = free_port()
    file = tmp_path / "bench.toml"
    gauges = gauge_text("micrometer", tmp_path / "micrometer") + gauge_text(
        "bore-gauge", tmp_path / "bore-gauge", "bore"
    )
    more = "[temperature]\npart_c = 22.4\ngauge_c = 21.6\n[simulation]\nspeed = 4\n"
    file.write_text(bench_text(tmp_path, port, gauges, more))
    machinist = Machinist(tmp_path, 4)
    daemon = Daemon(file)
    with ending(machinist, daemon):
        listener = listener_of(daemon, tmp_path, port)
        with ending(listener):
            machinist.watch(daemon)
            _, sized = listener.event("sized")
            _, judged = listener.event("judged", about="P1", because=sized["because"])
            assert sized["data"]["at"]["part"] == "P1"
            assert sized["data"]["low_nm"] < sized["data"]["size_nm"] < sized["data"]["high_nm"]
            assert judged["data"]["verdict"] in {
                "serviceable",
                "rework",
                "discard",
                "undecided",
            }
            assert judged["data"]["findings"]
            assert daemon.end() == 0


def test_ctrl_c_ends_every_process_and_the_session_goes_on_next_time(stand):
    file, link, _ = stand
    far = FarEnd(link)
    daemon = Daemon(file)
    with ending(far, daemon):
        first = daemon.ready()
        daemon.told("gauge_changed", state="answering")
        daemon.child("barrelfit.acquire.bench.rules_service")
        family = family_of(daemon.pid)
        assert len(family) >= 2
        assert daemon.end() == 0
        wait_for_end(family)
        again = Daemon(file)
        with ending(again):
            assert again.ready()["session"] == first["session"]
            again.told("gauge_changed", state="answering")
            assert again.end() == 0
    assert verified(first["journal"])


def test_kill_9_of_the_daemon_leaves_no_process_and_the_session_goes_on(stand, tmp_path):
    file, link, port = stand
    far = FarEnd(link)
    daemon = Daemon(file)
    with ending(far, daemon):
        first = daemon.ready()
        listener = listener_of(daemon, tmp_path, port)
        with ending(listener):
            daemon.told("gauge_changed", state="answering")
            daemon.child("barrelfit.acquire.bench.rules_service")
            listener.event("reading_taken")
            family = family_of(daemon.pid)
            daemon.kill()
            wait_for_end(family)
            heard = [event for _, event in listener.events()]
        again = Daemon(file)
        with ending(again):
            assert again.ready()["session"] == first["session"]
            again.told("gauge_changed", state="answering")
            assert again.end() == 0
    journal = Path(first["journal"]).read_text(encoding="utf-8").splitlines()
    for event in heard:
        assert f'"seq":{event["seq"]},"kind":"{event["kind"]}"' in journal[event["seq"] - 1]
    assert verified(first["journal"])


def test_kill_9_of_the_rules_service_loses_and_doubles_no_finding(stand, tmp_path):
    file, link, port = stand
    far = FarEnd(link)
    daemon = Daemon(file)
    with ending(far, daemon):
        ready = daemon.ready()
        listener = listener_of(daemon, tmp_path, port)
        with ending(listener):
            for _ in range(3):
                rules = daemon.child("barrelfit.acquire.bench.rules_service")
                os.kill(rules, signal.SIGKILL)
                wait_for_end({rules})
            daemon.child("barrelfit.acquire.bench.rules_service")
            listener.event("asked")
            _wait_for_rules(listener, listener.last_seq())
            assert daemon.end() == 0
    kinds = [line.split('"kind":"')[1].split('"')[0] for line in _lines(ready["journal"])]
    assert kinds.count("asked") == 1
    assert verified(ready["journal"])


def test_kill_9_of_the_broker_loses_nothing(stand, tmp_path):
    file, link, port = stand
    far = FarEnd(link)
    daemon = Daemon(file)
    with ending(far, daemon):
        ready = daemon.ready()
        listener = listener_of(daemon, tmp_path, port)
        with ending(listener):
            listener.event("reading_taken")
            broker = daemon.child("iotcore")
            os.kill(broker, signal.SIGKILL)
            wait_for_end({broker})
            before = listener.last_seq()
            assert daemon.child("iotcore") != broker
            until_open(port)
            again = listener_of(daemon, tmp_path, port)  # who came late to the broker's place
            with ending(again):
                _wait_for_rules(again, again.event("reading_taken", since=before)[1]["seq"])
            listener.event("reading_taken", since=before)  # and who was there before
            assert daemon.end() == 0
    # What a client missed while it was not connected itself is in the journal: nothing is lost.
    numbers = journaled_lengths(ready["journal"])
    assert numbers == list(range(numbers[0], numbers[-1] + 1000, 1000))
    assert verified(ready["journal"])


def _wait_for_rules(listener: Listener, seq: int) -> None:
    """Wait until the rules service has said that it has read up to `seq`."""
    wait_for(
        lambda: any(beat["rules_seq"] >= seq for _, beat in listener.heard("heartbeat")),
        f"the rules service's word that it has read record {seq}",
    )


def _lines(journal: str) -> list[str]:
    return Path(journal).read_text(encoding="utf-8").splitlines()


def journaled_lengths(journal: str) -> list[int]:
    """Lengths of all readings in a journal, in nm."""
    records = [json.loads(line) for line in _lines(journal)]
    return [r["data"]["length_nm"] for r in records if r["kind"] == "reading_taken"]


def verified(journal: str) -> bool:
    """Whether `barrelfit verify` finds the journal whole."""
    found = subprocess.run(  # noqa: S603
        [PYTHON, "-m", "barrelfit.acquire", "verify", journal],
        capture_output=True,
        text=True,
        check=False,
    )
    return found.returncode == 0 and "WHOLE" in found.stdout
