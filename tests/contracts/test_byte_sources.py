"""What every byte source promises the daemon, whatever carries the cable.

The same promises over a pseudo-terminal that the event loop watches and over a device server's
TCP line that a thread reads.
"""

import asyncio
import contextlib
import os
import pty
import socket
import tty
from functools import partial

import pytest

from barrelfit.acquire.clock import RunningClock
from barrelfit.acquire.wires.blocking_line import open_server
from barrelfit.acquire.wires.byte_source import LineSettings
from barrelfit.acquire.wires.gauge_port import GaugePort
from barrelfit.acquire.wires.thread_source import ThreadSource
from tests.system.ports import free_port

LINE = LineSettings()


class Terminal:
    """A gauge on a pseudo-terminal whose name outlives a replug."""

    def __init__(self, folder) -> None:
        self._link = folder / "gauge"

    def source(self, clock, received, changed):
        serial_source = pytest.importorskip(
            "barrelfit.acquire.wires.serial_source", reason="POSIX only"
        )
        return serial_source.SerialSource(
            GaugePort("g", str(self._link)), LINE, clock, received, changed
        )

    async def plug(self) -> None:
        self._near, self._far = pty.openpty()
        tty.setraw(self._far)
        os.set_blocking(self._near, False)
        self._link.symlink_to(os.ttyname(self._far))

    async def joined(self) -> None:
        """Nothing to do: a terminal has no connection of its own."""

    def unplug(self) -> None:
        self._link.unlink()
        os.close(self._near)
        os.close(self._far)

    def send(self, data: bytes) -> None:
        os.write(self._near, data)

    def heard(self) -> bytes:
        with contextlib.suppress(BlockingIOError):
            return os.read(self._near, 100)
        return b""


class Server:
    """A gauge behind a device server: one TCP connection, closed when it is unplugged."""

    def __init__(self, folder) -> None:
        assert folder
        self._port = free_port()

    def source(self, clock, received, changed):
        name = f"socket://127.0.0.1:{self._port}"
        return ThreadSource(partial(open_server, name, LINE), clock, received, changed)

    async def plug(self) -> None:
        self._listener = socket.create_server(("127.0.0.1", self._port))
        self._listener.setblocking(False)  # noqa: FBT003

    async def joined(self) -> None:
        loop = asyncio.get_running_loop()
        self._peer, _ = await asyncio.wait_for(loop.sock_accept(self._listener), 5)
        self._peer.setblocking(False)  # noqa: FBT003

    def unplug(self) -> None:
        self._listener.close()
        self._peer.close()

    def send(self, data: bytes) -> None:
        self._peer.send(data)

    def heard(self) -> bytes:
        with contextlib.suppress(BlockingIOError):
            return self._peer.recv(100)
        return b""


class Daemon:
    """Hears what a source tells."""

    def __init__(self, cable) -> None:
        self.clock = RunningClock()
        self.chunks: list[tuple[int, bytes]] = []
        self.changes: list[tuple[int, bool, str]] = []
        self.source = cable.source(self.clock, self._received, self._changed)

    def _received(self, t_ns: int, data: bytes) -> None:
        self.chunks.append((t_ns, data))

    def _changed(self, t_ns: int, present: bool, reason: str) -> None:
        self.changes.append((t_ns, present, reason))

    @property
    def data(self) -> bytes:
        return b"".join(data for _, data in self.chunks)


async def until(true, seconds: float = 5.0) -> None:
    async with asyncio.timeout(seconds):
        while not true():  # noqa: ASYNC110  a source wakes nobody but the daemon
            await asyncio.sleep(0.005)


@pytest.fixture(params=[Terminal, Server])
def cable(request, tmp_path):
    return request.param(tmp_path)


@contextlib.asynccontextmanager
async def running(cable):
    daemon = Daemon(cable)
    await cable.plug()
    task = asyncio.create_task(daemon.source.run())
    await cable.joined()
    await until(lambda: daemon.changes)
    yield daemon
    assert not task.done()
    task.cancel()
    await asyncio.wait({task}, timeout=5)
    assert task.cancelled()


@pytest.mark.slow
async def test_present_is_said_before_any_byte_and_bytes_come_whole_in_order_with_their_time(cable):
    async with running(cable) as daemon:
        assert daemon.changes[0][1] is True
        before_ns = daemon.clock.monotonic_ns()
        for number in range(50):
            cable.send(b"+%07.3f\r\n" % number)
        await until(lambda: daemon.data.count(b"\n") == 50)
        assert daemon.data == b"".join(b"+%07.3f\r\n" % number for number in range(50))
        times = [t_ns for t_ns, _ in daemon.chunks]
        assert times == sorted(times)
        assert before_ns <= times[0] <= times[-1] <= daemon.clock.monotonic_ns()
    cable.unplug()


@pytest.mark.slow
async def test_what_is_written_leaves_and_without_a_port_nothing_does(cable):
    daemon = Daemon(cable)
    assert daemon.source.write(b"?") is False
    async with running(cable) as there:
        assert there.source.write(b"ask\r") is True
        heard = bytearray()
        await until(lambda: heard.extend(cable.heard()) or bytes(heard) == b"ask\r")
    cable.unplug()


@pytest.mark.slow
async def test_a_loss_is_said_once_within_a_second_and_the_return_by_itself(cable):
    async with running(cable) as daemon:
        cable.send(b"1\r\n")
        await until(lambda: daemon.data)
        cable.unplug()
        await until(lambda: not daemon.changes[-1][1], 1.0)
        assert daemon.changes[-1][2]
        assert daemon.source.write(b"?") is False
        await cable.plug()
        await cable.joined()
        await until(lambda: daemon.changes[-1][1])
        cable.send(b"2\r\n")
        await until(lambda: daemon.data.endswith(b"2\r\n"))
        presences = [present for _, present, _ in daemon.changes]
        assert presences[0] is True
        assert presences[-1] is True
    cable.unplug()
