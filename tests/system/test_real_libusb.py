"""A USB gauge that types through the real libusb: taken from the kernel, unplugged, replugged.

The device is umockdev's (Debian: umockdev, gir1.2-umockdev-1.0, python3-gi).
"""

import json
import os
import queue
import subprocess
import sys
import threading
from pathlib import Path

import pytest

from tests.system.mock_system import DEBIAN_PYTHON, NEEDS_MOCK, WRAPPER
from tests.system.patience import PATIENCE_S

HERE = Path(__file__).parent
PORT = "usb:1209:0001:SN0001"

pytestmark = [pytest.mark.system, pytest.mark.slow, NEEDS_MOCK]


class Rig:
    """The mock system with our reader inside; lines in, JSON lines out."""

    def __init__(self):
        self.process = subprocess.Popen(  # noqa: S603  Debian's and our own
            [
                *(WRAPPER, DEBIAN_PYTHON, str(HERE / "mock_usb.py")),
                *(sys.executable, str(HERE / "typing_reader.py"), PORT),
            ],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            env={**os.environ, "PYTHONPATH": str(HERE.parent.parent)},
        )
        self.lines = queue.Queue()
        threading.Thread(target=self._listen, daemon=True).start()

    def _listen(self):
        for line in self.process.stdout:
            self.lines.put(json.loads(line))

    def obey(self, line):
        self.process.stdin.write(line.encode() + b"\n")
        self.process.stdin.flush()

    def until(self, **wanted):
        while True:
            got = self.lines.get(timeout=PATIENCE_S)
            if wanted.items() <= got.items():
                return got

    def end(self):
        self.obey("end")
        self.process.stdin.close()
        self.process.wait(PATIENCE_S)
        self.process.stdout.close()


def test_taken_from_the_kernel_lost_and_taken_again():
    rig = Rig()
    try:
        told = rig.until(listed=[PORT])
        assert "types reaches the system as well" in told["problem"]  # the mock has no udev
        rig.until(present=True)  # a claim is refused until the kernel's driver is detached
        rig.obey("type 12.345~")
        rig.until(length_nm=12_345_000)
        rig.obey("unplug")
        rig.until(present=False)
        rig.obey("plug")
        rig.until(present=True)
        rig.obey("type -60.005~")
        rig.until(length_nm=-60_005_000)
    finally:
        rig.end()
