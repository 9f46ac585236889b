"""A whole bench whose process is stopped for a while: told, journaled, and nothing dated wrong."""

import contextlib
import itertools
import os
import re
import signal
import threading
import time
import tty
from pathlib import Path

import pytest

from barrelfit.acquire.journal.events import ReadingTaken, WireNote
from barrelfit.acquire.journal.port_events import GaugeStalled
from barrelfit.acquire.journal.session import Session
from barrelfit.acquire.redo.redo_journal import redo_session
from barrelfit.drivers.decode import WAITED
from tests.system.bench_rig import Daemon, bench_text, ending, gauge_text
from tests.system.ports import free_port

pytest.importorskip("iotcore", reason="iotcore, the embedded broker, is not on this system")

pytestmark = [pytest.mark.system, pytest.mark.slow, pytest.mark.timeout(300)]


class Streaming:
    """A gauge on a pseudo-terminal that sends numbered lengths as told, from a thread."""

    def __init__(self, link: Path, send, every_s: float) -> None:
        self._near, self._far = os.openpty()
        tty.setraw(self._far)
        os.set_blocking(self._near, False)
        link.symlink_to(os.ttyname(self._far))
        self._stop = threading.Event()
        self._send, self._every_s = send, every_s
        self.sent = 0
        self._thread = threading.Thread(target=self._run, daemon=True)
        self._thread.start()

    def _run(self) -> None:
        for number in itertools.count():
            if self._stop.wait(self._every_s):
                return
            with contextlib.suppress(BlockingIOError):
                self.sent += os.write(self._near, self._send(number))

    def end(self) -> None:
        self._stop.set()
        self._thread.join(5)
        os.close(self._near)
        os.close(self._far)


STOPPED_S = 2.5


def line(number: int) -> bytes:
    return b"+%07.3f\r\n" % (80 + number / 1000)


def journal_of(folder: Path) -> Session:
    (path,) = list((folder / "sessions").glob("*.jsonl"))
    return Session.open(path)


def test_a_process_that_was_stopped_dates_nothing_that_waited(tmp_path):
    file, link = tmp_path / "bench.toml", tmp_path / "gauge"
    file.write_text(bench_text(tmp_path, free_port(), gauge_text("micrometer", link)))
    gauge = Streaming(link, line, 0.02)
    daemon = Daemon(file)
    with ending(daemon):
        daemon.ready()
        daemon.told("gauge_changed", state="answering")
        running_ns = time.monotonic_ns()
        time.sleep(0.5)
        daemon.signal(signal.SIGSTOP)
        stopped_ns, sent = time.monotonic_ns(), gauge.sent
        time.sleep(STOPPED_S)
        going_ns, sent = time.monotonic_ns(), gauge.sent - sent
        daemon.signal(signal.SIGCONT)
        seq, told = daemon.told(
            "gauge_changed", state="present", start=daemon.lines.find(lambda t: "answering" in t)[0]
        )
        stood_s = float(re.search(r"stood still for (\d+\.\d+)", told["data"]["reason"])[1])
        told_ns = time.monotonic_ns()
        daemon.told("gauge_changed", state="answering", start=seq)
        time.sleep(0.3)
        assert daemon.end() == 0
    gauge.end()
    session = journal_of(tmp_path)
    records = list(session.records())
    stalls = [r for r in records if isinstance(r.event, GaugeStalled)]
    stall = max(stalls, key=lambda r: r.event.stood_ms)  # others, where the machine stood still
    assert STOPPED_S * 1000 <= stall.event.stood_ms <= (told_ns - running_ns) / 1e6
    assert STOPPED_S <= stood_s <= (told_ns - running_ns) / 1e9
    readings = [r for r in records if isinstance(r.event, ReadingTaken)]
    times = [r.event.at_ns or r.t_ns for r in readings]
    assert not [t for t in times if stopped_ns + 100_000_000 < t < going_ns]
    after = [r for r in readings if r.seq > stall.seq]
    assert after
    assert min(r.t_ns for r in after) > stall.t_ns
    notes = [r.event for r in records if isinstance(r.event, WireNote)]
    waited = sum(len(note.raw) // 2 for note in notes if note.note == WAITED)
    assert waited >= sent
    assert sent
    assert redo_session(session).difference is None
