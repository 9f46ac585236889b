"""Two serial adapters of one kind, without serial numbers, as umockdev shows them to a program.

Run by Debian's python3 (which has gi) under `umockdev-wrapper`; its arguments are the program.
"""

import os
import subprocess
import sys
from pathlib import Path

import gi

gi.require_version("UMockdev", "1.0")
from gi.repository import UMockdev  # noqa: E402  after the version is chosen

ADAPTER = """P: /devices/pci0000:00/0000:00:14.0/usb1/1-{port}
E: DEVTYPE=usb_device
E: SUBSYSTEM=usb
E: BUSNUM=001
E: DEVNUM=00{port}
A: busnum=1\\n
A: devnum={port}\\n
A: devpath={port}\\n
A: idVendor=1209\\n
A: idProduct=0002\\n
A: product=Test adapter\\n
A: bNumInterfaces= 1\\n
{serial}
P: /devices/pci0000:00/0000:00:14.0/usb1/1-{port}/1-{port}:1.0
E: DEVTYPE=usb_interface
E: SUBSYSTEM=usb
A: bInterfaceNumber=00\\n

P: /devices/pci0000:00/0000:00:14.0/usb1/1-{port}/1-{port}:1.0/ttyUSB{number}
E: SUBSYSTEM=usb-serial

P: /devices/pci0000:00/0000:00:14.0/usb1/1-{port}/1-{port}:1.0/ttyUSB{number}/tty/ttyUSB{number}
N: ttyUSB{number}
E: DEVNAME=/dev/ttyUSB{number}
E: SUBSYSTEM=tty
L: device=../../../ttyUSB{number}

"""


def main():
    testbed = UMockdev.Testbed.new()
    root = testbed.get_root_dir()
    for number, (port, serial) in enumerate(((2, ""), (3, ""), (4, "A: serial=SN7\\n\n"))):
        testbed.add_from_string(ADAPTER.format(port=port, number=number, serial=serial))
    for folder in ("by-id", "by-path"):
        Path(f"{root}/dev/serial/{folder}").mkdir(parents=True)
    # Adapters without a serial number share one link by id; the last one plugged in has it.
    links = {"by-id/usb-test": 1, "by-id/usb-test_SN7": 2}
    links |= {f"by-path/pci-usb-0:{port}": port - 2 for port in (2, 3, 4)}
    for link, number in links.items():
        Path(f"{root}/dev/serial/{link}").symlink_to(f"../../ttyUSB{number}")
    environment = {**os.environ, "UMOCKDEV_DIR": root}
    sys.exit(subprocess.run(sys.argv[1:], env=environment, check=False).returncode)  # noqa: S603


main()
