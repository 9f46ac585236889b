"""A bench as a service manager starts it: ready when it records, a gauge away or not."""

import os
import socket

import pytest

from tests.system.bench_rig import Daemon, FarEnd, bench_text, ending, gauge_text
from tests.system.patience import PATIENCE_S
from tests.system.ports import free_port

pytest.importorskip("iotcore", reason="iotcore, the embedded broker, is not on this system")

pytestmark = [pytest.mark.system, pytest.mark.slow, pytest.mark.timeout(300)]


def test_a_gauge_that_is_away_keeps_no_bench_from_starting(tmp_path, monkeypatch):
    link, file = tmp_path / "gauge", tmp_path / "bench.toml"
    file.write_text(bench_text(tmp_path, free_port(), gauge_text("micrometer", link)))
    with socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM) as manager:
        manager.bind(str(tmp_path / "notify"))
        manager.settimeout(PATIENCE_S)
        monkeypatch.setenv("NOTIFY_SOCKET", str(tmp_path / "notify"))
        monkeypatch.setenv("WATCHDOG_USEC", "4000000")
        daemon = Daemon(file, "--wait")
        with ending(daemon):
            assert manager.recv(4096).startswith(b"READY=1\n")
            assert manager.recv(4096) == b"WATCHDOG=1"
            _, lost = daemon.told("gauge_changed", state="lost")
            assert str(link) in lost["data"]["reason"]
            far = FarEnd(link)
            with ending(far):
                daemon.told("gauge_changed", state="answering")
                assert daemon.end() == 0
            said = [manager.recv(4096)]
            while said[-1] == b"WATCHDOG=1":
                said.append(manager.recv(4096))
            assert said[-1] == b"STOPPING=1"
    assert os.environ["NOTIFY_SOCKET"]
