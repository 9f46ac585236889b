"""What keeps a bench from running: one clear sentence each, exit 2, no traceback, no process."""

import os
import socket
import subprocess
from pathlib import Path

import pytest
import serial

from tests.system.bench_rig import PYTHON, Child, Daemon, FarEnd, bench_text, ending, gauge_text
from tests.system.board_rig import need
from tests.system.patience import PATIENCE_S
from tests.system.ports import free_port

pytestmark = [pytest.mark.system, pytest.mark.slow, pytest.mark.timeout(300)]

NOBODY = 65534


def run(file: Path, without: tuple[str, ...] = ()) -> subprocess.CompletedProcess[str]:
    command = [*without, PYTHON, "-m", "barrelfit.acquire", "run", str(file)]
    return subprocess.run(  # noqa: S603
        command, capture_output=True, text=True, timeout=PATIENCE_S, check=False
    )


def refused(found: subprocess.CompletedProcess[str]) -> list[str]:
    """The sentences of a refusal, after everything that must hold for any."""
    assert found.returncode == 2, found
    assert "Traceback" not in found.stderr
    sentences = found.stderr.splitlines()
    assert sentences
    assert all(sentence.startswith("barrelfit: ") for sentence in sentences)
    return sentences


def test_a_bench_file_that_is_not_there(tmp_path):
    (sentence,) = refused(run(tmp_path / "none.toml"))
    assert str(tmp_path / "none.toml") in sentence
    assert "no such file" in sentence


def test_every_mistake_of_a_bench_file_is_named_with_its_line(tmp_path, terminal):
    text = bench_text(tmp_path, free_port(), gauge_text("m", terminal))
    text = text.replace('variant = "early"', 'variant = "early"\ncolour = "red"')
    text = text.replace("port = ", "port = 9", 1).replace('"outside"', '"inside"')
    file = tmp_path / "bench.toml"
    file.write_text(text)
    sentences = refused(run(file))
    assert len(sentences) == 3
    assert any(":10: set.colour: unknown key" in sentence for sentence in sentences)
    assert any("broker.port" in sentence for sentence in sentences)
    assert any("gauge[1].measures" in sentence for sentence in sentences)


def test_a_gauge_that_is_not_there_shows_as_lost_and_the_bench_runs(tmp_path):
    file = tmp_path / "bench.toml"
    file.write_text(bench_text(tmp_path, free_port(), gauge_text("m", tmp_path / "absent")))
    daemon = Daemon(file)
    with ending(daemon):
        daemon.ready()
        _, lost = daemon.told("gauge_changed", state="lost")
        assert "not there" in lost["data"]["reason"]
        far = FarEnd(tmp_path / "absent")
        with ending(far):
            daemon.told("gauge_changed", state="answering")
            assert daemon.end() == 0


@pytest.mark.skipif(os.geteuid() != 0, reason="only root can take a permission away")
def test_a_port_without_permission(tmp_path, terminal):
    os.chown(terminal, NOBODY, NOBODY)
    Path(terminal).chmod(0o600)
    file = tmp_path / "bench.toml"
    file.write_text(bench_text(tmp_path, free_port(), gauge_text("m", terminal)))
    # Root that may not pass over permissions stands for a user who has none for this port.
    without = (need("setpriv"), "--bounding-set", "-dac_override,-dac_read_search")
    (sentence,) = refused(run(file, without=without))
    assert f"no permission for {terminal}" in sentence
    assert "usermod" in sentence


def test_a_broker_port_that_is_taken_is_told_and_another_one_found(tmp_path, terminal):
    pytest.importorskip("iotcore", reason="iotcore, the embedded broker, is not on this system")
    with socket.create_server(("127.0.0.1", 0)) as other:
        port = other.getsockname()[1]
        file = tmp_path / "bench.toml"
        file.write_text(bench_text(tmp_path, port, gauge_text("m", terminal)))
        daemon = Daemon(file)
        with ending(daemon):
            ready = daemon.ready()
            assert ready["broker"] not in {"", f"127.0.0.1:{port}"}
            _, said = daemon.told("service_changed", service="bus", state="running")
            assert f"port {port} is taken" in said["data"]["reason"]
            assert daemon.end() == 0


