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


def test_each_adapter_gets_a_name_that_lasts():
    command = [WRAPPER, DEBIAN_PYTHON, str(HERE / "mock_adapters.py")]
    command += [sys.executable, "-m", "acquire", "gauges", "--json"]
    environment = {**os.environ, "PYTHONPATH": str(HERE.parent.parent)}
    said = subprocess.run(  # noqa: S603  Debian's and our own
        command, capture_output=True, text=True, env=environment, check=False, timeout=60
    )
    rows = [json.loads(line) for line in said.stdout.splitlines()]
    note = "bound to this socket: the adapter has no serial number"
    assert [(r["device"], r["name"], r["note"]) for r in rows if r["device"]] == [
        ("/dev/ttyUSB0", "/dev/serial/by-path/pci-usb-0:2", note),
        ("/dev/ttyUSB1", "/dev/serial/by-path/pci-usb-0:3", note),
        ("/dev/ttyUSB2", "/dev/serial/by-id/usb-test_SN7", ""),
    ], said.stderr
