"""Gauges on a kernel of its own: a real ttyUSB at 7E2 and a real keyboard driver, unplugged.

GUEST_DIR=/some/folder tests/guest/build.sh
GUEST_DIR=/some/folder python -m pytest -m long tests/guest
"""

import json
import time

import pytest

from tests.guest.machine import Machine, guest_folder

BASE = guest_folder()

pytestmark = [
    pytest.mark.long,
    pytest.mark.timeout(1200),
    pytest.mark.skipif(
        BASE is None, reason="needs Debian's qemu-system-x86 and a guest: tests/guest/build.sh"
    ),
]

READER = '''
import asyncio, glob, json, os, subprocess, termios, threading, time
from dataclasses import replace
from barrelfit.acquire.clock import RunningClock
from barrelfit.acquire.inputs.gauge_profiles import load_profile
from barrelfit.acquire.wires.gauge_port import GaugePort
from barrelfit.acquire.wires.sources import check_source, source_for
from barrelfit.drivers.decode import Wire

def read(port, profile):
    """Read a gauge in a thread of its own; gives the list its events go to."""
    seen = []
    wire = Wire(profile, port=profile.port)
    def received(t_ns, data):
        seen.extend(o.length_nm for o in wire.feed(data, t_ns) if hasattr(o, "length_nm"))
    def changed(t_ns, present, reason):
        if present:
            wire.opened(t_ns)
        seen.append(present)
    async def run():
        await source_for(GaugePort("g", port), profile, RunningClock(), received, changed).run()
    threading.Thread(target=asyncio.run, args=(run(),), daemon=True).start()
    return seen

def until(seen, wanted, seconds=60):
    """Wait until the events are those wanted; prints them."""
    end = time.monotonic() + seconds
    while seen != wanted and time.monotonic() < end:
        time.sleep(0.05)
    print(json.dumps(seen))

def there(pattern, seconds=60):
    """Wait for a path; prints it."""
    end = time.monotonic() + seconds
    while not glob.glob(pattern) and time.monotonic() < end:
        time.sleep(0.05)
    print(json.dumps(sorted(glob.glob(pattern))))
'''


@pytest.fixture(scope="module")
def machine(tmp_path_factory):
    with Machine(BASE, tmp_path_factory.mktemp("guest")) as machine:
        machine.run(READER)
        yield machine


def seen(machine, name, wanted):
    got = json.loads(machine.run(f"until({name}, {wanted!r})"))
    assert got == wanted


def test_an_adapter_at_seven_bits_even_two_stops_lost_and_found(machine):
    machine.plug_adapter("adapter0")
    (link,) = json.loads(machine.run("there('/dev/serial/by-id/*')"))
    named = "import json; from barrelfit.acquire.wires.ports_found import found_ports\n"
    named += "print(json.dumps([p.name for p in found_ports()]))"
    assert json.loads(machine.run(named)) == [link]
    machine.run(
        f"profile = load_profile('header-unit-letter-padded')\nserial0 = read({link!r}, profile)"
    )
    seen(machine, "serial0", [True])
    # A reader of its own looks at the line, as the lock is only advisory for root.
    flags = machine.run(
        f"fd = os.open({link!r}, os.O_RDWR | os.O_NOCTTY | os.O_NONBLOCK)\n"
        "a = termios.tcgetattr(fd); os.close(fd)\n"
        "print(a[2] & termios.CSIZE == termios.CS7, bool(a[2] & termios.PARENB),"
        " bool(a[2] & termios.CSTOPB), a[4] == termios.B4800)"
    )
    assert flags.split() == ["True"] * 4
    time.sleep(1.0)  # the first half second after an opening is not believed to be a press
    machine.gauge.sendall(b"RNM   25.400\r\n")
    seen(machine, "serial0", [True, 25_400_000])
    machine.gauge.sendall(b"RNM   2")
    machine.unplug("adapter0")
    seen(machine, "serial0", [True, 25_400_000, False, False])
    machine.plug_adapter("adapter1")
    seen(machine, "serial0", [True, 25_400_000, False, False, True])
    assert json.loads(machine.run("there('/dev/ttyUSB*')")) == ["/dev/ttyUSB0"]
    time.sleep(1.0)
    machine.gauge.sendall(b"RNI    1.000\r\n")
    seen(machine, "serial0", [True, 25_400_000, False, False, True, 25_400_000])


def test_a_gauge_that_types_is_taken_from_the_kernel_again_after_a_replug(machine):
    machine.plug_keyboard("keyboard0")
    machine.run("there('/dev/input/by-id/*event-kbd')")
    listed = "from barrelfit.acquire.wires.usb_listed import typists\n"
    listed += "print([t.name for t in typists()[0]][0])"
    port = machine.run(listed).strip()
    assert machine.run(f"print(check_source('g', {port!r}))").strip() == "None"
    machine.run(f"typing = read({port!r}, load_profile('keyboard-decimal'))")
    seen(machine, "typing", [True])
    # The kernel's input device is gone: nothing can leak to a desktop.
    assert json.loads(machine.run("time.sleep(1); there('/dev/input/by-id/*event-kbd', 0)")) == []
    machine.type("1", "2", "dot", "3", "4", "5", "ret")
    seen(machine, "typing", [True, 12_345_000])
    machine.unplug("keyboard0")
    seen(machine, "typing", [True, 12_345_000, False, False])
    machine.plug_keyboard("keyboard1")
    seen(machine, "typing", [True, 12_345_000, False, False, True])
    time.sleep(1.0)  # what is typed while it is being taken is not believed
    machine.type("minus", "0", "dot", "0", "1", "3", "kp_enter")
    seen(machine, "typing", [True, 12_345_000, False, False, True, -13_000])
