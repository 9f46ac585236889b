"""A gauge keeps its adapter over a loss: another one of the same name is told, never read."""

import asyncio
import os
import tty
from dataclasses import replace
from pathlib import Path

import pytest

from barrelfit.acquire.bench.adapters import adapter_taken, recall_adapter
from barrelfit.acquire.clock import RunningClock
from barrelfit.acquire.errors import UserError
from barrelfit.acquire.journal.events import WireOpened
from barrelfit.acquire.journal.port_events import NameShared
from barrelfit.acquire.wires.byte_source import LineSettings
from barrelfit.acquire.wires.gauge_port import GaugePort
from barrelfit.acquire.wires.serial_source import SerialSource
from barrelfit.acquire.wires.usb_line import UsbLine
from barrelfit.acquire.wires.usb_tree import Plugged, plugged_at
from tests.acquire.test_serial_source import Hearer, Plug, absent, present
from tests.acquire.usb_folder import UsbFolder
from tests.acquire.virtual_usb import VirtualBackend, VirtualDevice
from tests.spoken import problems_of, text_of

BY_ID = "/dev/serial/by-id/usb-adapter_SN1-if00-port0"
BY_PATH = "/dev/serial/by-path/pci-0000:00:14.0-usb-0:2:1.0-port0"
BY_NODE = "/dev/ttyUSB0"


@pytest.fixture
def usb(tmp_path):
    return UsbFolder(tmp_path)


def lost_from(usb, name, serial="SN1"):
    """A port that was read in socket 1-2, and whose adapter was pulled out."""
    usb.plug("1-2", serial)
    port = usb.port(name)
    port.check(usb.at("1-2"))
    port.opened(usb.at("1-2"))
    usb.unplug("1-2")
    port.lost()
    return port


def refused(port, found):
    with pytest.raises(UserError) as raised:
        port.check(found)
    (sentence,) = problems_of(raised.value)
    assert f"--take {port.gauge}=PORT" in sentence
    return sentence


@pytest.mark.parametrize("name", [BY_ID, BY_PATH, BY_NODE, "usb:1209:0002"])
@pytest.mark.parametrize("serial", ["SN1", ""])
def test_the_same_socket_is_taken_again(usb, name, serial):
    port = lost_from(usb, name, serial)
    usb.plug("1-2", serial)
    port.check(usb.at("1-2"))


@pytest.mark.parametrize("name", [BY_ID, BY_NODE, "usb:1209:0002:SN1"])
def test_a_serial_number_that_was_nobody_elses_may_move_to_another_socket(usb, name):
    port = lost_from(usb, name)
    usb.plug("1-3")
    port.check(usb.at("1-3"))


@pytest.mark.parametrize("name", [BY_ID, BY_NODE, "usb:1209:0002"])
def test_without_a_serial_number_another_socket_is_another_adapter(usb, name):
    port = lost_from(usb, name, serial="")
    usb.plug("1-3", "")
    assert "has no serial number, and the gauge's was in 1-2" in refused(port, usb.at("1-3"))


@pytest.mark.parametrize("name", [BY_ID, BY_PATH, BY_NODE, "usb:1209:0002@1-2"])
def test_other_numbers_are_another_adapter_wherever_it_is(usb, name):
    port = lost_from(usb, name)
    usb.plug("1-2", "SN2")
    assert "serial number SN2 in socket 1-2 is there now" in refused(port, usb.at("1-2"))


@pytest.mark.parametrize("name", [BY_ID, "usb:1209:0002:SN1"])
def test_a_twin_that_stood_there_before_the_loss_is_not_taken(usb, name):
    usb.plug("1-2")
    port = usb.port(name)
    port.opened(usb.at("1-2"))
    usb.plug("1-3")
    usb.unplug("1-2")  # before it was looked who else is there
    port.lost()
    assert "stood there before the adapter" in refused(port, usb.at("1-3"))


@pytest.mark.parametrize("name", [BY_ID, "usb:1209:0002:SN1"])
def test_a_name_that_was_ever_shared_is_taken_from_neither(usb, name):
    usb.plug("1-2")
    port = usb.port(name)
    port.check(usb.at("1-2"))
    port.opened(usb.at("1-2"))
    assert not port.watch()
    usb.plug("1-3")
    assert "once this one is unplugged, it is not read until you say" in text_of(port.watch())
    assert not port.watch()  # told once
    port.check(usb.at("1-2"))  # the same plugging is the gauge's all the same
    usb.unplug("1-3")
    usb.unplug("1-2")
    port.lost()
    usb.plug("1-2")
    assert "have been there under one name" in refused(port, usb.at("1-2"))
    usb.unplug("1-2")
    usb.plug("1-3")
    refused(port, usb.at("1-3"))


def test_two_of_one_name_at_the_first_opening_are_not_taken_even_when_one_is_gone(usb):
    usb.plug("1-2", "")
    usb.plug("1-3", "")
    port = usb.port(BY_ID)
    refused(port, usb.at("1-3"))
    usb.unplug("1-2")
    refused(port, usb.at("1-3"))


def test_adapters_of_one_kind_named_by_their_sockets_are_no_trouble(usb):
    usb.plug("1-2", "")
    usb.plug("1-3", "")
    for name, socket in ((BY_PATH, "1-2"), (BY_NODE, "1-3")):
        port = usb.port(name)
        port.check(usb.at(socket))
        port.opened(usb.at(socket))
        assert not port.watch()


