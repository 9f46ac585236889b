"""A bench that copies to a shop's broker: mosquitto with a password, started by the test."""

import subprocess
from pathlib import Path

import pytest

from tests.system.bench_rig import (
    Child,
    Daemon,
    FarEnd,
    Listener,
    bench_text,
    ending,
    gauge_text,
)
from tests.system.board_rig import _answers, need, wait_for
from tests.system.ports import free_port

pytestmark = [pytest.mark.system, pytest.mark.slow, pytest.mark.timeout(300)]


@pytest.fixture
def broker(tmp_path: Path):
    program, maker = need("mosquitto"), need("mosquitto_passwd")
    port = free_port()
    passwords = tmp_path / "passwords"
    subprocess.run([maker, "-b", "-c", str(passwords), "shop", "s3cret"], check=True)  # noqa: S603
    passwords.chmod(0o644)
    config = tmp_path / "mosquitto.conf"
    config.write_text(
        f"listener {port} 127.0.0.1\nallow_anonymous false\npassword_file {passwords}\n"
        "persistence false\nuser root\nset_tcp_nodelay true\n"
    )
    child = Child(program, "-c", str(config))
    with ending(child):
        wait_for(lambda: _answers(port), "the broker")
        yield port


def stand(folder: Path, port: int, password: str) -> Path:
    (folder / "password").write_text(password + "\n")
    more = f'embedded = false\nuser = "shop"\npassword_file = "{folder}/password"\n'
    file = folder / "bench.toml"
    file.write_text(bench_text(folder, port, gauge_text("micrometer", folder / "gauge"), more))
    return file


def test_a_shops_own_broker_carries_the_bench(tmp_path, broker):
    file = stand(tmp_path, broker, "s3cret")
    far, daemon = FarEnd(tmp_path / "gauge"), Daemon(file)
    listener = Listener(broker, "shop", "s3cret")
    with ending(far, daemon, listener):
        listener.event("session_opened")
        listener.event("asked")
        listener.event("reading_taken")
        assert any("iotcore" in command for command in daemon.children().values())  # its own
        assert daemon.end() == 0
        states = [message["state"] for _, message in listener.heard("state")]
        assert states[0] == "online"
        assert states[-1] == "offline"


def test_a_killed_daemon_is_called_offline_by_its_broker(tmp_path, broker):
    file = stand(tmp_path, broker, "s3cret")
    far, daemon = FarEnd(tmp_path / "gauge"), Daemon(file)
    listener = Listener(broker, "shop", "s3cret")
    with ending(far, daemon, listener):
        listener.event("reading_taken")
        daemon.kill()
        wait_for(lambda: listener.heard("state")[-1][1]["state"] == "offline", "its last will")


def test_a_broker_that_refuses_us_stops_no_recording_and_is_told(tmp_path, broker):
    file = stand(tmp_path, broker, "wrong")
    far, daemon = FarEnd(tmp_path / "gauge"), Daemon(file)
    with ending(far, daemon):
        journal = Path(daemon.ready()["journal"])
        daemon.told("gauge_changed", state="answering")
        wait_for(lambda: journal.read_bytes().count(b'"kind":"reading_taken"') > 10, "readings")
        daemon.errors.find(lambda line: f"no bus at 127.0.0.1:{broker}" in line)
        assert daemon.end() == 0
