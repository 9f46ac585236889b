"""USB gauges on a virtual backend: taken from the kernel, read, lost, replugged, given back."""

import asyncio
import contextlib
import errno
from types import SimpleNamespace

import pytest
import usb.core

from barrelfit.acquire.clock import RunningClock
from barrelfit.acquire.errors import UserError
from barrelfit.acquire.inputs.gauge_profiles import load_profile
from barrelfit.acquire.wires.busy_port import BusyError
from barrelfit.acquire.wires.gauge_port import GaugePort
from barrelfit.acquire.wires.thread_source import LineLostError, ThreadSource
from barrelfit.acquire.wires.usb_line import UsbLine, check_usb, found_device
from barrelfit.acquire.wires.usb_listed import NO_LIBRARY, no_rights, typists
from barrelfit.drivers.decode import Wire
from tests.acquire.virtual_usb import VENDOR, VirtualBackend, VirtualDevice
from tests.spoken import problems_of, text_of

KEYS = {c: u for u, c in zip(range(0x1E, 0x28), "1234567890", strict=True)}
KEYS |= {".": 0x37, "-": 0x2D, "\n": 0x28}
PORT = "usb:1209:0001"


def typed(text):
    return [r for c in text for r in (bytes([0, 0, KEYS[c], 0, 0, 0, 0, 0]), bytes(8))]


def opened(device, *, types=True):
    return UsbLine(GaugePort("g", PORT, listed=list), types=types, backend=VirtualBackend(device))


def test_a_typing_gauge_is_taken_from_the_kernel_and_its_keys_stay_away():
    device = VirtualDevice()
    line = opened(device)
    assert (device.driver, device.claimed, device.detached) == (False, True, 1)
    assert (0x21, 0x0B, 0, 0) in device.asked  # SET_PROTOCOL boot, HID 1.11 section 7.2.6
    line.close()
    assert (device.driver, device.claimed, device.open) == (False, False, 0)  # no key leaks now
    line.close()


def test_what_it_types_becomes_a_reading():
    device = VirtualDevice()
    line = opened(device)
    device.gives(*typed("12.345\n"))
    wire = Wire(load_profile("keyboard-decimal"))
    got = [o for n in range(14) for o in wire.feed(line.read(), n)]
    assert [o.length_nm for o in got] == [12_345_000]
    line.close()


def test_data_nothing_yet_and_lost_are_three_outcomes():
    device = VirtualDevice()
    line = opened(device)
    assert line.read() == b""
    device.gives(b"", b"\0\0\x1e", typed("1")[0])
    assert line.read() == b""  # an empty report
    assert line.read() == b""  # a short one
    assert line.read() == typed("1")[0]
    device.fails(errno.EPIPE)
    assert line.read() == b""  # a stall, cleared
    device.unplug()
    with pytest.raises(LineLostError):
        line.read()
    line.close()


@pytest.mark.parametrize(
    ("text", "is_lost"),
    [("Operation timed out", False), ("timeout error", False), ("No such device", True)],
)
def test_an_error_without_a_number_is_known_by_its_words(text, is_lost):
    device = VirtualDevice()
    line = opened(device)
    line._input = SimpleNamespace(wMaxPacketSize=8, read=raising(usb.core.USBError(text)))
    if is_lost:
        with pytest.raises(LineLostError):
            line.read()
    else:
        assert line.read() == b""
    line.close()


def raising(error):
    def read(*_):
        raise error

    return read


def test_an_input_output_error_is_a_loss():
    device = VirtualDevice()
    line = opened(device)
    device.fails(errno.EIO)
    with pytest.raises(LineLostError):
        line.read()
    line.close()


def test_a_keyboard_takes_no_bytes():
    line = opened(VirtualDevice())
    with pytest.raises(LineLostError):
        line.write(b"?\r")
    line.close()


def test_a_vendor_end_point_carries_bytes_both_ways():
    device = VirtualDevice(shape=VENDOR)
    line = opened(device, types=False)
    device.gives(b"+012.345\r+01", b"2.346\r")
    assert line.read() + line.read() == b"+012.345\r+012.346\r"
    line.write(b"?\r")
    assert device.sent == [b"?\r"]
    device.unplug()
    with pytest.raises(LineLostError):
        line.write(b"?\r")
    line.close()


def test_without_rights_the_sentence_names_the_rule():
    device = VirtualDevice()
    device.allowed = False
    with pytest.raises(UserError) as raised:
        opened(device)
    assert text_of(no_rights(PORT)) in problems_of(raised.value)[0]
    assert f"barrelfit gauges --udev-rule {PORT} | sudo tee" in text_of(no_rights(PORT))


def test_a_device_that_another_program_holds():
    device = VirtualDevice()
    device.held_by_other = True
    with pytest.raises(BusyError, match="in use by another program"):
        opened(device)
    assert not device.driver
    assert device.open == 0


def test_a_device_of_the_wrong_kind():
    with pytest.raises(UserError, match="no keyboard interface"):
        opened(VirtualDevice(shape=VENDOR))
    with pytest.raises(UserError, match="no vendor interface"):
        opened(VirtualDevice(), types=False)


