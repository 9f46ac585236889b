"""What is plugged in: serial adapters and USB keyboards, by a name that lasts, with rights.

A name in a bench file must mean the same gauge after any replug. The adapter's own serial number
gives one (`/dev/serial/by-id/…`) when no second adapter shares it; else the socket does
(`/dev/serial/by-path/…`), and the user is told that the gauge is bound to that socket.
"""

import os
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from barrelfit.rules.said import NOTHING, Said, said

BY_ID = Path("/dev/serial/by-id")
BY_PATH = Path("/dev/serial/by-path")

NO_UDEV_NOTE = "this name may change at the next plug: neither serial number nor socket is known"


@dataclass(frozen=True, slots=True)
class Adapter:
    """A serial adapter as the system lists it; `usb` is `vvvv:pppp`, empty where it is none.

    `socket` is the USB socket it is in; the ports of one adapter share it.
    """

    device: str
    usb: str = ""
    serial_number: str = ""
    product: str = ""
    socket: str = ""


@dataclass(frozen=True, slots=True)
class FoundPort:
    """A port with the name to use in a bench file; `wrong` says what stands in the way."""

    name: str
    device: str
    product: str
    note: str = ""
    wrong: str = ""


def found_ports() -> list[FoundPort]:
    """The serial ports of this machine that belong to something plugged in."""
    named = named_ports(plugged_in(), links_in(BY_ID), links_in(BY_PATH))
    return [
        FoundPort(p.name, p.device, p.product, p.note, what_is_wrong(Path(p.device))) for p in named
    ]


def plugged_in() -> list[Adapter]:
    """The serial adapters of this machine."""
    from serial.tools.list_ports import comports  # noqa: PLC0415  slow, and seldom needed

    return [
        Adapter(
            port.device,
            f"{port.vid:04x}:{port.pid:04x}" if port.vid is not None else "",
            port.serial_number or "",
            port.product or port.description or "",
            (port.location or "").partition(":")[0],
        )
        for port in comports()
        if port.vid is not None or Path(port.device).name.startswith(("ttyUSB", "ttyACM"))
    ]


def twins(device: str, adapters: Sequence[Adapter]) -> list[str]:
    """Devices of other adapters that can't be told from a device's own by their numbers."""
    own = next((a for a in adapters if a.device == device), None)
    if own is None:
        return []
    alike = [a for a in adapters if _same_numbers(a, own) and a is not own]
    return sorted(a.device for a in alike if not (a.socket and a.socket == own.socket))


def ambiguous(port: str, by_id: Path = BY_ID) -> Said:
    """Say that a port's name could mean either of two adapters; empty if not.

    The link by serial number of two adapters with one number points to whichever was plugged in
    last: another gauge's readings would come under this one's name.
    """
    if Path(port).parent != by_id or not Path(port).exists():
        return NOTHING  # a gauge that is away is looked for often: no scan for it
    device = str(Path(port).resolve())
    others = twins(device, plugged_in())
    if not others:
        return NOTHING
    return said("port_ambiguous", port=port, devices=(device, *others))


def _same_numbers(one: Adapter, other: Adapter) -> bool:
    return (one.usb, one.serial_number) == (other.usb, other.serial_number)


def named_ports(
    adapters: Sequence[Adapter], by_id: Mapping[str, str], by_path: Mapping[str, str]
) -> list[FoundPort]:
    """Give every adapter the name that lasts.

    Args:
        adapters: as the system lists them.
        by_id: device to link by serial number.
        by_path: device to link by USB socket.

    Returns:
        The ports, `wrong` still empty.
    """
    ports = []
    for adapter in sorted(adapters, key=lambda a: a.device):
        alone = not twins(adapter.device, adapters)
        link = by_id.get(adapter.device)
        socket = by_path.get(adapter.device)
        if link and adapter.serial_number and alone:
            name, note = link, ""
        elif socket:
            why = _why_socket(adapter, alone=alone)
            name, note = socket, f"bound to this socket: {why}"
        elif link and alone:
            name, note = link, "bound to one adapter of its kind: it has no serial number"
        else:
            name, note = adapter.device, NO_UDEV_NOTE
        ports.append(FoundPort(name, adapter.device, adapter.product, note))
    return ports


def _why_socket(adapter: Adapter, *, alone: bool) -> str:
    if not adapter.serial_number:
        return "the adapter has no serial number"
    if not alone:
        return f"another adapter has the same serial number, {adapter.serial_number}"
    return "the system gives no name by serial number"


def links_in(folder: Path) -> dict[str, str]:
    """Device to link of a folder of links, empty where there is none."""
    try:
        links = sorted(folder.iterdir())
    except OSError:
        return {}
    return {str(link.resolve()): str(link) for link in links}


def what_is_wrong(device: Path) -> str:
    """What keeps a device from being opened, as a sentence with its cure; empty for nothing."""
    if not device.exists():
        return "it has just been unplugged"
    if not os.access(device, os.R_OK | os.W_OK):
        group = group_of(device)
        return (
            f"no permission: add this user to the group '{group}' "
            f"(sudo usermod -a -G {group} $USER) and log in again"
        )
    others = holders(device)
    if others:
        return "in use by " + ", ".join(others)
    return ""


def group_of(path: Path) -> str:
    """Name of a file's group, its number where it has no name."""
    try:
        return path.group()
    except (KeyError, NotImplementedError):
        return str(path.stat().st_gid)


def holders(device: Path, processes: Path = Path("/proc")) -> list[str]:
    """Other processes that have a device open, as `process 123 (name)`; Linux only.

    Another user's open files can't be seen, but whoever has locked one can.
    """
    wanted = str(device.resolve())
    found = _lockers(device, processes)
    for folder in processes.glob("[0-9]*"):
        try:
            if any(str(entry.readlink()) == wanted for entry in (folder / "fd").iterdir()):
                found.add(folder.name)
        except OSError:  # it ended, or it is another user's
            continue
    found.discard(str(os.getpid()))
    return [_named(processes / number) for number in sorted(found, key=int)]


def _lockers(device: Path, processes: Path) -> set[str]:
    """Numbers of the processes that hold a lock on a device's file (proc_locks(5))."""
    try:
        file = device.stat()
        lines = (processes / "locks").read_text(encoding="ascii").splitlines()
    except (OSError, UnicodeDecodeError):
        return set()
    place = f"{os.major(file.st_dev):02x}:{os.minor(file.st_dev):02x}:{file.st_ino}"
    fields = [line.split() for line in lines]
    return {f[4] for f in fields if len(f) > 5 and f[5] == place and f[4].isdigit()}  # noqa: PLR2004


def _named(process: Path) -> str:
    try:
        name = (process / "comm").read_text(encoding="utf-8", errors="replace").strip()
    except OSError:  # it has just ended
        name = "unknown"
    return f"process {process.name} ({name})"


def appeared_s(device: Path, udev: Path = Path("/run/udev/data")) -> float | None:
    """When a device was plugged in, on the system's monotonic clock in s; None where not known.

    udev notes it with every device it has set up, as microseconds behind `I:`.
    """
    try:
        file = device.stat()
        number = f"c{os.major(file.st_rdev)}:{os.minor(file.st_rdev)}"
        text = (udev / number).read_text(encoding="utf-8", errors="replace")
    except OSError:
        return None
    noted = re.search(r"^I:(\d+)$", text, re.MULTILINE)
    return int(noted[1]) / 1e6 if noted else None
