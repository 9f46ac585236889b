"""Gauges on a kernel of its own: a real ttyUSB at 7E2 and a real keyboard driver, unplugged.

The whole program runs there as well: a twin of an adapter, and a typing gauge whose keys must not
reach the system, whenever they are pressed.

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
from barrelfit.rules.manner import told

reasons, readers = [], []
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
        reasons.append(told(reason))
    async def run():
        readers.append((asyncio.get_running_loop(), asyncio.current_task()))
        await source_for(GaugePort("g", port), profile, RunningClock(), received, changed).run()
    threading.Thread(target=asyncio.run, args=(run(),), daemon=True).start()
    return seen

def leave():
    """End all readers, and give their ports back."""
    for loop, task in readers:
        loop.call_soon_threadsafe(task.cancel)
    readers.clear()

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
    assert got == wanted, machine.run("print(reasons)")


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
    machine.unplug("adapter1")


def test_a_gauge_that_types_is_taken_from_the_kernel_again_after_a_replug(machine):
    machine.plug_keyboard("keyboard0")
    machine.run("there('/dev/input/by-id/*event-kbd')")
    listed = "from barrelfit.acquire.wires.usb_listed import typists\n"
    listed += "print([t.name for t in typists()[0]][0])"
    port = machine.run(listed).strip()
    # without its rule the kernel's driver has it, and a bench would be refused
    assert "reaches the system" in machine.run(f"print(told(check_source('g', {port!r})))")
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
    machine.unplug("keyboard1")


# Nobody is at the broker's place: the guest is slow enough, and recording needs no bus.
BENCH = """schema = 1
bench = "stand"
sheet = "flat-four-85"
sessions = "/tmp/sessions"
[broker]
embedded = false
port = 1
[set]
job = "j"
variant = "early"
group = "II"
barrel_kind = "iron-liner"
[[gauge]]
id = "micrometer"
profile = "{profile}"
port = "{port}"
measures = "outside"
movement = "following"
"""

WHOLE = '''
class Program:
    """`barrelfit run` in the guest, its JSON lines read as they come."""
    def __init__(self, text, *options):
        open("/tmp/bench.toml", "w").write(text)
        command = ["python3", "-m", "barrelfit.acquire", "run", "/tmp/bench.toml", "--json"]
        command += options
        self.log = open("/tmp/run.log", "wb")
        self.process = subprocess.Popen(command, stdout=self.log, stderr=subprocess.STDOUT)
    def told(self):
        lines = open("/tmp/run.log", errors="replace").read().splitlines()
        return [json.loads(line) if line.startswith("{") else line for line in lines]
    def until(self, wanted, seconds=120):
        """Wait for a line that holds all these words; prints all lines when it does not come."""
        end = time.monotonic() + seconds
        while time.monotonic() < end:
            lines = open("/tmp/run.log", errors="replace").read().splitlines()
            found = [line for line in lines if all(word in line for word in wanted)]
            if found:
                return print("found", found[-1])
            time.sleep(0.1)
        print("not found", wanted, lines[-15:])
    def end(self):
        self.process.terminate()
        print(self.process.wait(60))

def lengths():
    """All lengths in the journals of the guest."""
    found = []
    for path in sorted(glob.glob("/tmp/sessions/*.jsonl")):
        for line in open(path):
            record = json.loads(line)
            if record["kind"] == "reading_taken":
                found.append(record["data"]["length_nm"])
    print(json.dumps(found))

leaked = []
def watch_console():
    """Note whatever keys bring to the console."""
    import select, tty
    console = os.open("/dev/tty1", os.O_RDWR | os.O_NOCTTY | os.O_NONBLOCK)
    tty.setraw(console)
    while True:
        select.select([console], [], [])
        leaked.append(os.read(console, 100).decode("latin-1"))
'''


@pytest.fixture(scope="module")
def whole(machine):
    machine.run("leave()")
    machine.run(WHOLE)
    machine.run("subprocess.run(['busybox', 'ip', 'link', 'set', 'lo', 'up'], check=True)")
    machine.run("threading.Thread(target=watch_console, daemon=True).start()")
    return machine


def told(machine, *words):
    said = machine.run(f"program.until({words!r})")
    assert said.startswith("found"), said


def begin(machine, profile, port, *options):
    machine.run("subprocess.run(['rm', '-rf', '/tmp/sessions'])" if not options else "pass")
    text = BENCH.format(profile=profile, port=port)
    machine.run(f"program = Program({text!r}, *{options!r})")


def test_a_twin_is_not_read_for_the_gauge_that_was_unplugged(whole):
    machine = whole
    machine.plug_adapter("own", socket="1", cable="gauge")
    (link,) = json.loads(machine.run("there('/dev/serial/by-id/*')"))
    machine.run("there('/dev/serial/by-path/*'); paths = set(glob.glob('/dev/serial/by-path/*'))")
    begin(machine, "signed-decimal-streaming-crlf", link)
    told(machine, '"present"')
    time.sleep(2.0)
    machine.gauge.sendall(b"+084.921\r\n")
    told(machine, '"answering"')
    machine.plug_adapter("twin", socket="3", cable="twin")
    told(machine, "name_shared")
    machine.unplug("own")
    told(machine, '"lost"')
    for _ in range(50):
        machine.twin.sendall(b"+084.845\r\n")
        time.sleep(0.1)
    told(machine, '"lost"', "have been there under one name", "--take micrometer=")
    machine.plug_adapter("again", socket="1", cable="gauge")
    time.sleep(5.0)
    machine.gauge.sendall(b"+084.922\r\n")
    time.sleep(5.0)
    assert json.loads(machine.run("lengths()")) == [84_921_000]
    assert machine.run("program.end()").strip() == "0"
    # a person says which is which
    machine.run("print(sorted(glob.glob('/dev/serial/by-path/*')))")
    own = machine.run("print([p for p in paths if ':1:' in p or '-0:1' in p][0])").strip()
    begin(machine, "signed-decimal-streaming-crlf", link, "--take", f"micrometer={own}")
    told(machine, '"present"')
    time.sleep(2.0)
    machine.gauge.sendall(b"+084.923\r\n")
    told(machine, '"answering"')
    machine.twin.sendall(b"+084.845\r\n")
    time.sleep(2.0)
    assert json.loads(machine.run("lengths()")) == [84_921_000, 84_923_000]
    assert machine.run("program.end()").strip() == "0"
    machine.unplug("again")
    machine.unplug("twin")


def nothing_leaked(machine, when):
    time.sleep(2.0)
    assert json.loads(machine.run("print(json.dumps(leaked))")) == [], when


VALUE = ("1", "2", "dot", "3", "4", "5", "ret")


def test_no_key_of_a_typing_gauge_reaches_the_system_once_its_rule_has_run(whole):
    machine = whole
    machine.plug_keyboard("bare")
    machine.run("there('/dev/input/by-id/*event-kbd')")
    port = typist(machine)
    machine.type(*VALUE)
    time.sleep(2.0)
    heard = machine.run("print(''.join(leaked))").strip()
    assert "12.345" in heard  # so the console hears keys, and a bench without the rule is refused
    begin(machine, "keyboard-decimal", port)
    assert machine.run("print(program.process.wait(120))").strip() == "2"
    told(machine, "reaches the system as well", f"--udev-rule {port}")
    machine.unplug("bare")
    rule = udev_rule(machine, port)
    assert QUIRK in rule  # what it says of keys in the moment of a plug is tried below
    machine.run("leaked.clear()")
    plug_settled(machine, "ruled0")
    machine.type(*VALUE)
    nothing_leaked(machine, "before it is taken")
    begin(machine, "keyboard-decimal", port)
    machine.type(*VALUE)  # while it is taken
    told(machine, '"present"')
    time.sleep(2.0)
    machine.type(*VALUE)
    told(machine, '"answering"')
    nothing_leaked(machine, "while it is taken")
    for number in range(3):
        machine.unplug(f"ruled{number}")
        plug_settled(machine, f"ruled{number + 1}")
        type_in_rests(machine)
        nothing_leaked(machine, f"replug {number + 1}")
    ended_with_whole_values(machine)


def test_no_key_reaches_a_system_whose_driver_leaves_the_gauge_alone(tmp_path):
    """Not even in the moment of a plug, where the rule may come too late."""
    with Machine(BASE, tmp_path, options=QUIRK) as machine:
        machine.run(READER + WHOLE)
        machine.run("subprocess.run(['busybox', 'ip', 'link', 'set', 'lo', 'up'], check=True)")
        machine.run("threading.Thread(target=watch_console, daemon=True).start()")
        machine.plug_keyboard("kept0")
        machine.type(*VALUE)
        machine.run("there('/sys/bus/usb/devices/*/idVendor')\ntime.sleep(1)")
        port = typist(machine)
        udev_rule(machine, port)
        nothing_leaked(machine, "before it is taken")
        begin(machine, "keyboard-decimal", port)
        told(machine, '"present"')
        for number in range(6):
            machine.unplug(f"kept{number}")
            machine.plug_keyboard(f"kept{number + 1}")
            type_in_rests(machine)
            nothing_leaked(machine, f"replug {number + 1}")
        ended_with_whole_values(machine)


QUIRK = "usbhid.quirks=0x0627:0x0001:0x0004"
"""What the printed rule says of the kernel's command line; QEMU's keyboard is 0627:0001."""


def typist(machine):
    listed = "from barrelfit.acquire.wires.usb_listed import typists\nprint(typists()[0][0].name)"
    return machine.run(listed).strip()


def udev_rule(machine, port):
    machine.run(
        "command = ['python3', '-m', 'barrelfit.acquire', 'gauges', '--udev-rule']\n"
        f"command.append({port!r})\n"
        "rule = subprocess.run(command, capture_output=True, check=True).stdout\n"
        "open('/etc/udev/rules.d/70-barrelfit.rules', 'wb').write(rule)\n"
        "subprocess.run(['udevadm', 'control', '--reload'], check=True)"
    )
    return machine.run("print(rule.decode())")


def plug_settled(machine, name):
    """Plug the keyboard in, and wait until udev has done with it."""
    machine.plug_keyboard(name)
    time.sleep(1.0)
    machine.run("subprocess.run(['udevadm', 'settle'], check=True)")


def type_in_rests(machine):
    for _ in range(4):
        machine.type(*VALUE)
        time.sleep(0.7)


def ended_with_whole_values(machine):
    time.sleep(3.0)
    assert set(json.loads(machine.run("lengths()"))) == {12_345_000}
    assert machine.run("program.end()").strip() == "0"
    machine.type(*VALUE)  # and after it was given back
    nothing_leaked(machine, "after the end")
