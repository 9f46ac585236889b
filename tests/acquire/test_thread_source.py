"""The source that a thread reads: data, nothing yet, lost; opened again; ended with its thread."""

import asyncio
import contextlib
import functools
import os
import queue
import socket
import threading
import tty

import pytest

from barrelfit.acquire.clock import RunningClock
from barrelfit.acquire.errors import UserError
from barrelfit.acquire.inputs.gauge_profiles import load_profile
from barrelfit.acquire.wires import sources
from barrelfit.acquire.wires.blocking_line import (
    PortLine,
    SocketLine,
    check_server,
    is_server,
    open_server,
)
from barrelfit.acquire.wires.busy_port import BusyError, FirstOpening
from barrelfit.acquire.wires.byte_source import LineSettings
from barrelfit.acquire.wires.gauge_port import GaugePort
from barrelfit.acquire.wires.thread_source import LineLostError, ThreadSource
from barrelfit.rules.said import written
from tests.spoken import text_of

GONE = "gone"


class FakeLine:
    """A line whose far end is a queue: bytes arrive, an exception is raised."""

    def __init__(self):
        self.arrives = queue.Queue()
        self.sent = []
        self.closed = 0
        self.was_closed = threading.Event()

    def read(self):
        try:
            item = self.arrives.get(timeout=0.01)
        except queue.Empty:
            return b""
        if isinstance(item, Exception):
            raise item
        return item

    def write(self, data):
        if self.closed:
            raise LineLostError(written(GONE))
        self.sent.append(data)

    def close(self):
        self.closed += 1
        self.was_closed.set()


def in_loop(test):
    """Run a test in a loop of its own, closed at its end."""

    @functools.wraps(test)
    def run(*args, **kwargs):
        asyncio.run(test(*args, **kwargs))

    return run


class Hearer:
    def __init__(self):
        self.got = []
        self.states = []
        self.news = asyncio.Event()

    def received(self, t_ns, data):
        self.got.append(data)
        self.news.set()

    def changed(self, t_ns, present, reason):
        self.states.append((present, text_of(reason)))
        self.news.set()

    async def until(self, condition):
        async with asyncio.timeout(5):
            while not condition(self):
                self.news.clear()
                await self.news.wait()


@contextlib.asynccontextmanager
async def running(open_line):
    hearer = Hearer()
    source = ThreadSource(open_line, RunningClock(), hearer.received, hearer.changed)
    task = asyncio.create_task(source.run())
    try:
        yield source, hearer
    finally:
        task.cancel()
        with contextlib.suppress(asyncio.CancelledError):
            await task


def readers():
    return [t for t in threading.enumerate() if t.name == "gauge reader"]


@in_loop
async def test_data_is_heard_in_order_and_the_thread_ends_with_the_task():
    line = FakeLine()
    for part in (b"+0", b"12.345\r", b"\n"):
        line.arrives.put(part)
    async with running(lambda: line) as (source, hearer):
        await hearer.until(lambda h: b"".join(h.got) == b"+012.345\r\n")
        assert hearer.states == [(True, "line open")]
        assert source.write(b"?\r")
        assert line.sent == [b"?\r"]
    assert line.closed == 1
    assert readers() == []
    assert not source.write(b"?\r")


@in_loop
async def test_a_lost_line_is_told_closed_and_opened_again():
    lines = [FakeLine(), FakeLine()]
    opened = iter(lines)
    lines[1].arrives.put(b"+1\r")
    async with running(lambda: next(opened)) as (_, hearer):
        await hearer.until(lambda h: h.states)
        lines[0].arrives.put(LineLostError(written("the cable is gone")))
        await hearer.until(lambda h: h.got)
    assert hearer.states == [(True, "line open"), (False, "the cable is gone"), (True, "line open")]
    assert [line.closed for line in lines] == [1, 1]


@in_loop
async def test_a_line_that_hangs_up_at_once_was_never_open():
    """A device server that is just ending, and one whose gauge is away and that says so."""
    lines = [FakeLine(), FakeLine(), FakeLine(), FakeLine()]
    opened = iter(lines)
    lines[0].arrives.put(LineLostError(written(GONE)))
    lines[1].arrives.put(LineLostError(written(GONE)))
    lines[2].arrives.put(b"device open failure: no such file\r\n")
    lines[2].arrives.put(LineLostError(written(GONE)))
    async with running(lambda: next(opened)) as (source, hearer):
        await hearer.until(lambda h: h.states)
        assert not source.write(b"?\r")
        await hearer.until(lambda h: h.states[-1][0])
    said = "gone, having said 'device open failure: no such file'"
    assert hearer.states == [(False, GONE), (False, said), (True, "line open")]
    assert hearer.got == []
    assert [line.closed for line in lines] == [1, 1, 1, 1]


@in_loop
async def test_what_came_while_a_line_was_on_trial_is_heard_after_it_is_told_open():
    line, heard = FakeLine(), []
    line.arrives.put(b"+1\r")
    async with running(lambda: line) as (source, hearer):
        source._changed = lambda t_ns, there, _: heard.append((t_ns, there))
        source._received = lambda t_ns, data: heard.append((t_ns, data)) or hearer.news.set()
        await hearer.until(lambda _: len(heard) == 2)
    assert [what for _, what in heard] == [True, b"+1\r"]
    assert heard[0][0] <= heard[1][0]


@in_loop
async def test_a_reader_that_fails_unforeseen_is_told_too():
    line = FakeLine()
    lines = iter([line, FakeLine()])
    async with running(lambda: next(lines)) as (_, hearer):
        await hearer.until(lambda h: h.states)
        line.arrives.put(ZeroDivisionError("ours"))
        await hearer.until(lambda h: len(h.states) == 3)
    assert hearer.states[1] == (False, "the reader failed: ours")


