"""Starts what a test of the whole board needs: a broker, a publisher, the board, a browser."""

import contextlib
import json
import os
import shutil
import signal
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import paho.mqtt.client as mqtt
import pytest

from tests.dashboard.scripted import MESSAGE, encoded
from tests.system.patience import PATIENCE_S
from tests.system.ports import free_port

BROWSER_ARGUMENTS = [
    "--disable-features=SpareRendererForSitePerProcess",  # a process more for each page
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--autoplay-policy=no-user-gesture-required",
]


def need(program: str) -> str:
    """Path of a Debian program, or skip naming it."""
    for folder in (None, "/usr/sbin:/usr/bin"):
        found = shutil.which(program, path=folder)
        if found:
            return found
    return pytest.skip(f"{program} is not installed")


class Broker:
    """mosquitto on the loopback address, without a password: a test's own."""

    def __init__(self, folder: Path) -> None:
        self.port = free_port()
        self._program = need("mosquitto")
        self._config = folder / "mosquitto.conf"
        self._config.write_text(
            f"listener {self.port} 127.0.0.1\nallow_anonymous true\nset_tcp_nodelay true\n"
            "persistence false\nsys_interval 1\nmax_queued_messages 100000\n"
        )
        self.start()

    def start(self) -> None:
        self._child = subprocess.Popen(  # noqa: S603
            [self._program, "-c", str(self._config)],
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        wait_for(lambda: _answers(self.port), "the broker")

    def stop(self) -> None:
        self._child.kill()
        self._child.wait()


class Publisher:
    """Publishes scripted messages as a daemon would."""

    def __init__(self, port: int) -> None:
        self.client = mqtt.Client(mqtt.CallbackAPIVersion.VERSION2, client_id=f"script-{port}")
        self.client.reconnect_delay_set(1, 1)
        self.client.connect("127.0.0.1", port, keepalive=5)
        self.client.loop_start()
        wait_for(self.client.is_connected, "the publisher's connection")

    def say(self, message: MESSAGE) -> None:
        topic, payload, retain = encoded(message)
        self.client.publish(topic, payload, qos=1, retain=retain)

    def close(self) -> None:
        self.client.disconnect()
        self.client.loop_stop()


class BoardProcess:
    """`python -m barrelfit.dashboard` on a free port."""

    def __init__(
        self, broker_port: int, sessions: Path, port: int | None = None, *options: str
    ) -> None:
        self.options = options
        self.sessions = sessions
        self.port = port or free_port()
        self.broker_port = broker_port
        self.start()

    @property
    def url(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    def start(self) -> None:
        command = [sys.executable, "-m", "barrelfit.dashboard", "--port", str(self.port)]
        command += ["--broker-port", str(self.broker_port), "--watch-stdin"]
        command += ["--sessions", str(self.sessions), *self.options]
        self.child = subprocess.Popen(  # noqa: S603
            command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE
        )
        assert self.child.stdout is not None
        line = self.child.stdout.readline()
        assert line, self.child.stderr.read().decode() if self.child.stderr else ""
        assert json.loads(line) == {"board": self.url}
        self._drain = threading.Thread(target=self._read_errors, daemon=True)
        self._drain.start()

    def _read_errors(self) -> None:
        assert self.child.stderr is not None
        self.errors = self.child.stderr.read().decode()

    def kill(self) -> None:
        self.child.send_signal(signal.SIGKILL)
        self._end()

    def stop(self) -> None:
        self.child.terminate()
        self._end()

    def _end(self) -> None:
        self.child.wait(PATIENCE_S)
        self._drain.join(PATIENCE_S)
        for pipe in (self.child.stdin, self.child.stdout, self.child.stderr):
            if pipe:
                pipe.close()


class Repeater:
    """A thread that publishes what `make()` gives, again and again, until it is stopped."""

    def __init__(self, publisher: Publisher, make: Callable[[], MESSAGE], every_s: float) -> None:
        self._stop = threading.Event()
        self._publisher, self._make, self._every_s = publisher, make, every_s
        self._thread = threading.Thread(target=self._run, daemon=True)
        self._thread.start()

    def _run(self) -> None:
        while not self._stop.wait(self._every_s):
            self._publisher.say(self._make())

    def stop(self) -> None:
        self._stop.set()
        self._thread.join()


def wait_for(answer, what: str, seconds: float = PATIENCE_S) -> None:
    """Wait until `answer()` is true; it is asked every 50 ms."""
    end = time.monotonic() + seconds
    while not answer():
        if time.monotonic() > end:
            pytest.fail(f"{what} did not come within {seconds} s")
        time.sleep(0.05)


def _answers(port: int) -> bool:
    with contextlib.suppress(OSError), socket.create_connection(("127.0.0.1", port), 0.5):
        return True
    return False


class PatientBrowser:
    """A browser whose pages wait patiently for what must come."""

    def __init__(self, opened) -> None:
        self._opened = opened

    def new_context(self, **options):
        context = self._opened.new_context(**options)
        context.set_default_timeout(PATIENCE_S * 1000)
        return context

    def new_page(self, **options):
        return self.new_context(**options).new_page()


@contextlib.contextmanager
def browser() -> Iterator[PatientBrowser]:
    """Debian's chromium under Playwright, or skip naming what is absent."""
    program = need("chromium")
    api = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")
    with api.sync_playwright() as play:
        opened = play.chromium.launch(
            executable_path=program, args=BROWSER_ARGUMENTS, env=dict(os.environ)
        )
        try:
            yield PatientBrowser(opened)
        finally:
            opened.close()
