"""A gauge behind a real device server (ser2net): read, server killed and restarted, gauge gone."""

import asyncio
import contextlib
import os
import shutil
import signal
import subprocess
import tty
from functools import partial

import pytest

from barrelfit.acquire.clock import RunningClock
from barrelfit.acquire.wires.blocking_line import open_server
from barrelfit.acquire.wires.byte_source import LineSettings
from barrelfit.acquire.wires.thread_source import ThreadSource
from tests.spoken import text_of
from tests.system.patience import PATIENCE_S
from tests.system.ports import free_port

SERVER = shutil.which("ser2net") or "/usr/sbin/ser2net"


def runs(program):
    """Whether a program is there and can be run: it tells its version."""
    try:
        told = subprocess.run([program, "-v"], capture_output=True, timeout=PATIENCE_S, check=False)  # noqa: S603
    except (OSError, subprocess.TimeoutExpired):
        return False
    return told.returncode == 0


pytestmark = [
    pytest.mark.system,
    pytest.mark.slow,
    pytest.mark.skipif(not runs(SERVER), reason="needs Debian's ser2net"),
    pytest.mark.filterwarnings("ignore:set(Daemon|Name):DeprecationWarning"),  # pyserial's own
]


class Server:
    """ser2net between a pseudo-terminal and a port of this machine."""

    def __init__(self, folder, accepter):
        self.port = free_port()
        self.master, self.slave = os.openpty()
        tty.setraw(self.slave)
        self.config = folder / "ser2net.yaml"
        self.config.write_text(
            "connection: &gauge\n"
            f"  accepter: {accepter},127.0.0.1,{self.port}\n"
            f"  connector: serialdev,{os.ttyname(self.slave)},4800n81,local\n"
            "  options:\n    chardelay: false\n"
        )
        self.process = None

    def start(self):
        self.process = subprocess.Popen(  # noqa: S603  a Debian program
            [SERVER, "-n", "-c", str(self.config), "-P", str(self.config) + ".pid"],
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )

    def kill(self):
        if self.process is not None:
            self.process.send_signal(signal.SIGKILL)
            self.process.wait()
            self.process = None

    def end(self):
        self.kill()
        os.close(self.slave)
        os.close(self.master)


@pytest.fixture(params=["socket://|tcp", "rfc2217://|telnet(rfc2217),tcp"])
def server(request, tmp_path):
    scheme, accepter = request.param.split("|")
    server = Server(tmp_path, accepter)
    server.url = f"{scheme}127.0.0.1:{server.port}"
    yield server
    server.end()


class Hearer:
    def __init__(self):
        self.got = b""
        self.states = []
        self.reasons = []
        self.news = asyncio.Event()

    def received(self, t_ns, data):
        self.got += data
        self.news.set()

    def changed(self, t_ns, present, reason):
        self.states.append(present)
        self.reasons.append(reason)
        self.news.set()

    async def until(self, condition):
        async with asyncio.timeout(PATIENCE_S):
            while not condition(self):
                self.news.clear()
                await self.news.wait()


def test_read_ask_killed_and_restarted(server):
    async def play():
        hearer = Hearer()
        opener = partial(open_server, server.url, LineSettings(baud=4800))
        source = ThreadSource(opener, RunningClock(), hearer.received, hearer.changed)
        task = asyncio.create_task(source.run())
        await hearer.until(lambda h: h.states)
        assert hearer.states == [False]  # the server is not there yet
        server.start()
        await hearer.until(lambda h: h.states[-1])
        os.write(server.master, b"+012.345\r")
        await hearer.until(lambda h: h.got == b"+012.345\r")
        assert source.write(b"?\r")
        assert await asyncio.to_thread(os.read, server.master, 10) == b"?\r"
        before = len(hearer.states)
        server.kill()
        await hearer.until(lambda h: not h.states[-1])
        await asyncio.sleep(1.0)  # a server that is just ending still takes a connection
        assert True not in hearer.states[before:]
        server.start()
        await hearer.until(lambda h: h.states[-1])
        os.write(server.master, b"+012.346\r")
        await hearer.until(lambda h: h.got == b"+012.345\r+012.346\r")
        assert not any("thread" in why or "ign_set" in why for why in map(text_of, hearer.reasons))
        task.cancel()
        with contextlib.suppress(asyncio.CancelledError):
            await task

    asyncio.run(play())


def test_a_program_that_can_not_be_run_is_known(tmp_path):
    broken = tmp_path / "ser2net"
    assert not runs(str(broken))
    broken.write_bytes(b"\x7fELF of another machine")
    broken.chmod(0o755)
    assert not runs(str(broken))
    assert runs(SERVER)