def test_a_person_says_which_is_which(usb):
    port = lost_from(usb, BY_ID)
    usb.plug("1-2")
    usb.plug("1-3")
    refused(port, usb.at("1-3"))
    port.choose(BY_PATH.replace(":2:", ":3:"), "A. Smith")
    port.check(usb.at("1-3"))
    port.opened(usb.at("1-3"))
    told = adapter_taken(port)
    assert (told.chosen_by, told.socket, told.port) == ("A. Smith", "1-3", port.name)


def test_the_record_remembers_the_adapter_and_the_sharing(usb):
    port = lost_from(usb, BY_ID)
    events = [adapter_taken(port), NameShared("m", BY_ID, "the adapter a and the adapter b")]
    later = {"m": usb.port(BY_ID)}
    usb.plug("1-2")
    for event in events:
        recall_adapter(later, event)
    assert later["m"].known == port.known
    assert "the adapter a and the adapter b have been" in refused(later["m"], usb.at("1-2"))
    port.choose(BY_PATH, "A. Smith")
    port.opened(usb.at("1-2"))
    recall_adapter(later, adapter_taken(port))
    later["m"].check(usb.at("1-2"))
    assert (later["m"].name, later["m"].chosen_by) == (BY_PATH, "A. Smith")
    recall_adapter(later, WireOpened("m", BY_PATH))  # other records say nothing of it


def test_a_restart_of_the_system_is_an_unplugging():
    now = Plugged("1209:0002", "SN1", "1-2", "1:4", since_us=5)
    port = GaugePort("m", BY_ID, listed=list, known=now, shared=("a", "b"))
    port.check(now)
    port.check(Plugged("1209:0002", "SN1", "1-2", "1:4"))  # the system does not say when
    refused(port, Plugged("1209:0002", "SN1", "1-2", "1:4", since_us=9))


def test_a_port_that_is_no_usb_device_is_never_compared(usb, tmp_path):
    port = usb.port(str(tmp_path / "pts"))
    assert port.at(Path("/dev/pts/0")) is None
    assert plugged_at(Path("/dev/null")) is None
    port.check(None)
    port.opened(None)
    assert adapter_taken(port) is None
    assert not port.watch()


def test_the_twin_is_not_read_when_the_gauges_own_adapter_is_pulled_out(usb, tmp_path):
    """The link by serial number goes over to the twin; both are real terminals here."""
    pairs = [os.openpty() for _ in range(2)]
    names = [os.ttyname(slave) for _, slave in pairs]
    for _, slave in pairs:
        tty.setraw(slave)
    link = tmp_path / "by-id"
    link.symlink_to(names[0])
    usb.plug("1-2", tty=Path(names[0]).name)
    port = usb.port(str(link))

    async def play():
        hearer = Hearer()

        def changed(t_ns, there, reason):
            if not there:
                port.lost()
            hearer.changed(t_ns, there, reason)

        source = SerialSource(port, LineSettings(), RunningClock(), hearer.received, changed)
        task = asyncio.create_task(source.run())
        await hearer.until(present)
        usb.plug("1-3", tty=Path(names[1]).name)
        link.unlink()
        link.symlink_to(names[1])
        usb.unplug("1-2")
        for end in pairs[0]:
            os.close(end)
        os.write(pairs[1][0], b"+060.005\r")
        await hearer.until(lambda h: "stood there before" in h.states[-1][1])
        assert absent(hearer)
        assert hearer.got == b""
        assert [there for there, _ in hearer.states].count(True) == 1
        task.cancel()
        await asyncio.wait({task})

    try:
        asyncio.run(play())
    finally:
        for end in pairs[1]:
            os.close(end)


def test_an_adapter_whose_entries_are_half_gone_is_no_other_adapter(tmp_path):
    """As the kernel takes its entries away one by one, and makes them again."""
    own = Plugged("1209:0002", "SN1", "1-2", "1:4", since_us=5, interface="00")
    again = replace(own, plug="1:5", since_us=9)
    looks = [own, own, replace(own, interface=""), None, replace(again, serial_number=""), None]
    plug = Plug(tmp_path)
    plug.plug()
    port = GaugePort("m", str(plug.link), listed=list)

    async def play():
        hearer = Hearer()

        def look(path):
            hearer.news.set()
            return looks.pop(0) if looks else again

        port.at = look
        source = SerialSource(port, LineSettings(), RunningClock(), hearer.received, hearer.changed)
        task = asyncio.create_task(source.run())
        await hearer.until(present)
        plug.unplug()
        await hearer.until(lambda h: not looks)
        plug.plug()
        await hearer.until(lambda h: len(h.states) > 1 and h.states[-1][0])
        task.cancel()
        await asyncio.wait({task})
        return [there for there, _ in hearer.states]

    try:
        assert asyncio.run(play()) == [True, False, False, True]  # lost, not there
        assert port.known == again
    finally:
        plug.unplug()


def test_the_twin_of_a_gauge_that_types_is_not_read(usb):
    device = VirtualDevice()
    port = usb.port("usb:1209:0001")
    ours = Plugged("1209:0001", "SN0001", "1-2", "1:4")
    port.listed = lambda: [ours]
    UsbLine(port, types=True, backend=VirtualBackend(device)).close()
    assert port.known == ours
    twin = Plugged("1209:0001", "SN0001", "1-7", "1:4", since_us=7)
    port.listed = lambda: [twin, Plugged("1209:0001", "SN0001", "1-2", "1:3")]
    with pytest.raises(UserError, match="have been there under one name"):
        UsbLine(port, types=True, backend=VirtualBackend(device))
    assert device.claimed is False
