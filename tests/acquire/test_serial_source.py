"""A tty read by the loop: asked for its settings, lost in every way, found again, never shared."""

import asyncio
import contextlib
import os
import subprocess
import sys
import termios
import time
import tty
from pathlib import Path

import pytest

import barrelfit.acquire.wires.serial_source as door
from barrelfit.acquire.clock import RunningClock
from barrelfit.acquire.errors import UserError
from barrelfit.acquire.inputs.gauge_profiles import load_profile
from barrelfit.acquire.wires.busy_port import FirstOpening
from barrelfit.acquire.wires.byte_source import LineSettings
from barrelfit.acquire.wires.gauge_port import GaugePort
from barrelfit.acquire.wires.serial_source import SerialSource, check_port, open_port
from barrelfit.drivers.decode import BEFORE, Wire
from barrelfit.drivers.outcome import Note, WireReading
from tests.spoken import problems_of, text_of


class Plug:
    """A pseudo-terminal behind a link that lasts, as by-id links do: plug, unplug, plug."""

    def __init__(self, folder):
        self.link = Path(folder) / "gauge"
        self.master = self.slave = -1

    def plug(self):
        self.master, self.slave = os.openpty()
        tty.setraw(self.slave)
        self.link.unlink(missing_ok=True)
        self.link.symlink_to(os.ttyname(self.slave))

    def unplug(self):
        self.link.unlink(missing_ok=True)
        for descriptor in (self.slave, self.master):
            if descriptor >= 0:
                os.close(descriptor)
        self.master = self.slave = -1

    def sends(self, data):
        os.write(self.master, data)


class Hearer:
    def __init__(self):
        self.got = b""
        self.states = []
        self.calls = 0
        self.news = asyncio.Event()

    def received(self, t_ns, data):
        self.got += data
        self.calls += 1
        self.news.set()

    def changed(self, t_ns, present, reason):
        self.states.append((present, text_of(reason)))
        self.news.set()

    async def until(self, condition, limit_s=5):
        async with asyncio.timeout(limit_s):
            while not condition(self):
                self.news.clear()
                await self.news.wait()


@contextlib.asynccontextmanager
async def running(plug):
    hearer = Hearer()
    source = SerialSource(
        GaugePort("g", str(plug.link)),
        LineSettings(4800),
        RunningClock(),
        hearer.received,
        hearer.changed,
    )
    task = asyncio.create_task(source.run())
    try:
        yield source, hearer
    finally:
        task.cancel()
        with contextlib.suppress(asyncio.CancelledError):
            await task


def present(hearer):
    return bool(hearer.states) and hearer.states[-1][0]


def absent(hearer):
    return bool(hearer.states) and not hearer.states[-1][0]


@pytest.fixture
def plug(tmp_path):
    plug = Plug(tmp_path)
    plug.plug()
    yield plug
    plug.unplug()


def test_seven_bits_even_parity_two_stop_bits_are_asked_for(plug, monkeypatch):
    """A pseudo-terminal refuses them; what was asked for is recorded and the refusal forgiven."""
    asked = []
    real = termios.tcsetattr

    def forgiving(descriptor, when, attributes):
        asked.append((attributes[0], attributes[2]))
        try:
            real(descriptor, when, attributes)
        except termios.error as error:
            if error.args[0] != 22:
                raise

    monkeypatch.setattr(door, "PTY_MAJORS", range(0))
    monkeypatch.setattr("serial.serialposix.termios.tcsetattr", forgiving)
    line = LineSettings(baud=4800, bits=7, parity="E", stop=2)
    handle = open_port(os.ttyname(plug.slave), line)
    wanted = termios.CS7 | termios.PARENB | termios.CSTOPB
    mask = termios.CSIZE | termios.PARENB | termios.PARODD | termios.CSTOPB
    assert wanted in [control & mask for _, control in asked]
    assert asked[-1][0] & termios.INPCK  # a wrong parity bit is noticed,
    assert asked[-1][0] & termios.PARMRK  # and marked in the bytes
    assert handle.baudrate == 4800
    assert not handle.xonxoff
    handle.close()


def test_bytes_arrive_and_requests_leave(plug):
    async def play():
        async with running(plug) as (source, hearer):
            await hearer.until(present)
            for byte in b"+012.345\r":
                plug.sends(bytes([byte]))
            await hearer.until(lambda h: h.got == b"+012.345\r")
            assert source.write(b"?\r")
            assert os.read(plug.master, 10) == b"?\r"

    asyncio.run(play())


@pytest.mark.slow
def test_unplugged_while_idle_and_back_within_a_second_of_its_link(plug):
    async def play():
        async with running(plug) as (source, hearer):
            await hearer.until(present)
            plug.unplug()
            await hearer.until(absent)
            assert not source.write(b"?\r")
            calls = hearer.calls
            await asyncio.sleep(0.25)  # a dead descriptor left in the loop would spin here
            assert hearer.calls == calls
            plug.plug()
            back = time.monotonic()
            await hearer.until(present)
            assert time.monotonic() - back < 1.0
            plug.sends(b"+1\r")
            await hearer.until(lambda h: h.got == b"+1\r")
            assert "gone" in hearer.states[1][1]

    asyncio.run(play())


