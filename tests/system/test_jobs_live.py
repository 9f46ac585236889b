"""A bench without a set in its file: a job begun by command, a power cut in it, the next one."""

import json
import time
from pathlib import Path

import paho.mqtt.client as mqtt
import pytest

from barrelfit.acquire.bus.link_file import LINKS
from barrelfit.acquire.bus.proof import seal
from tests.system.bench_rig import PROFILE, Daemon, FarEnd
from tests.system.patience import PATIENCE_S

pytestmark = pytest.mark.system

WHO = "A. Smith"
SKIRT = {"part": "P1", "feature": "skirt", "depth": "", "direction": ""}
BENCH = """schema = 1
bench = "stand"
sheet = "flat-four-85"
sessions = "{folder}"
[[gauge]]
id = "m"
profile = "{profile}"
port = "{port}"
measures = "outside"
movement = "following"
"""


class Screen:
    """A device of the bench: proves its commands, and waits for their answers."""

    def __init__(self, folder: Path) -> None:
        self.link = LINKS.decode((folder / "stand.link").read_bytes())
        self.answers: dict[str, dict] = {}
        self._client = mqtt.Client(mqtt.CallbackAPIVersion.VERSION2)
        self._client.username_pw_set(self.link.user, self.link.password)
        self._client.on_message = self._heard
        self._client.connect(self.link.host, self.link.port)
        self._client.subscribe("barrelfit/stand/answer", 1)
        self._client.loop_start()

    def _heard(self, _client, _data, message) -> None:
        answer = json.loads(message.payload)
        self.answers[answer["id"]] = answer

    def say(self, **command) -> dict:
        """Give a command until it is answered: the daemon may not listen yet."""
        end, number = time.monotonic() + PATIENCE_S, 0
        while time.monotonic() < end:
            number += 1
            named = f"{command['kind']}-{time.monotonic_ns()}-{number}"
            payload = json.dumps({"id": named, "who": WHO, **command}).encode()
            topic = "barrelfit/stand/command"
            sealed = seal(self.link.device_key, topic, payload, time.monotonic_ns())
            self._client.publish(topic, sealed, 1)
            until = time.monotonic() + 2
            while time.monotonic() < until:
                if named in self.answers:
                    return self.answers[named]
                time.sleep(0.02)
        return pytest.fail(f"no answer to {command}")

    def close(self) -> None:
        self._client.loop_stop()
        self._client.disconnect()


def kinds(folder: Path) -> dict[str, list[str]]:
    return {
        path.name: [json.loads(line)["kind"] for line in path.read_text().splitlines()]
        for path in sorted(folder.glob("stand-*.jsonl"))
    }


def leaf(ring: str, mm: str) -> dict[str, str]:
    return {"part": "P1", "feature": "feeler", "depth": ring, "direction": mm}


@pytest.mark.slow
@pytest.mark.timeout(120)
def test_a_job_survives_a_power_cut_in_the_middle_of_its_rings_and_the_next_one_begins(tmp_path):
    folder, gauge = tmp_path / "sessions", tmp_path / "gauge"
    file = tmp_path / "bench.toml"
    file.write_text(BENCH.format(folder=folder, profile=PROFILE, port=gauge), encoding="utf-8")
    far, daemon = FarEnd(gauge), Daemon(file)
    try:
        daemon.ready()
        waits = daemon.told("asked")[1]["data"]
        assert (waits["at"], waits["total"]) == (None, 0)
        screen = Screen(folder)
        new = {"job": "Miller 7", "sheet": "flat-four-85", "variant": "early", "group": "II"}
        assert screen.say(kind="job", what="new", **new)["ok"]
        daemon.told("asked", at=SKIRT)
        assert screen.say(kind="fact", at=leaf("top", "0.12"), value="out, out, out")["ok"]
        assert screen.say(kind="fact", at=leaf("top", "0.04"), value="in, in, in")["ok"]
        daemon.told("fact_taken", at=leaf("top", "0.04"))
        screen.close()
        daemon.kill()  # in the middle of the rings

        daemon = Daemon(file)
        job = daemon.ready()["session"]
        screen = Screen(folder)
        assert screen.say(kind="fact", at=leaf("second", "0.1"), value="out, out")["ok"]
        daemon.told("fact_taken", at=leaf("second", "0.1"))
        assert screen.say(kind="job", what="pause")["ok"]
        waiting, _ = daemon.told("asked", total=0)
        assert screen.say(kind="job", what="take-up", session=job)["ok"]
        again, _ = daemon.told("asked", start=waiting + 1, at=SKIRT)
        assert screen.say(kind="job", what="close")["ok"]
        screen.close()
        daemon.told("asked", total=0, start=again + 1)
        assert daemon.end() == 0
    finally:
        daemon.end()
        far.end()
    found = kinds(folder)[f"{job}.jsonl"]
    assert found.count("fact_taken") == 3  # each that was answered is on disk, and once
    assert found.count("session_resumed") == 2
    assert found[-1] == "session_closed"
    others = [name for name in kinds(folder) if name != f"{job}.jsonl"]
    assert len(others) == 3  # a bench without a job waits in a session of its own