def test_a_bench_that_runs_already(tmp_path, terminal):
    pytest.importorskip("iotcore", reason="iotcore, the embedded broker, is not on this system")
    file = tmp_path / "bench.toml"
    file.write_text(bench_text(tmp_path, free_port(), gauge_text("m", terminal)))
    daemon = Daemon(file)
    with ending(daemon):
        daemon.ready()
        (sentence,) = refused(run(file))
        assert f"already run by process {daemon.pid}" in sentence
        assert daemon.end() == 0


def test_a_port_that_another_program_keeps(tmp_path, terminal):
    """A pseudo-terminal has no time of plugging: the whole patience passes."""
    pytest.importorskip("iotcore", reason="iotcore, the embedded broker, is not on this system")
    held = serial.Serial(terminal, exclusive=True)
    file = tmp_path / "bench.toml"
    text = bench_text(tmp_path, free_port(), gauge_text("m", terminal))
    file.write_text(text.replace("schema = 1", "schema = 1\nbusy_s = 1.5", 1))
    (sentence,) = refused(run(file))
    held.close()
    assert f"port {terminal} is in use by process {os.getpid()} " in sentence


def test_two_gauges_at_one_port_under_two_names(tmp_path, terminal):
    (tmp_path / "other").symlink_to(terminal)
    gauges = gauge_text("m", terminal) + gauge_text("b", tmp_path / "other")
    file = tmp_path / "bench.toml"
    file.write_text(bench_text(tmp_path, free_port(), gauges))
    (sentence,) = refused(run(file))
    assert f"gauges 'm' and 'b' are at one port, {terminal}" in sentence


def test_a_folder_that_can_not_keep_sessions(tmp_path, terminal):
    (tmp_path / "sessions").write_text("a file, not a folder")
    file = tmp_path / "bench.toml"
    file.write_text(bench_text(tmp_path, free_port(), gauge_text("m", terminal)))
    (sentence,) = refused(run(file))
    assert "can't keep sessions here" in sentence


def test_a_damaged_unfinished_session_is_not_gone_on_with(tmp_path, terminal):
    pytest.importorskip("iotcore", reason="iotcore, the embedded broker, is not on this system")
    file = tmp_path / "bench.toml"
    file.write_text(bench_text(tmp_path, free_port(), gauge_text("m", terminal)))
    daemon = Daemon(file)
    with ending(daemon):
        journal = Path(daemon.ready()["journal"])
        daemon.told("gauge_changed")
        daemon.end()
    written = journal.read_bytes()
    journal.write_bytes(written.replace(b'"who":"a test"', b'"who":"a jest"', 1))
    (sentence,) = refused(run(file))
    assert "--fresh" in sentence
    assert str(journal) in sentence


def test_a_machine_whose_loopback_is_down(tmp_path, terminal):
    pytest.importorskip("iotcore", reason="iotcore, the embedded broker, is not on this system")
    unshare = need("unshare")
    if subprocess.run([unshare, "-rn", "true"], check=False).returncode:  # noqa: S603
        pytest.skip("this system allows no network namespace")
    file = tmp_path / "bench.toml"
    file.write_text(bench_text(tmp_path, free_port(), gauge_text("m", terminal)))
    command = [PYTHON, "-m", "barrelfit.acquire", "run", str(file), "--json"]
    daemon = Child(unshare, "-rn", *command)  # recording needs no bus
    with ending(daemon):
        _, away = daemon.told("service_changed", service="bus", state="away")
        assert "Network is unreachable; is the loopback interface up" in away["data"]["reason"]
        daemon.told("gauge_changed", state="present")
        assert daemon.end() == 0