@pytest.mark.slow
def test_unplugged_inside_a_frame_and_while_writing(plug):
    async def play():
        async with running(plug) as (source, hearer):
            await hearer.until(present)
            plug.sends(b"+012.3")
            await hearer.until(lambda h: h.got)
            plug.unplug()
            source.write(b"?\r")  # the loss may be met here or in the read
            await hearer.until(absent)
            for _ in range(3):  # again and again
                plug.plug()
                await hearer.until(present)
                plug.unplug()
                await hearer.until(absent)

    asyncio.run(play())


def test_a_descriptor_is_closed_before_the_loss_is_told(plug):
    async def play():
        async with running(plug) as (source, hearer):
            await hearer.until(present)
            descriptors = []
            told = hearer.changed

            def changed(t_ns, there, reason):
                descriptors.append(source._handle)
                told(t_ns, there, reason)

            source._changed = changed
            plug.unplug()
            await hearer.until(absent)
            assert set(descriptors) == {None}

    asyncio.run(play())


OTHERS_DO = "import serial; held = serial.Serial(sys.argv[1], exclusive=True)"
WE_DO = (
    "from barrelfit.acquire.wires.byte_source import LineSettings\n"
    "from barrelfit.acquire.wires.serial_source import open_port\n"
    "held = open_port(sys.argv[1], LineSettings())"
)


@contextlib.contextmanager
def holding(name, how=OTHERS_DO):
    """Another process that has a port open and locked until it is let go; gives its pid."""
    code = f"import sys\n{how}; print('open', flush=True)\nsys.stdin.read()"
    other = subprocess.Popen(  # noqa: S603  our own code
        [sys.executable, "-c", code, name], stdin=subprocess.PIPE, stdout=subprocess.PIPE
    )
    try:
        assert other.stdout.readline() == b"open\n"
        yield other
    finally:
        other.communicate()


@pytest.mark.system
def test_a_second_opening_is_refused_with_the_holders_process(plug):
    name = os.ttyname(plug.slave)
    with holding(name, WE_DO) as other:
        with pytest.raises(UserError) as raised:
            open_port(name, LineSettings())
        assert f"process {other.pid} " in problems_of(raised.value)[0]
    handle = open_port(name, LineSettings())
    handle.close()


@pytest.mark.system
def test_a_port_that_another_program_keeps_ends_the_first_opening_with_its_name(plug):
    async def play(other):
        hearer = Hearer()
        source = SerialSource(
            *(
                GaugePort("g", str(plug.link)),
                LineSettings(),
                RunningClock(),
                hearer.received,
                hearer.changed,
            ),
            FirstOpening(patience_s=0.2),
        )
        with pytest.raises(UserError, match=rf"in use by process {other.pid} .*end that program"):
            await source.run()
        assert [there for there, _ in hearer.states] == [False]  # told before it is refused
        assert f"process {other.pid} " in hearer.states[0][1]
        assert hearer.states[0][1].endswith("; it is tried again until it is free")

    with holding(os.ttyname(plug.slave)) as other:
        asyncio.run(play(other))


@pytest.mark.system
def test_a_port_that_is_let_go_in_time_is_opened(plug):
    async def play(other):
        async with running(plug) as (_, hearer):
            await hearer.until(absent)
            other.stdin.close()
            await hearer.until(present)

    with holding(os.ttyname(plug.slave)) as other:
        asyncio.run(play(other))
        other.stdin = None


@pytest.mark.system
def test_a_port_lost_to_another_program_is_waited_for_without_end(plug):
    async def play():
        hearer = Hearer()
        source = SerialSource(
            *(
                GaugePort("g", str(plug.link)),
                LineSettings(),
                RunningClock(),
                hearer.received,
                hearer.changed,
            ),
            FirstOpening(patience_s=0.0),
        )
        task = asyncio.create_task(source.run())
        await hearer.until(present)
        plug.unplug()
        await hearer.until(absent)
        plug.master, plug.slave = os.openpty()
        with holding(os.ttyname(plug.slave)) as other:
            plug.link.symlink_to(os.ttyname(plug.slave))
            await hearer.until(lambda h: f"process {other.pid} " in h.states[-1][1])
            assert not task.done()
        await hearer.until(present)
        task.cancel()
        with contextlib.suppress(asyncio.CancelledError):
            await task

    asyncio.run(play())


def test_two_readers_would_share_the_bytes_so_the_lock_matters(plug):
    name = os.ttyname(plug.slave)
    first = open_port(name, LineSettings())
    with pytest.raises(UserError, match="in use by"):
        open_port(name, LineSettings())
    first.close()


def test_old_lines_are_before_the_session_and_the_next_press_is_read(plug):
    profile = load_profile("signed-decimal-cr")
    wire = Wire(profile)
    plug.sends(b"+001.000\r" * 60)

    async def play():
        async with running(plug) as (_, hearer):
            await hearer.until(present)
            wire.opened(0)
            await asyncio.sleep(0.05)
            early = wire.feed(hearer.got, 1) if hearer.got else []
            assert not any(isinstance(o, WireReading) for o in early)
            assert all(isinstance(o, Note) and o.note == BEFORE for o in early)
            hearer.got = b""
            plug.sends(b"+002.000\r")
            await hearer.until(lambda h: h.got == b"+002.000\r")
            (reading,) = wire.feed(hearer.got, 3_000_000_000)
            assert reading.length_nm == 2_000_000

    asyncio.run(play())


def test_what_keeps_a_port_from_being_opened_is_a_sentence(tmp_path):
    assert "is not there" in text_of(check_port("g", str(tmp_path / "none")))
    (tmp_path / "file").touch()
    assert "no serial port" in text_of(check_port("g", str(tmp_path / "file")))
