"""`barrelfit gauges` sees two adapters of one kind, and one with a serial number of its own."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests.system.mock_system import DEBIAN_PYTHON, NEEDS_MOCK, WRAPPER

HERE = Path(__file__).parent

pytestmark = [pytest.mark.system, pytest.mark.slow, NEEDS_MOCK]


def among_adapters(*program):
    """Run our Python on a machine with two adapters of one kind and one with its own number."""
    command = [WRAPPER, DEBIAN_PYTHON, str(HERE / "mock_adapters.py"), sys.executable, *program]
    environment = {**os.environ, "PYTHONPATH": str(HERE.parent.parent)}
    return subprocess.run(  # noqa: S603  Debian's and our own
        command, capture_output=True, text=True, env=environment, check=False, timeout=60
    )


def test_a_link_that_two_adapters_share_is_not_opened():
    code = "from barrelfit.acquire.wires.ports_found import ambiguous\n"
    code += "from barrelfit.rules.manner import told\n"
    names = ("by-id/usb-test", "by-id/usb-test_SN7", "by-path/pci-usb-0:2")
    code += "".join(f"print(told(ambiguous('/dev/serial/{name}')))\n" for name in names)
    said = among_adapters("-c", code)
    shared, *others = said.stdout.splitlines()
    assert "/dev/serial/by-id/usb-test could be /dev/ttyUSB1 and /dev/ttyUSB0" in shared
    assert others == ["", ""], said.stderr


def test_each_adapter_gets_a_name_that_lasts():
    said = among_adapters("-m", "barrelfit.acquire", "gauges", "--json")
    rows = [json.loads(line) for line in said.stdout.splitlines()]
    note = "bound to this socket: the adapter has no serial number"
    assert [(r["device"], r["name"], r["note"]) for r in rows if r["device"]] == [
        ("/dev/ttyUSB0", "/dev/serial/by-path/pci-usb-0:2", note),
        ("/dev/ttyUSB1", "/dev/serial/by-path/pci-usb-0:3", note),
        ("/dev/ttyUSB2", "/dev/serial/by-id/usb-test_SN7", ""),
    ], said.stderr
