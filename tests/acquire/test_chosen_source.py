"""A gauge whose port is another one from now on, because a person said so."""

import asyncio
import os
import pty
import tty
from pathlib import Path

import pytest

from barrelfit.acquire.bench.adapters import recall_adapter
from barrelfit.acquire.bench.ports import not_there
from barrelfit.acquire.clock import RunningClock
from barrelfit.acquire.errors import UserError
from barrelfit.acquire.journal.port_events import AdapterChosen
from barrelfit.acquire.wires.byte_source import LineSettings
from barrelfit.acquire.wires.chosen_source import ChosenSource
from barrelfit.acquire.wires.gauge_port import GaugePort
from barrelfit.acquire.wires.serial_source import SerialSource
from barrelfit.rules.said import written
from tests.spoken import text_of


@pytest.fixture
def cables(tmp_path):
    """Two pseudo-terminals by name, each with the side that a gauge writes to."""
    made, ends = {}, []
    for name in ("one", "two"):
        near, far = pty.openpty()
        tty.setraw(far)
        (tmp_path / name).symlink_to(os.ttyname(far))
        made[name] = (near, tmp_path / name)
        ends += [near, far]
    yield made
    for end in ends:
        os.close(end)


class Hearer:
    def __init__(self):
        self.got, self.states, self.news = b"", [], asyncio.Event()

    def received(self, _t_ns, data):
        self.got += data
        self.news.set()

    def changed(self, _t_ns, present, reason):
        self.states.append((present, reason))
        self.news.set()

    async def until(self, condition):
        async with asyncio.timeout(20):
            while not condition():
                self.news.clear()
                await self.news.wait()


async def test_from_then_on_it_is_read_at_the_other_port_and_no_more_at_the_first(cables):
    (one, first), (two, second) = cables["one"], cables["two"]
    hearer, port, clock = Hearer(), GaugePort("m", str(first)), RunningClock()

    def make(_first):
        return SerialSource(port, LineSettings(), clock, hearer.received, hearer.changed)

    source = ChosenSource(make, clock, hearer.changed)
    task = asyncio.create_task(source.run())
    await hearer.until(lambda: hearer.states)
    os.write(one, b"a")
    await hearer.until(lambda: hearer.got == b"a")
    port.choose(str(second), "Kim")
    source.begin_anew("Kim said so")
    await hearer.until(lambda: len(hearer.states) == 3)
    assert hearer.states[1] == (False, "Kim said so")
    os.write(one, b"x")
    os.write(two, b"b")
    await hearer.until(lambda: hearer.got == b"ab")
    assert source.write(b"?")
    assert os.read(two, 9) == b"?"
    task.cancel()
    with pytest.raises(asyncio.CancelledError):
        await task


async def test_a_source_that_ends_the_bench_still_does():
    class Refusing:
        async def run(self):
            raise UserError([written("in use")])

    with pytest.raises(UserError, match="in use"):
        await ChosenSource(lambda _: Refusing(), RunningClock(), lambda *_: None).run()


def test_what_can_not_be_a_gauge_s_port(cables, tmp_path):
    ports = {name: GaugePort(name, str(path)) for name, (_, path) in cables.items()}
    assert "no gauge 'three'" in text_of(not_there(ports, "three", str(cables["one"][1])))
    assert "nothing is plugged in" in text_of(not_there(ports, "one", str(tmp_path / "none")))
    assert "are at one port" in text_of(not_there(ports, "one", str(cables["two"][1])))
    assert not_there({"one": ports["one"]}, "one", str(cables["two"][1])) is None
    (tmp_path / "file").write_text("no tty")
    assert not_there(ports, "one", str(tmp_path / "file"))


def test_it_is_still_so_after_a_restart():
    ports = {"m": GaugePort("m", "/dev/serial/by-id/x")}
    recall_adapter(ports, AdapterChosen("m", "/dev/serial/by-path/y", "Kim", "board"))
    assert (ports["m"].name, ports["m"].chosen_by) == ("/dev/serial/by-path/y", "Kim")
    assert Path(ports["m"].name).parent.name == "by-path"
