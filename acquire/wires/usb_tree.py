"""USB devices as the system's tree (sysfs) shows them: which one stands where, since when. Linux.

A name like `/dev/serial/by-id/…` says what an adapter calls itself; this says which adapter it is.
Elsewhere, and for ports that are no USB device, nothing is known and nothing is compared.
"""

import contextlib
import re
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final

SYS: Final = Path("/sys")
UDEV: Final = Path("/run/udev/data")
USB_MAJOR: Final = 189  # of the nodes in /dev/bus/usb, Linux Documentation/admin-guide/devices.txt
NODES_A_BUS: Final = 128


@dataclass(frozen=True, slots=True)
class Plugged:
    """One USB device as it is plugged in now.

    `usb` is `vvvv:pppp`, `serial_number` its own or empty, `socket` where it is (`1-2.4`), `plug`
    the bus and number that this plugging was given: the next one gets another. `since_us` is when
    it was plugged in, on the system's monotonic clock in µs, 0 where the system does not say.
    `interface` tells the ports of one adapter apart.
    """

    usb: str
    serial_number: str
    socket: str
    plug: str
    since_us: int = 0
    interface: str = ""

    @property
    def numbers(self) -> tuple[str, str, str]:
        """What it says of itself, and which of its ports this is."""
        return self.usb, self.serial_number, self.interface

    def is_plugging_of(self, other: "Plugged") -> bool:
        """Whether both are one plugging; a restart of the system is an unplugging.

        The system notes the time a moment after the device is there: an unknown one says nothing.
        """
        times = {self.since_us, other.since_us} - {0}
        place = (other.socket, other.plug, other.numbers)
        return len(times) <= 1 and (self.socket, self.plug, self.numbers) == place

    @property
    def called(self) -> str:
        """How a sentence calls it."""
        own = f" with serial number {self.serial_number}" if self.serial_number else ""
        return f"the adapter {self.usb}{own} in socket {self.socket}"


def plugged_at(device: Path, sys: Path = SYS, udev: Path = UDEV) -> Plugged | None:
    """The USB device behind a tty's node; None where it is none, or has just gone."""
    try:
        folder = (sys / "class" / "tty" / device.name / "device").resolve(strict=True)
    except OSError:
        return None
    interface = ""
    for place in (folder, *folder.parents):
        interface = interface or _text(place / "bInterfaceNumber")
        if (place / "idVendor").exists():
            found = _device(place, udev)
            return replace(found, interface=interface) if found else None
    return None


def all_plugged(sys: Path = SYS, udev: Path = UDEV) -> list[Plugged]:
    """Every USB device of this machine but hubs' roots, in the order of their sockets."""
    folders = (sys / "bus" / "usb" / "devices" / name for name in sockets_taken(sys))
    return [found for folder in folders if (found := _device(folder, udev))]


def sockets_taken(sys: Path = SYS) -> list[str]:
    """The names of all sockets that something is in; quick enough to be asked every second."""
    with contextlib.suppress(OSError):
        names = (path.name for path in (sys / "bus" / "usb" / "devices").iterdir())
        return sorted(name for name in names if re.fullmatch(r"\d+-[\d.]+", name))
    return []


def _device(folder: Path, udev: Path) -> Plugged | None:
    vendor, product = _text(folder / "idVendor"), _text(folder / "idProduct")
    bus, number = _text(folder / "busnum"), _text(folder / "devnum")
    if not (vendor and product and bus.isdigit() and number.isdigit()):
        return None  # it is just going
    node = (int(bus) - 1) * NODES_A_BUS + int(number) - 1
    noted = re.search(r"^I:(\d+)$", _text(udev / f"c{USB_MAJOR}:{node}"), re.MULTILINE)
    return Plugged(
        usb=f"{vendor}:{product}",
        serial_number=_text(folder / "serial"),
        socket=folder.name,
        plug=f"{int(bus)}:{int(number)}",
        since_us=int(noted[1]) if noted else 0,
    )


def _text(file: Path) -> str:
    try:
        return file.read_text(encoding="utf-8", errors="replace").strip()
    except OSError:
        return ""