def test_two_devices_of_one_name_are_both_left_alone():
    twins = [VirtualDevice(serial_number=""), VirtualDevice(serial_number="")]
    with pytest.raises(UserError, match="two devices are usb:1209:0001"):
        found_device(PORT, VirtualBackend(*twins))
    assert [t.detached for t in twins] == [0, 0]
    named = [VirtualDevice(serial_number="A1"), VirtualDevice(serial_number="B2")]
    backend = VirtualBackend(*named)
    assert found_device(f"{PORT}:B2", backend).serial_number == "B2"
    with pytest.raises(OSError, match="is not there"):
        found_device(f"{PORT}:C3", backend)


def test_names_that_are_none(monkeypatch):
    for name in ("usb:1209", "usb:12:1", "usb:1209:0001:", "usb:1209:00G1"):
        assert "expected usb:" in text_of(check_usb("g", name))

    def no_library(**_):
        raise usb.core.NoBackendError

    monkeypatch.setattr(usb.core, "find", no_library)
    assert text_of(check_usb("g", PORT)) == f"gauge 'g': {text_of(NO_LIBRARY)}"
    assert typists() == ([], NO_LIBRARY)


def test_typists_are_listed_with_their_rights(monkeypatch):
    devices = [VirtualDevice(), VirtualDevice(product=2), VirtualDevice(shape=VENDOR, product=3)]
    devices[1].allowed = False
    find, backend = usb.core.find, VirtualBackend(*devices)
    monkeypatch.setattr(usb.core, "find", lambda **wanted: find(**wanted | {"backend": backend}))
    found, sentence = typists()
    assert not sentence
    assert [(t.name, t.product, text_of(t.wrong)) for t in found] == [
        ("usb:1209:0001:SN0001", "Test gauge", ""),
        ("usb:1209:0002", "", text_of(no_rights("usb:1209:0002"))),
    ]
    assert text_of(no_rights("usb:1209:0002")) in text_of(check_usb("g", "usb:1209:0002"))
    assert check_usb("g", "usb:1209:0003") is None
    assert "is not there" in text_of(check_usb("g", "usb:1209:0009"))


def test_a_device_whose_keys_reach_the_system_is_refused_with_the_command():
    device = VirtualDevice()
    said = text_of(check_usb("g", PORT, VirtualBackend(device)))
    assert said.startswith(f"gauge 'g': what {PORT} types reaches the system as well: ")
    assert f"barrelfit gauges --udev-rule {PORT} | sudo tee /etc/udev/rules.d/" in said
    device.driver = False  # the rule took the kernel's driver off
    assert check_usb("g", PORT, VirtualBackend(device)) is None
    assert device.open == 0


def test_two_of_one_name_are_listed_by_their_sockets(monkeypatch):
    find, backend = usb.core.find, VirtualBackend(VirtualDevice(), VirtualDevice())
    monkeypatch.setattr(usb.core, "find", lambda **wanted: find(**wanted | {"backend": backend}))
    found, _ = typists()
    assert [t.name for t in found] == ["usb:1209:0001:SN0001@1-2"] * 2  # the mock has one socket
    assert text_of(check_usb("g", "usb:1209:0001:SN0001@1-3")).endswith("plug the gauge in")


def test_nothing_leaks_over_255_openings():
    device = VirtualDevice()
    backend = VirtualBackend(device)
    for _ in range(255):
        UsbLine(GaugePort("g", PORT, listed=list), types=True, backend=backend).close()
    assert (device.open, device.claimed, device.driver) == (0, False, False)


def test_a_replugged_gauge_is_detached_again_and_read_on():
    device = VirtualDevice()
    assert asyncio.run(replugged(device)) == [12_345_000, 60_005_000]
    assert device.detached == 2
    assert not device.driver  # its keys reach nobody after the end


async def replugged(device):
    """Type, unplug, plug, type again; gives the lengths that were read."""
    backend = VirtualBackend(device)
    wire = Wire(load_profile("keyboard-decimal"))
    lengths, states, news = [], [], asyncio.Event()

    def received(t_ns, data):
        lengths.extend(o.length_nm for o in wire.feed(data, t_ns) if hasattr(o, "length_nm"))
        news.set()

    def changed(t_ns, present, reason):
        states.append(present)
        news.set()

    async def until(condition):
        async with asyncio.timeout(5):
            while not condition():
                news.clear()
                await news.wait()

    port = GaugePort("g", PORT, listed=list)
    source = ThreadSource(
        lambda: UsbLine(port, types=True, backend=backend),
        RunningClock(),
        received,
        changed,
    )
    task = asyncio.create_task(source.run())
    device.gives(*typed("12.345\n"))
    await until(lambda: lengths)
    device.unplug()
    await until(lambda: states[-1] is False)
    device.gives(*typed("60.005\n"))
    device.plug()
    await until(lambda: len(lengths) == 2)
    task.cancel()
    with contextlib.suppress(asyncio.CancelledError):
        await task
    return lengths