@in_loop
async def test_a_reason_is_told_once_however_often_opening_fails(monkeypatch):
    monkeypatch.setattr("barrelfit.acquire.wires.thread_source.LOOK_AGAIN_S", 0.001)
    tries = [0]

    def refuse():
        tries[0] += 1
        if tries[0] < 4:
            raise OSError(111, "connection refused")
        if tries[0] == 4:
            raise UserError([written("two devices are usb:1209:0001")])
        return FakeLine()

    async with running(refuse) as (_, hearer):
        await hearer.until(lambda h: h.states and h.states[-1][0])
    assert hearer.states == [
        (False, "connection refused"),
        (False, "two devices are usb:1209:0001"),
        (True, "line open"),
    ]


@in_loop
async def test_a_line_that_another_program_keeps_ends_the_first_opening(monkeypatch):
    monkeypatch.setattr("barrelfit.acquire.wires.thread_source.LOOK_AGAIN_S", 0.001)
    hearer = Hearer()

    def refuse():
        sentence = "port usb:1209:0001 is in use by process 7 (terminal)"
        raise BusyError(sentence)

    source = ThreadSource(
        *(refuse, RunningClock(), hearer.received, hearer.changed), FirstOpening(patience_s=0.01)
    )
    with pytest.raises(UserError, match=r"process 7 \(terminal\); end that program"):
        await source.run()
    assert [there for there, _ in hearer.states] == [False]


@in_loop
async def test_a_line_that_opens_after_we_were_cancelled_is_closed():
    line, gate = FakeLine(), threading.Event()

    def slow():
        gate.wait(5)
        return line

    async with running(slow):
        await asyncio.sleep(0)
    gate.set()
    assert await asyncio.to_thread(line.was_closed.wait, 5)


# ------------------------------------------------------------------ lines


@in_loop
async def test_a_raw_tcp_line_reads_writes_and_sees_its_end():
    with socket.create_server(("127.0.0.1", 0)) as server:
        line = SocketLine(f"socket://127.0.0.1:{server.getsockname()[1]}")
        peer, _ = server.accept()
    assert line.read() == b""
    peer.sendall(b"+012.345\r")
    assert line.read() == b"+012.345\r"
    line.write(b"?\r")
    assert peer.recv(10) == b"?\r"
    peer.close()
    with pytest.raises(LineLostError):
        line.read()
    line.close()
    line.close()


def test_a_server_that_is_not_there_is_an_os_error():
    with socket.create_server(("127.0.0.1", 0)) as server:
        port = server.getsockname()[1]
    for scheme in ("socket", "rfc2217"):
        with pytest.raises(OSError, match=str(port)) as raised:
            open_server(f"{scheme}://127.0.0.1:{port}", LineSettings())
        assert raised.value.strerror == f"{scheme}://127.0.0.1:{port}: Connection refused"


@pytest.mark.slow
@pytest.mark.filterwarnings("ignore:set(Daemon|Name):DeprecationWarning")  # pyserial's own
def test_a_server_that_speaks_something_else_is_told_without_a_librarys_words():
    with socket.create_server(("127.0.0.1", 0)) as server:
        port = f"rfc2217://127.0.0.1:{server.getsockname()[1]}"
        with pytest.raises(OSError, match="5") as raised:  # it takes connections, and is silent
            open_server(port, LineSettings())
    assert raised.value.strerror == f"{port}: nobody answers there as RFC 2217 has it"


def test_names_of_device_servers():
    assert is_server("socket://bench:4001")
    assert is_server("rfc2217://10.0.0.7:4001")
    assert not is_server("/dev/ttyUSB0")
    assert check_server("g", "socket://bench:4001") is None
    for wrong in ("socket://bench", "rfc2217://:4001", "socket://bench:port", "socket://"):
        assert "expected" in text_of(check_server("g", wrong))
    with pytest.raises(UserError):
        open_server("socket://bench", LineSettings())


def test_a_local_port_read_by_blocking_as_where_no_loop_can_watch_it():
    master, slave = os.openpty()
    tty.setraw(slave)
    line = PortLine(os.ttyname(slave), LineSettings(baud=4800))
    assert line.read() == b""
    os.write(master, b"+012.345\r")
    got = b""
    while len(got) < 9:
        got += line.read()
    assert got == b"+012.345\r"
    line.write(b"?\r")
    assert os.read(master, 10) == b"?\r"
    os.close(slave)
    os.close(master)
    with pytest.raises(LineLostError):
        line.read()
    with pytest.raises(LineLostError):
        line.write(b"?\r")
    line.close()


@in_loop
async def test_where_no_loop_can_watch_a_port_a_thread_reads_it(monkeypatch):
    """The way taken on Windows, tried here on a pseudo-terminal."""
    monkeypatch.setattr(sources, "LOOP_WATCHES", False)
    master, slave = os.openpty()
    tty.setraw(slave)
    name = os.ttyname(slave)
    assert sources.check_source("g", name) is None
    hearer, clock = Hearer(), RunningClock()
    profile = load_profile("signed-decimal-cr")
    source = sources.source_for(
        GaugePort("g", name), profile, clock, hearer.received, hearer.changed
    )
    assert isinstance(source, ThreadSource)
    task = asyncio.create_task(source.run())
    await hearer.until(lambda h: h.states)
    os.write(master, b"+012.345\r")
    await hearer.until(lambda h: b"".join(h.got) == b"+012.345\r")
    task.cancel()
    with contextlib.suppress(asyncio.CancelledError):
        await task
    os.close(slave)
    os.close(master)
